"""How deep each cover need of a team is on a date. Pure.

May import presence, the snapshot and records. Depth = members present at or above the level, for the team or the
shift the need applies to. A need for each shift is one row, that of its worst shift: the smallest depth, then the
worse state, then the smallest id; every shift is listed beside it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Annotated, Final, Literal

from ontology.analysis.cover.practice_counts import describe_lack
from ontology.analysis.cover.presence import Presence, get_presence, is_absent
from ontology.analysis.profiles.appointments import is_appointed
from ontology.model.identity import PeopleTogether, PersonId
from ontology.model.records import APPLIES_EACH_SHIFT, APPLIES_TEAM, CoverNeed
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "CoverState",
    "CoverageResult",
    "CoverageRow",
    "NeedScope",
    "ShiftCover",
    "build_need_scopes",
    "build_scope",
    "compute_coverage",
    "get_need_shifts",
]

CoverState = Literal["short", "sole-holder", "no-reserve", "below-target", "covered"]

STATES: Final[tuple[CoverState, ...]] = ("short", "sole-holder", "no-reserve", "below-target", "covered")


@dataclass(frozen=True, slots=True)
class NeedScope:
    """A need where it counts: in the team (`shift` None) or in one shift.

    `has_scope` is False for an each-shift need of a team without shifts. `qualified` holds the ids at or above the
    level, absent ones included; `present` those of them who are there and count, `not_appointed` those who do not count
    for want of the employer's appointment; all sorted.
    """

    need: CoverNeed
    shift: str | None
    has_scope: bool
    qualified: tuple[str, ...]
    present: tuple[str, ...]
    not_appointed: tuple[str, ...] = field(default=(), compare=False)

    @property
    def depth(self) -> int:
        """Members present at or above the level."""
        return len(self.present)

    @property
    def is_short(self) -> bool:
        """Whether fewer than the minimum are there."""
        return self.depth < self.need.minimum

    @property
    def state(self) -> CoverState:
        """The first state that holds, in the order of `STATES`."""
        if self.is_short:
            return "short"
        if self.depth == self.need.minimum:
            return "sole-holder" if self.depth == 1 else "no-reserve"
        return "below-target" if len(self.qualified) < self.need.target else "covered"


@dataclass(frozen=True, slots=True)
class ShiftCover:
    """One shift of a need that applies to each shift."""

    shift: Annotated[str, "Id of the shift."]
    depth: Annotated[PeopleTogether, "Members present at or above the level."]
    state: Annotated[CoverState, "How it stands."]
    qualified: Annotated[tuple[PersonId, ...], "Ids of those at or above the level, absent ones included."]
    present: Annotated[tuple[PersonId, ...], "Those of them who are there and count."]
    not_appointed: Annotated[
        tuple[PersonId, ...], "Those of them who do not count: the employer has not appointed them."
    ]
    holds_again: Annotated[
        date | None,
        "Of what is short the first day on which it no longer is, as records tell today; null: none within 26 weeks.",
    ] = None


@dataclass(frozen=True, slots=True)
class CoverageRow:
    """One cover need; `shift`, `depth`, `state`, `qualified` and `present` are those of the worst shift.

    `shift` is None for the whole team, `applies` is "team", "each-shift" or the id of a shift; `shifts` holds every
    shift of an each-shift need, by id, and is empty otherwise. Levels are ranks, counts are people.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The (worst) shift; null for the whole team."]
    minimum: Annotated[int, "People present at the least."]
    target: Annotated[int, "People qualified."]
    depth: Annotated[PeopleTogether, "Members present at or above the level."]
    state: Annotated[CoverState, "How it stands: the first that holds."]
    qualified: Annotated[tuple[PersonId, ...], "Ids of those at or above the level, absent ones included."]
    present: Annotated[tuple[PersonId, ...], "Those of them who are there and count."]
    not_appointed: Annotated[
        tuple[PersonId, ...], "Those of them who do not count: the employer has not appointed them."
    ]
    criticality: Annotated[int, "1..5; 5 = life, law or supply within hours."]
    together: Annotated[str, "Group of needs that different people must meet at once; empty where none."]
    shifts: Annotated[tuple[ShiftCover, ...], "Every shift of a need that applies to each."]
    holds_again: Annotated[
        date | None,
        "Of what is short the first day on which it no longer is, as records tell today; null: none within 26 weeks.",
    ] = None


@dataclass(frozen=True, slots=True)
class CoverageResult:
    """Every cover need of a team on a date, in the order of competency, level and scope.

    `away` echoes who was asked to be taken as absent, `absent` who of the members is not there for any cause.
    """

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    absent: Annotated[tuple[PersonId, ...], "Members not there, for whatever cause."]
    needs: Annotated[tuple[CoverageRow, ...], "Every cover need."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


_Judged = tuple[CoverageRow, list[str]]


def get_need_shifts(snapshot: Snapshot, need: CoverNeed) -> tuple[str | None, ...]:
    """Return where a need counts: (None,) for the team, else shift ids; () for each shift of a team without any."""
    if need.applies == APPLIES_TEAM:
        return (None,)
    if need.applies == APPLIES_EACH_SHIFT:
        return tuple(shift.id for shift in snapshot.get_shifts(need.team))
    return (need.applies,)


def build_need_scopes(presence: Presence, needs: Iterable[CoverNeed] | None = None) -> list[NeedScope]:
    """Return the team's needs, each once for every shift it applies to, in the order of needs and shifts.

    Parameters
    ----------
    needs : iterable of CoverNeed, optional
        Only these of the team; all where left out.

    Notes
    -----
    An each-shift need of a team without shifts comes once, with nobody in it. O(needs x shifts x members) for a team
    and day; who else is asked to be away changes only the scopes in which they are.
    """
    groups = _get_groups_of_day(presence) if needs is None else _build_groups(presence, needs)
    return [scope for group in groups for scope in _leave_out(group, presence.away)]


def _leave_out(scopes: list[NeedScope], away: Collection[str]) -> list[NeedScope]:
    """Return the scopes without those who are away among the present; the same ones where nobody is."""
    return [
        scope
        if frozenset(scope.present).isdisjoint(away)
        else replace(scope, present=tuple([i for i in scope.present if i not in away]))
        for scope in scopes
    ]


def _get_groups_of_day(presence: Presence) -> list[list[NeedScope]]:
    """Return for each need of a team and day its scopes when nobody else is away."""
    return presence.keep("scopes", lambda: _build_groups(presence, presence.snapshot.get_cover_needs(presence.team)))


def _build_groups(presence: Presence, needs: Iterable[CoverNeed]) -> list[list[NeedScope]]:
    snapshot = presence.snapshot
    groups: list[list[NeedScope]] = []
    ids_of: dict[str | None, list[str]] = {}
    there = presence.present_ids.union(i for i in presence.away if not is_absent(snapshot, i, presence.on))
    for need in needs:
        scopes: list[NeedScope] = []
        for shift in get_need_shifts(snapshot, need):
            if shift not in ids_of:
                ids_of[shift] = [person.id for person in presence.get_scope(shift)]
            qualified = presence.find_qualified(ids_of[shift], need.competency, need.level)
            scopes.append(build_scope(snapshot, need, shift, presence.on, qualified, there))
        groups.append(scopes or [NeedScope(need, None, False, (), ())])
    return groups


def build_scope(
    snapshot: Snapshot, need: CoverNeed, shift: str | None, on: date, qualified: Sequence[str], there: Collection[str]
) -> NeedScope:
    """Return a need where it counts on a day: who is at the level, and who of them is there and appointed."""
    present = tuple([i for i in qualified if i in there])
    competency = snapshot.competencies[need.competency]
    if not competency.appointment:
        return NeedScope(need, shift, True, tuple(qualified), present)
    lacking = tuple([i for i in qualified if not is_appointed(snapshot, i, competency, need.level, on)])
    return NeedScope(need, shift, True, tuple(qualified), tuple([i for i in present if i not in lacking]), lacking)


def compute_coverage(snapshot: Snapshot, team_id: str, on: date, away: frozenset[str] = frozenset()) -> CoverageResult:
    """Return the depth and state of every cover need of a team.

    Parameters
    ----------
    on : date
        Who has started, not ended and is not absent counts as present, at the level held that day.
    away : frozenset of str
        People taken as absent on top of the recorded absences ("what if they are away").

    Returns
    -------
    CoverageResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.

    Notes
    -----
    O(needs x shifts x members) level look-ups, each done once for a person and competency.
    """
    presence = get_presence(snapshot, team_id, on, away)
    judged = list(_judge_needs(presence))
    return CoverageResult(
        team=team_id,
        on=on,
        away=presence.away,
        absent=presence.absent_ids,
        needs=tuple([row for row, _ in judged]),
        remarks=tuple([remark for _, remarks in judged for remark in remarks]),
    )


def _judge_needs(presence: Presence) -> Iterator[_Judged]:
    """Yield the row of each need and its remarks; those that nobody asked to be away is in are kept for the day."""
    kept: dict[int, tuple[frozenset[str], _Judged]] = presence.keep("rows", dict)
    for number, group in enumerate(_get_groups_of_day(presence)):
        if number not in kept:
            there = frozenset([person for scope in group for person in scope.present])
            kept[number] = there, _judge(presence, group)
        there, judged = kept[number]
        yield judged if there.isdisjoint(presence.away) else _judge(presence, _leave_out(group, presence.away))


def _judge(presence: Presence, group: list[NeedScope]) -> _Judged:
    """Return the row of a need and its remarks."""
    worst = min(group, key=_badness)
    return _build_row(group, worst), [*_get_remarks(presence.snapshot, group, worst), *_list_lacks(presence, group)]


def _list_lacks(presence: Presence, group: list[NeedScope]) -> list[str]:
    """Return the remarks on those who are qualified for a need and practise too little for it, by id."""
    if presence.snapshot.competencies[group[0].need.competency].practices_per_year is None:
        return []
    qualified = sorted({person for scope in group for person in scope.qualified})
    lacks = [describe_lack(presence.snapshot, group[0].need, person, presence.on) for person in qualified]
    return [lack for lack in lacks if lack]


def _badness(scope: NeedScope) -> tuple[int, int, str]:
    return scope.depth, STATES.index(scope.state), scope.shift or ""


def _build_row(scopes: list[NeedScope], worst: NeedScope) -> CoverageRow:
    need = worst.need
    is_split = need.applies == APPLIES_EACH_SHIFT and worst.has_scope
    return CoverageRow(
        competency=need.competency,
        level=need.level,
        applies=need.applies,
        shift=worst.shift,
        minimum=need.minimum,
        target=need.target,
        depth=worst.depth,
        state=worst.state,
        qualified=worst.qualified,
        present=worst.present,
        not_appointed=worst.not_appointed,
        criticality=need.criticality,
        together=need.together,
        shifts=tuple([_build_shift(scope) for scope in scopes]) if is_split else (),
    )


def _build_shift(scope: NeedScope) -> ShiftCover:
    return ShiftCover(scope.shift or "", scope.depth, scope.state, scope.qualified, scope.present, scope.not_appointed)


def _get_remarks(snapshot: Snapshot, scopes: list[NeedScope], worst: NeedScope) -> list[str]:
    need = scopes[0].need
    name = f"{need.competency} at level {need.level}"
    if not scopes[0].has_scope:
        return [f"{name} is needed in each shift, but the team has no shifts: nobody counts for it."]
    shift_ids = {shift.id for shift in snapshot.get_shifts(need.team)}
    if need.applies not in (APPLIES_TEAM, APPLIES_EACH_SHIFT) and need.applies not in shift_ids:
        return [f"{name} is needed in {need.applies}, which is no shift of this team."]
    if len(scopes) > 1 and worst.state == "covered":
        return [
            f"{name}: shift {scope.shift} has the greater depth {scope.depth}, but is below the target of "
            f"{need.target} qualified people."
            for scope in scopes
            if scope.state == "below-target"
        ]
    return []
