"""A chart of who holds what and who is to hold it until when: people across, needs or jobs down. Pure.

May import presence, coverage, levels and the plan. The manner is that of the training timetable of the Job
Instruction programme of Training Within Industry (US War Manpower Commission, 1944, public domain): a name for each
column, a job for each row, in each cell the date by which that person is to be trained for it.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.paths.offers import Fact
from ontology.analysis.profiles.levels import get_level
from ontology.analysis.training.cross_training import CrossTrainingResult, PlanLine
from ontology.graph.snapshot import Snapshot

__all__ = ["ChartCell", "ChartPerson", "ChartRow", "ChartRows", "DueDay", "TrainingChart", "build_training_chart"]

CellState = Literal["holds", "due", "not-planned", "not-counted"]
DueDay = Literal["day", "month-end"]
ChartRows = Literal["needs", "jobs", "all"]


@dataclass(frozen=True, slots=True)
class ChartPerson:
    """A column; `shift` is empty where there is none, `is_absent` on the day or because the question says so."""

    id: str
    name: str
    shift: str
    is_absent: bool


@dataclass(frozen=True, slots=True)
class ChartCell:
    """One person and one row.

    `state`: "holds" the level on the day (`until`: the last day of a certificate, where there is one); "due" on the
    day `due` by the plan (None: the person has no study hours for it); "not-planned"; "not-counted": the row is for
    another shift.
    """

    person: str
    state: CellState
    until: date | None
    due: date | None


@dataclass(frozen=True, slots=True)
class ChartRow:
    """A need, or the job of places (able to fill them unsupervised).

    `wanted` people: the target of a need, the places of a job; `holders` now and `holders_planned` with the plan.
    """

    kind: Literal["need", "job"]
    competency: str | None
    level: int | None
    role: str | None
    applies: str
    shift: str | None
    wanted: int
    criticality: int | None
    holders: int
    holders_planned: int
    cells: tuple[ChartCell, ...]


@dataclass(frozen=True, slots=True)
class TrainingChart:
    """People by shift and id; rows of needs in their order, then of jobs by role and shift."""

    team: str
    on: date
    people: tuple[ChartPerson, ...]
    rows: tuple[ChartRow, ...]


def build_training_chart(
    snapshot: Snapshot,
    plan: CrossTrainingResult,
    *,
    show: ChartRows = "needs",
    due: DueDay = "day",
) -> TrainingChart:
    """Return the chart of a team and its plan.

    Parameters
    ----------
    snapshot : Snapshot
        The one the plan was made of.
    plan : CrossTrainingResult
    show : {"needs", "jobs", "all"}
    due : {"day", "month-end"}
        Whether a date is the last day of the last course, or the last day of its month.

    Notes
    -----
    O(rows x people) look-ups.
    """
    presence = get_presence(snapshot, plan.team, plan.on, plan.away)
    members = sorted(presence.members, key=lambda person: (person.shift or "", person.id))
    people = tuple(
        ChartPerson(person.id, person.name, person.shift or "", person.id not in presence.present_ids)
        for person in members
    )
    lines: dict[str, list[PlanLine]] = {}
    for line in plan.plan:
        lines.setdefault(line.person, []).append(line)
    filler = _Filler(presence, [person.id for person in people], lines, due)
    made: list[ChartRow] = []
    if show != "jobs":
        made += _build_need_rows(presence, filler)
    if show != "needs":
        made += _build_job_rows(presence, filler)
    return TrainingChart(plan.team, plan.on, people, tuple(made))


class _Filler:
    """Fills the cells of a row."""

    def __init__(
        self, presence: Presence, people: Sequence[str], lines: Mapping[str, Sequence[PlanLine]], due: DueDay
    ) -> None:
        self._presence = presence
        self._people = people
        self._lines = lines
        self._due = due

    def fill(self, facts: frozenset[Fact], counted: frozenset[str]) -> tuple[ChartCell, ...]:
        return tuple(self._build_cell(person_id, facts, person_id in counted) for person_id in self._people)

    def _build_cell(self, person_id: str, facts: frozenset[Fact], is_counted: bool) -> ChartCell:
        if not is_counted:
            return ChartCell(person_id, "not-counted", None, None)
        lacking = [fact for fact in sorted(facts) if self._presence.get_level_rank(person_id, fact[0]) < fact[1]]
        if not lacking:
            return ChartCell(person_id, "holds", self._get_last_day(person_id, facts), None)
        serving = [
            next((line for line in self._lines.get(person_id, ()) if (line.competency, line.level) == fact), None)
            or next(
                (
                    line
                    for line in self._lines.get(person_id, ())
                    if line.competency == fact[0] and line.level >= fact[1]
                ),
                None,
            )
            for fact in lacking
        ]
        if any(line is None for line in serving):
            return ChartCell(person_id, "not-planned", None, None)
        days = [line.finished_on for line in serving if line is not None]
        known = [day for day in days if day is not None]
        return ChartCell(person_id, "due", None, self._round(max(known)) if len(known) == len(days) else None)

    def _round(self, day: date) -> date:
        return day if self._due == "day" else day.replace(day=monthrange(day.year, day.month)[1])

    def _get_last_day(self, person_id: str, facts: frozenset[Fact]) -> date | None:
        """Return the first day on which one of the levels ends for good; None where none does."""
        snapshot = self._presence.snapshot
        days = []
        for competency_id, _ in facts:
            competency = snapshot.competencies[competency_id]
            if competency.expiry == "hard":
                basis = get_level(snapshot, person_id, competency, self._presence.on).basis
                days += [basis.valid_until] if basis is not None and basis.valid_until is not None else []
        return min(days, default=None)


def _build_need_rows(presence: Presence, filler: _Filler) -> list[ChartRow]:
    rows = []
    for scope in build_need_scopes(presence):
        need = scope.need
        counted = frozenset(p.id for p in presence.get_scope(scope.shift)) if scope.has_scope else frozenset[str]()
        cells = filler.fill(frozenset({(need.competency, need.level)}), counted)
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
                holders=_count(cells, "holds"),
                holders_planned=_count(cells, "holds", "due"),
                cells=cells,
            )
        )
    return rows


def _build_job_rows(presence: Presence, filler: _Filler) -> list[ChartRow]:
    snapshot = presence.snapshot
    jobs: dict[tuple[str, str | None], int] = {}
    for place in snapshot.get_places(presence.team):
        key = (place.role, place.shift or None)
        jobs[key] = jobs.get(key, 0) + place.count
    rows = []
    for (role_id, shift), count in sorted(jobs.items(), key=lambda item: (item[0][0], item[0][1] or "")):
        asked = snapshot.get_requirements(role_id)
        facts = frozenset((r.competency, r.unsupervised_level) for r in asked if r.necessity != "desirable")
        # a role without requirements is nobody's
        counted = frozenset(p.id for p in presence.get_scope(shift)) if asked else frozenset[str]()
        cells = filler.fill(facts, counted)
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
                holders=_count(cells, "holds"),
                holders_planned=_count(cells, "holds", "due"),
                cells=cells,
            )
        )
    return rows


def _count(cells: Sequence[ChartCell], *states: CellState) -> int:
    return sum(cell.state in states for cell in cells)
