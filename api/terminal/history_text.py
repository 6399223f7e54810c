"""The history as a command prints it: of a record, of one revision, of all; as text or as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from api.access.actor import LOCAL_OWNER
from api.desk.desk import Desk
from api.desk.history import AskHistory, list_commits, read_life, read_one_commit, tell_commits
from api.desk.parameters import parse_asked
from api.desk.states import State, StateAsked
from api.http.collection import COLLECTIONS
from api.http.history import parse_key
from api.json_text import print_json
from api.pages.history_view import (
    LifeView,
    dump_commit,
    dump_life,
    dump_one,
    show_commits,
    show_life,
    show_one,
)
from api.terminal.call import Call
from ontology.errors import NotFoundError
from ontology.model.tables import PERSONAL_TABLES


def answer_history(desk: Desk, call: Call) -> bytes:
    """Return what `newel history` prints.

    Raises
    ------
    NewelError
        There is no such record, revision or state; a filter is wrong.
    """
    state = desk.get_state(StateAsked(call.as_of, call.people_as_of, call.draft, call.language))
    asked = dict(call.asked)
    revision = asked.pop("revision", "")
    told: Any
    if call.table:
        view = _read_view(desk, state, call.table, call.subject)
        desk.note_look(LOCAL_OWNER, "History of a record", frozenset(_find_people(view)))
        sheet, told = show_life(view, view.life.rows), dump_life(view, view.life.rows)
    elif revision:
        one = read_one_commit(desk.graph, state, int(revision))
        sheet, told = show_one(one), dump_one(one, one.rows)
    else:
        filters = parse_asked(AskHistory, asked)
        assert isinstance(filters, AskHistory)
        filters.check(state.snapshot)
        commits = tell_commits(
            desk.graph, list_commits(desk.graph, state, filters)[: filters.get_page_size(desk.settings)]
        )
        sheet, told = show_commits(commits), [dump_commit(one) for one in commits]
    if call.form == "json":
        return f"{print_json(told)}\n".encode()
    from api.terminal.sheet_text import print_sheet  # brings rich

    return print_sheet(sheet, state.snapshot.revision, call)


def _read_view(desk: Desk, state: State, table: str, record_id: str) -> LifeView:
    collection = COLLECTIONS.get(table.replace("-", "_"))
    if collection is None:
        raise NotFoundError(f"There is no table {table!r}; tables are {', '.join(COLLECTIONS)}.")
    life, names = read_life(desk.graph, state, collection.table.name, parse_key(collection, record_id))
    releases = {release.revision: release.version for release in desk.graph.past.list_releases()}
    return LifeView(collection.table.name, record_id, life, names, releases, state.snapshot)


def _find_people(view: LifeView) -> Iterator[str]:
    """Yield whom the life of a record is about."""
    name = "id" if view.table == "people" else "person"
    for _, row in view.life.rows if view.table in PERSONAL_TABLES else ():
        yield str(getattr(row.after or row.before, name, ""))
