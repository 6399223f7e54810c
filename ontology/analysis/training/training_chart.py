"""A chart of who holds what and who is to hold it until when: people across, needs or jobs down. Pure.

May import presence, coverage, the team's calendar and the plan with its effect. The manner is that of the training
timetable of the Job Instruction programme of Training Within Industry (US War Manpower Commission, 1944, public
domain): a name for each column, a job for each row, in each cell the date by which that person is to be trained for it.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.paths.offers import Fact
from ontology.analysis.places.slots import list_unsupervised_levels
from ontology.analysis.profiles.belonging import find_last_day_in_team
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import find_end_of_level, get_presence_after
from ontology.model.identity import PeopleTogether, PersonId
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ChartCell", "ChartPerson", "ChartRow", "ChartRows", "DueDay", "TrainingChart", "build_training_chart"]

CellState = Literal["holds", "due", "later", "not-planned", "not-counted"]
DueDay = Literal["day", "month-end"]
ChartRows = Literal["needs", "jobs", "all"]


@dataclass(frozen=True, slots=True)
class ChartPerson:
    """A column: a member on the day or on the day after the plan.

    `shift` is empty where there is none, `is_absent` on the day or because the question says so. `starts_on` is the
    first day of who starts between the two days, `ends_on` the last of who leaves; else None.
    """

    id: Annotated[PersonId, "Id of the person."]
    shift: Annotated[str, "Id of the shift; empty where there is none."]
    is_absent: Annotated[bool, "Whether the person is not there on the day."]
    starts_on: Annotated[date | None, "First day of who starts before the day after the plan; else null."]
    ends_on: Annotated[date | None, "Last day of who leaves before the day after the plan; else null."]


@dataclass(frozen=True, slots=True)
class ChartCell:
    """One person and one row.

    `state`: "holds" the level on the day; "due" on the day `due` by the plan; "later" from the day `due` on without it
    (who starts with the level, or whose assessment is dated later); "not-planned"; "not-counted": the row is for
    another shift. `until` is the last day on which the level the row asks for is held, where it ends. `is_held_after`:
    on the day after the plan, as a member of that day.
    """

    person: Annotated[PersonId, "Id of the person."]
    state: Annotated[
        CellState,
        "holds the level; due by the plan; later: from a day on without the plan; not-planned; "
        "not-counted: the row is for another shift.",
    ]
    until: Annotated[date | None, "Last day on which the level of the row is held, where it ends."]
    due: Annotated[date | None, "Day from which it is held, where that lies ahead."]
    is_held_after: Annotated[bool, "Whether it is held on the day after the plan."]


@dataclass(frozen=True, slots=True)
class ChartRow:
    """A need, or the job of places (able to fill them unsupervised).

    `wanted` people: the target of a need, the places of a job; `holders` on the day and `holders_planned` on the day
    after the plan, absent ones included.
    """

    kind: Annotated[Literal["need", "job"], "What it is."]
    competency: Annotated[str | None, "Id of the competency; null for a job."]
    level: Annotated[int | None, "The level needed; null for a job."]
    role: Annotated[str | None, "Id of the role; null for a need."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift; null for the team."]
    wanted: Annotated[int, "People wanted: the target of a need, the places of a job."]
    criticality: Annotated[int | None, "1..5; null for a job."]
    holders: Annotated[PeopleTogether, "People who hold it on the day, absent ones included."]
    holders_planned: Annotated[PeopleTogether, "The same on the day after the plan."]
    cells: Annotated[tuple[ChartCell, ...], "A cell for each person, in their order."]


@dataclass(frozen=True, slots=True)
class TrainingChart:
    """People by shift and id; rows of needs in their order, then of jobs by role and shift."""

    team: str
    on: date
    after_on: date
    people: tuple[ChartPerson, ...]
    rows: tuple[ChartRow, ...]


def build_training_chart(
    snapshot: Snapshot,
    plan: CrossTrainingResult,
    after: Presence | None = None,
    *,
    show: ChartRows = "needs",
    due: DueDay = "day",
) -> TrainingChart:
    """Return the chart of a team and its plan.

    Parameters
    ----------
    snapshot : Snapshot
        The one the plan was made of.
    after : Presence, optional
        From `get_presence_after`, where it is known already.
    show : {"needs", "jobs", "all"}
    due : {"day", "month-end"}
        Whether a date is the day on which the last course is done, or the last day of its month.

    Notes
    -----
    O(rows x people) look-ups.
    """
    after = get_presence_after(snapshot, plan) if after is None else after
    filler = _Filler(get_presence(snapshot, plan.team, plan.on, plan.away), after, due)
    made: list[ChartRow] = []
    if show != "jobs":
        made += _build_need_rows(filler)
    if show != "needs":
        made += _build_job_rows(filler)
    return TrainingChart(plan.team, plan.on, after.on, filler.people, tuple(made))


class _Filler:
    """Fills the cells of a row, from the team on the day and after the plan."""

    def __init__(self, now: Presence, after: Presence, due: DueDay) -> None:
        self.now = now
        self._after = after
        self._calendar = TeamCalendar(after.snapshot, now.team, now.on, date.max)
        self._without_plan = TeamCalendar(now.snapshot, now.team, now.on, date.max)
        self._due = due
        self._members = {person.id for person in now.members}
        self._members_after = {person.id for person in after.members}
        # who changes shift meanwhile stands in that of the day asked about
        everyone = {person.id: person for person in (*after.members, *now.members)}
        self._columns = sorted(everyone.values(), key=lambda person: (person.shift or "", person.id))

    @property
    def people(self) -> tuple[ChartPerson, ...]:
        """The columns."""
        return tuple(
            ChartPerson(
                person.id,
                person.shift or "",
                person.id in self._members and person.id not in self.now.present_ids,
                person.start_date if person.id not in self._members else None,
                self._find_end(person) if person.id not in self._members_after else None,
            )
            for person in self._columns
        )

    def _find_end(self, person: Person) -> date | None:
        return find_last_day_in_team(self.now.snapshot, person.id, self.now.team, self.now.on)

    def fill(self, facts: frozenset[Fact], shift: str | None, *, has_scope: bool) -> tuple[ChartCell, ...]:
        """Return the cells of a row that asks for levels of the people of a shift (None: of the team)."""
        if not has_scope:
            return tuple([ChartCell(person.id, "not-counted", None, None, False) for person in self._columns])
        return tuple([self._build_cell(person, facts, shift) for person in self._columns])

    def _build_cell(self, person: Person, facts: frozenset[Fact], shift: str | None) -> ChartCell:
        is_in, is_in_after = (self._calendar.is_member(person, day, shift) for day in (self.now.on, self._after.on))
        if not (is_in or is_in_after):
            return ChartCell(person.id, "not-counted", None, None, False)
        is_after = is_in_after and _holds(self._after, person.id, facts)
        if is_in and _holds(self.now, person.id, facts):
            until = find_end_of_level(self._calendar, person.id, facts, self.now.on)
            return ChartCell(person.id, "holds", until, None, is_after)
        first = self._find_first_day(person, facts, shift)
        if first is None:
            return ChartCell(person.id, "not-planned", None, None, is_after)
        until = find_end_of_level(self._calendar, person.id, facts, first)
        if all(self._without_plan.get_rank(person.id, i, first) >= level for i, level in facts):
            return ChartCell(person.id, "later", until, first, is_after)
        return ChartCell(person.id, "due", until, self._round(first), is_after)

    def _find_first_day(self, person: Person, facts: frozenset[Fact], shift: str | None) -> date | None:
        """Return the first day until that after the plan on which someone belongs there and holds all the levels."""
        days = {day for fact in facts for day in self._calendar.find_days_of_change(person, fact[0])}
        days |= {self.now.on, *self._calendar.find_days_of_presence(person)}
        return next(
            (
                day
                for day in sorted(days)
                if self.now.on <= day <= self._after.on
                and self._calendar.is_member(person, day, shift)
                and all(self._calendar.get_rank(person.id, i, day) >= level for i, level in facts)
            ),
            None,
        )

    def _round(self, day: date) -> date:
        return day if self._due == "day" else day.replace(day=monthrange(day.year, day.month)[1])


def _holds(presence: Presence, person_id: str, facts: frozenset[Fact]) -> bool:
    return all(presence.get_level_rank(person_id, competency) >= level for competency, level in facts)


def _build_need_rows(filler: _Filler) -> list[ChartRow]:
    rows = []
    for scope in build_need_scopes(filler.now):
        need = scope.need
        cells = filler.fill(frozenset({(need.competency, need.level)}), scope.shift, has_scope=scope.has_scope)
        rows.append(
            ChartRow(
                kind="need",
                competency=need.competency,
                level=need.level,
                role=None,
                applies=need.applies,
                shift=scope.shift,
                wanted=need.target,
                criticality=need.criticality,
                holders=_count_holders(cells),
                holders_planned=sum(cell.is_held_after for cell in cells),
                cells=cells,
            )
        )
    return rows


def _build_job_rows(filler: _Filler) -> list[ChartRow]:
    snapshot = filler.now.snapshot
    jobs: dict[tuple[str, str | None], int] = {}
    for place in snapshot.get_places(filler.now.team):
        key = (place.role, place.shift or None)
        jobs[key] = jobs.get(key, 0) + place.count
    rows = []
    for (role_id, shift), count in sorted(jobs.items(), key=lambda item: (item[0][0], item[0][1] or "")):
        asked = snapshot.get_requirements(role_id)
        facts = frozenset(list_unsupervised_levels(snapshot, role_id))
        # a role without requirements is nobody's
        cells = filler.fill(facts, shift, has_scope=bool(asked))
        rows.append(
            ChartRow(
                kind="job",
                competency=None,
                level=None,
                role=role_id,
                applies=shift or "team",
                shift=shift,
                wanted=count,
                criticality=None,
                holders=_count_holders(cells),
                holders_planned=sum(cell.is_held_after for cell in cells),
                cells=cells,
            )
        )
    return rows


def _count_holders(cells: Sequence[ChartCell]) -> int:
    return sum(cell.state == "holds" for cell in cells)
