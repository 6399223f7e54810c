"""How a team's cover changes, what is short or unfilled when, and the last day to act on every hole."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.names import Names, amount
from api.desk.parameters import param
from api.desk.plain_cells import line_up
from api.desk.question import TEAM, InFigures, Question, Subject
from api.desk.sheet import Next, Sheet
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam, AskSlowly
from api.questions._figures import leave_out
from api.questions._words import describe_status, tell_cause
from api.questions.team._timeline import (
    CALENDAR,
    build_strips,
    name_row,
    show_slot_state,
    tell_holes,
    tell_next,
)
from api.questions.team._timeline_figures import join_days
from ontology.analysis.outlook.cover_mends import Mend
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.outlook.cover_timeline_rows import (
    CoverHole,
    CoverTimelineResult,
    NeedTimeline,
    SlotTimeline,
)
from ontology.snapshot.snapshot import Snapshot

_WEEKS: Final = 26


@dataclass(frozen=True, kw_only=True)
class AskCoverageTimeline(AskAboutTeam, AskSlowly):
    """From which day to which."""

    from_date: dt.date | None = param("The first day told (default: `on`).", default=None, name="from")
    until: dt.date | None = param("The last day told (default: as `weeks` says).", default=None)
    weeks: int | None = param(
        f"Weeks told from the first day; instead of `until` (default: {_WEEKS}).",
        default=None,
        minimum=1,
        maximum=520,
        unit="weeks",
    )

    @property
    def first(self) -> dt.date:
        """The first day told."""
        return self.from_date or self.on

    @property
    def last(self) -> dt.date:
        """The last day told."""
        if self.until is not None:
            return self.until
        days = 7 * (self.weeks or _WEEKS)
        return self.first + dt.timedelta(days=min(days, (dt.date.max - self.first).days))

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the two ways to say the last day are both given, or it lies before the first."""
        if self.until is not None and self.weeks is not None:
            raise ParameterError(WrongParameter("weeks", str(self.weeks), "must be left out where until is given"))
        if self.until is not None and self.until < self.first:
            raise ParameterError(WrongParameter("until", str(self.until), f"must not be before {self.first}"))


def show(result: CoverTimelineResult, subject: Subject, asked: AskCoverageTimeline, names: Names) -> Sheet:
    """Return the holes with who could close them, and every change by day."""
    rows: list[NeedTimeline | SlotTimeline] = [*result.needs, *result.slots]
    holes = [(row, hole) for row in rows for hole in row.holes]
    holes.sort(key=lambda pair: (pair[1].last_day_to_act or dt.date.min, pair[1].from_date))
    return Sheet(
        title=f"Cover of {names.team(result.team)}, {result.from_date} to {result.to_date}, seen from {result.on}",
        lead=_tell(result, [hole for _, hole in holes], names),
        parts=(
            build_table(
                "What changes",
                result.changes,
                (
                    words("day", lambda row: row.on),
                    words("need or place", lambda row: name_row(row, names)),
                    words("before", lambda row: show_slot_state(row.from_state)),
                    words("from then on", lambda row: show_slot_state(row.to_state)),
                    words("present", lambda row: f"{row.from_depth} to {row.to_depth}", is_number=True),
                    words("what happened", lambda row: " ".join(tell_cause(cause, names) for cause in row.causes)),
                ),
                "No need changes its state, and as many slots stay filled.",
            ),
            build_table(
                "What is short or unfilled",
                holes,
                (
                    words("need or place", lambda pair: _name_hole(*pair, names)),
                    words("from", lambda pair: ("" if pair[1].is_begin_known else "before ") + str(pair[1].from_date)),
                    words("to", lambda pair: "open" if pair[1].is_open else pair[1].to_date),
                    words("last start day", lambda pair: _tell_last_day(pair[1])),
                    words("who could close it, and how", lambda pair: _tell_closing(pair[1], names)),
                ),
                "No need is short and no slot unfilled on any of these days.",
            ),
            build_strips(result, names),
        ),
        next=tuple(_iterate_next(result, names)),
    )


def _tell(result: CoverTimelineResult, holes: list[CoverHole], names: Names) -> str:
    told = [tell_next(result, names), tell_holes(holes)]
    return " ".join(told if result.status == "optimal" else [*told, describe_status(result.status)])


def _name_hole(row: NeedTimeline | SlotTimeline, hole: CoverHole, names: Names) -> str:
    return name_row(row, names) + (f", person {hole.lacking}" if hole.lacking > 1 else "")


def _tell_last_day(hole: CoverHole) -> str | None:
    passed = " (passed)" if hole.is_late else ""
    return None if hole.last_day_to_act is None else f"{hole.last_day_to_act}{passed}"


def _tell_closing(hole: CoverHole, names: Names) -> str:
    return names.put_in(str(hole.reason)) if hole.mend is None else _tell_mend(hole.mend, names)


def _tell_mend(mend: Mend, names: Names) -> str:
    if mend.booked_session is not None:
        booked = f"{names.course(mend.courses[0])}, session {mend.booked_session}, done on {mend.ready_on}"
        return f"{names.person(mend.person)} has a seat already: {booked}"
    what = "renews" if mend.kind == "renewal" else "learns"
    courses = line_up([names.course(course) for course in mend.courses])
    start = f"can start after {_weeks(mend.lead_weeks)}" if mend.lead_weeks else "can start now"
    takes = f"{amount(mend.study_hours)} h, takes {_weeks(mend.weeks)}"
    return (
        f"{names.person(mend.person)} {what}: {courses} ({takes}, {start}); begun at once it is done on {mend.ready_on}"
    )


def _weeks(weeks: float) -> str:
    shown = f"{weeks:.1f}".removesuffix(".0")
    return f"{shown} week" if shown == "1" else f"{shown} weeks"


def _iterate_next(result: CoverTimelineResult, names: Names) -> Iterator[Next]:
    yield Next("Plan it", "cross-training", result.team, {"on": str(result.on)})
    seen: set[str] = set()
    for row in result.needs:
        if row.holes and row.competency not in seen and len(seen) < 3:
            seen.add(row.competency)
            day = str(max(row.holes[0].from_date, result.on))
            words = f"Who could stand in for {names.competency(row.competency)}"
            yield Next(words, "stand-ins", result.team, {"competency": row.competency, "on": day})


QUESTION = Question(
    asks={TEAM: AskCoverageTimeline},
    answers=CoverTimelineResult,
    compute=lambda snapshot, team, asked: compute_cover_timeline(
        snapshot,
        team.id,
        asked.on,
        from_date=asked.first,
        to_date=asked.last,
        away=asked.away,
        time_limit_s=asked.time_limit_s,
    ),
    cautions=(cautions.NO_ROSTER_LAW, cautions.NO_AUTHORISATION, cautions.OFFER, cautions.CONSENT, cautions.BASIS),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    is_slow=True,
    figures=InFigures(
        lambda *told: leave_out(show(*told), "present", "what happened", "who could close it, and how"),
        prepare=join_days,
        refuses=frozenset({"from", "until", "weeks"}),
    ),
    files={"ics": CALENDAR},
)
