"""The desk of commands: who may read the store's folder may ask everything, and it is written down who was looked at.

Where there is no database beside the store there is no such log.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from api.access.actor import Actor
from api.desk.answer import Answer, Enquiry
from api.desk.desk import Desk
from api.settings import Settings
from api.terminal.options import open_database
from api.terminal.who import get_who
from ontology.errors import UnavailableError
from ontology.live.live_graph import LiveGraph

if TYPE_CHECKING:  # brings SQLAlchemy: whoever has no accounts need not wait for it
    from api.access.database import Database


class CommandDesk(Desk):
    """Answers the commands of one store; `database` is the one beside it, found where it is not given."""

    def __init__(self, graph: LiveGraph, settings: Settings, database: Database | None = None) -> None:
        super().__init__(graph, settings)
        self._database = database

    def _compute(self, enquiry: Enquiry) -> Answer:
        """Return the answer, with whom it tells of."""
        answer = super()._compute(enquiry)
        if not enquiry.question.is_about_people:
            return answer
        from api.access.reduce import reduce_result

        told = reduce_result(answer.result, (), enquiry.state.snapshot.people).told | {enquiry.subject.person_id or ""}
        return replace(answer, told=frozenset(told - {""}))

    def note_look(self, actor: Actor, what: str, people: Collection[str]) -> None:
        """Write, before it is printed, that the command line is told of people."""
        note_look(self.graph.store.path, what, people, self._database)


def note_look(store: Path | None, what: str, people: Collection[str], database: Database | None = None) -> None:
    """Write that the command line is told of people, where there is a database beside the store.

    Raises
    ------
    UnavailableError
        It cannot be written: then nothing may be told.
    """
    beside = Path(f"{store}-access")
    if not people or (database is None and (store is None or not beside.is_dir())):
        return
    from api.access.database import DatabaseError
    from api.access.looks import Looks

    try:
        database = database or open_database(store)
        if database is not None:
            Looks(database).write(0, get_who(), what, people)
    except (DatabaseError, OSError) as error:
        raise UnavailableError("It cannot be written down who looks: nothing about people is told.") from error
