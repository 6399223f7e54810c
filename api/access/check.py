"""The one check: whether an actor may what is wanted, and how much of the answer they see."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from api.access.actor import Actor, Role
from api.access.rights import COLUMNS, OF_EVERYONE, TOLD_IN_FIGURES, Cell, Kind, Right, Standpoint, Verb, get_cell

__all__ = ["Extent", "could", "decide", "find_columns", "find_standpoints"]

_STANDPOINTS: Final = {
    Role.LEAD: (Standpoint.OWN_LEAD, Standpoint.OTHER_LEAD),
    Role.ASSESSOR: (Standpoint.ASSESSOR,),
    Role.ARCHITECT: (Standpoint.ARCHITECT,),
    Role.ADMINISTRATOR: (Standpoint.ADMINISTRATOR,),
}
#: rows: all of it; figures: counts, nobody named; name: a name and an id and nothing else.
Extent = Literal["rows", "figures", "name"]


@dataclass(frozen=True, slots=True)
class _Stand:
    """What a standpoint may, and whether a purpose is stated for the subject."""

    cell: Cell
    has_purpose: bool

    def may(self, verb: Verb) -> bool:
        return verb in self.cell.verbs or (self.has_purpose and verb in self.cell.with_purpose)


def decide(actor: Actor, right: Right) -> Extent | None:
    """Return how much an actor sees of what is wanted; None for nothing."""
    if actor.is_owner:
        return "rows"
    if not actor.is_signed_in or not _is_in_scope(actor, right) or _is_of_oneself(actor, right):
        return None
    has_purpose = actor.has_purpose(right.teams, right.person)
    stands = [_Stand(get_cell(right.kind, one), has_purpose) for one in find_standpoints(actor, right)]
    if any(stand.may(right.verb) for stand in stands):
        return "rows"
    if right.verb is not Verb.SEE:
        return None
    if any(stand.cell.has_figures for stand in stands):
        return "figures"
    return "name" if any(stand.cell.has_name for stand in stands) else None


def could(actor: Actor, kind: Kind, verb: Verb, *, of_new: bool = False) -> bool:
    """Whether there can be anything of a kind with which an actor may do this: what no subject opens is no page.

    `of_new`: with a record that is not there yet, which whoever may change some columns of it cannot make.
    """
    if actor.is_owner:
        return True
    if not actor.is_signed_in or (actor.scope and (kind not in actor.scope.kinds or verb not in actor.scope.verbs)):
        return False
    in_part = COLUMNS if of_new and verb is Verb.CHANGE else {}
    cells = [get_cell(kind, one) for one in _list_possible(actor) if (kind, one) not in in_part]
    return any(
        verb in cell.verbs
        or (bool(actor.purposes) and verb in cell.with_purpose)
        or (verb is Verb.SEE and (cell.has_name or (cell.has_figures and kind in TOLD_IN_FIGURES)))
        for cell in cells
    )


def _list_possible(actor: Actor) -> Iterator[Standpoint]:
    yield Standpoint.READER
    if actor.person:
        yield from (Standpoint.SELF, Standpoint.COLLEAGUE)
    for role, standpoints in _STANDPOINTS.items():
        if role in actor.roles:
            yield from standpoints


def find_columns(actor: Actor, right: Right) -> frozenset[str] | None:
    """Return the columns of a record that an actor may change; None for all of them."""
    if actor.is_owner:
        return None
    changing = Right(right.kind, Verb.CHANGE, right.teams, right.person, right.competency)
    has_purpose = actor.has_purpose(right.teams, right.person)
    allowed: set[str] = set()
    for standpoint in find_standpoints(actor, changing):
        if _Stand(get_cell(right.kind, standpoint), has_purpose).may(Verb.CHANGE):
            columns = COLUMNS.get((right.kind, standpoint))
            if columns is None:
                return None
            allowed |= columns
    return frozenset(allowed)


def find_standpoints(actor: Actor, right: Right) -> frozenset[Standpoint]:
    """Return everything that an actor is to a subject."""
    return frozenset(_iterate_standpoints(actor, right))


def _iterate_standpoints(actor: Actor, right: Right) -> Iterator[Standpoint]:
    yield Standpoint.READER
    # what is always of someone is of others where nobody is named
    is_about_nobody = right.kind in OF_EVERYONE and not (right.person or right.teams)
    if actor.person:
        is_self = right.person == actor.person if right.person else bool(right.teams & actor.belongs_to)
        yield Standpoint.SELF if is_about_nobody or is_self else Standpoint.COLLEAGUE
    if Role.LEAD in actor.roles:
        is_own = bool(right.teams & actor.leads)
        yield Standpoint.OWN_LEAD if is_about_nobody or is_own else Standpoint.OTHER_LEAD
    if Role.ARCHITECT in actor.roles:
        yield Standpoint.ARCHITECT
    if Role.ADMINISTRATOR in actor.roles:
        yield Standpoint.ADMINISTRATOR
    if Role.ASSESSOR in actor.roles and _may_assess(actor, right):
        yield Standpoint.ASSESSOR


def _may_assess(actor: Actor, right: Right) -> bool:
    """Whether the subject is the framework, or a person of a named team, and the competency, if any, a named one."""
    if right.kind is Kind.FRAMEWORK:
        return True
    is_named = (
        right.competency in one.competencies if right.kind is Kind.ASSESSMENTS else True
        for one in actor.assesses
        if right.teams & one.teams
    )
    return bool(right.person) and any(is_named)


def _is_in_scope(actor: Actor, right: Right) -> bool:
    """Whether a token, where there is one, leaves this."""
    scope = actor.scope
    if scope is None:
        return True
    is_of_team = not scope.teams or bool(scope.teams & right.teams) or not (right.teams or right.person)
    return right.kind in scope.kinds and right.verb in scope.verbs and is_of_team


def _is_of_oneself(actor: Actor, right: Right) -> bool:
    """Whether somebody would change what others say of them."""
    return (
        right.kind is Kind.ASSESSMENTS
        and right.verb is not Verb.SEE
        and bool(actor.person)
        and right.person == actor.person
    )
