"""How an actor is answered on a state: by rows, in figures, or not at all; kept with what they see of the state.

All but what a person shows them hangs on that alone.
"""

from __future__ import annotations

from typing import Final, Literal

from api.access.actor import Actor
from api.access.check import decide
from api.access.rights import TOLD_IN_FIGURES, Kind
from api.access.sight import Sight
from api.desk.bounded import find_kept
from api.desk.parameters import Asks
from api.desk.question import PLACE, TEAM, Question, Subject
from api.desk.states import State

Extent = Literal["rows", "figures"]
_Found = tuple[Extent | None, Kind]
#: Of so many questions of a subject it is kept how who asks is answered.
_MOST_FOUND: Final = 50_000


def find_extent(
    actor: Actor, state: State, question: Question, subject: Subject, asked: Asks | None = None
) -> Extent | None:
    """Return how an actor is answered on a state, which must be as they see it; None: not at all.

    `asked` None: of the role held.
    """
    if actor.is_owner:
        return "rows"
    sight = state.sight
    if sight is None or (sight.actor is not actor and sight.actor != actor):
        return None
    role: str | None = getattr(asked, "role", None)
    known: dict[tuple[str, Subject, str | None], _Found] = state.snapshot.keep("who may ask what", dict)
    key = question.name, subject, role
    extent, kind = find_kept(known, key, _MOST_FOUND, lambda: _find(sight, state, question, subject, role))
    if extent is not None or kind is not Kind.EXPLORATION or asked is None:
        return extent
    path = question.get_path(subject.kind, subject.id)
    return "rows" if sight.is_shown(subject.person_id or "", path, asked.texts) else None


def _find(sight: Sight, state: State, question: Question, subject: Subject, role: str | None) -> _Found:
    """Return how who has a sight is answered by what they are to a subject, and of which kind the answer then is."""
    person, team = subject.person_id or "", subject.id if subject.kind is TEAM else ""
    if subject.kind is PLACE and subject.id in state.snapshot.places:
        team = state.snapshot.places[subject.id].team
    is_own_role = bool(person) and sight.is_of_standing(person, role)
    kind = question.get_kind(subject.kind, is_of_standing=is_own_role)
    extent = decide(sight.actor, sight.build_right(kind, person=person, team=team))
    if extent == "rows" and question.figures is not None and question.figures.is_of_all and state.unseen:
        return "figures", kind  # of the teams of others they are told no more than who leads none
    if extent == "rows" or (extent == "figures" and kind in TOLD_IN_FIGURES and question.figures is None):
        return "rows", kind
    return ("figures" if extent == "figures" and question.figures is not None else None), kind
