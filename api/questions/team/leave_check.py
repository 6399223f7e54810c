"""What would break in a team while someone is on leave, who could stand in, and when nothing would break."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.kinds import PersonId
from api.desk.names import Names, count, join_names
from api.desk.parameters import param
from api.desk.question import TEAM, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet, Span
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._words import name_fallen
from ontology.analysis.outlook.leave_check import LONGEST_LEAVE_DAYS, WEEKS_AROUND, check_leave
from ontology.analysis.outlook.leave_rows import FreeSpan, LeaveBreak, LeaveCheckResult, LeaveStandIn
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, kw_only=True)
class AskLeaveCheck(AskOnDay):
    """Who, and on which days."""

    person_id: PersonId = param("The member who would be away.", name="person")
    from_date: dt.date = param("First day of the leave.", name="from")
    to_date: dt.date = param("Last day of the leave.", name="to")
    weeks: int = param(
        "How many weeks before and after to look for other days.",
        default=WEEKS_AROUND,
        minimum=0,
        maximum=52,
        unit="weeks",
    )

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the leave ends before it begins, or is longer than a year."""
        if self.to_date < self.from_date:
            raise ParameterError(WrongParameter("to", str(self.to_date), f"must not be before {self.from_date}"))
        if (self.to_date - self.from_date).days >= LONGEST_LEAVE_DAYS:
            wrong = WrongParameter("to", str(self.to_date), f"must be within {LONGEST_LEAVE_DAYS} days of the first")
            raise ParameterError(wrong)


def show(result: LeaveCheckResult, subject: Subject, asked: AskLeaveCheck, names: Names) -> Sheet:
    """Return what breaks when, the stand-ins, and the nearest other days."""
    person = names.person(result.person)
    return Sheet(
        title=f"Leave of {person}, {names.team(result.team)}, {result.from_date} to {result.to_date}",
        lead=_tell(result, person),
        facts=tuple(_iterate_facts(result)),
        parts=(
            build_table(
                "What would not hold",
                result.breaks,
                (
                    words("what", lambda row: _name(row, names)),
                    words("days", lambda row: Span(row.from_date, row.to_date)),
                    words("who could stand in", lambda row: _name_stand_ins(row, result.team, names)),
                ),
                "Nothing: all that holds with them holds without.",
            ),
            build_table(
                "Stand-ins, and what they would leave behind",
                _join_stand_ins(result),
                (
                    words("person", lambda row: names.ref("people", row.one.person)),
                    words("team", lambda row: names.ref("teams", row.one.team)),
                    words("days", lambda row: Span(row.one.from_date, row.one.to_date)),
                    words("stands in for", lambda row: "; ".join(_name_item(item, names) for item in row.breaks)),
                    words(
                        "leaves behind",
                        lambda row: name_fallen(
                            names, row.one.leaves_needs, row.one.leaves_places, row.one.leaves_together
                        ),
                    ),
                ),
                "Nobody has to stand in." if not result.breaks else "Nobody could stand in.",
            ),
            build_table(
                "Duties on these days",
                result.duties,
                (
                    words("place", lambda row: names.place(row.place)),
                    words("days", lambda row: Span(row.from_date, row.to_date)),
                    words("who stands there", lambda row: names.ref("people", row.person)),
                    words("watched over by", lambda row: names.ref("people", row.supervised_by)),
                ),
                "None is entered.",
            ),
        ),
        next=(
            Next(
                "Who can stand in on the first day",
                "stand-ins",
                result.team,
                {"person": result.person, "on": str(result.from_date)},
            ),
            Next(
                "How the team's cover changes",
                "coverage-timeline",
                result.team,
                {"from": str(result.from_date), "on": str(result.on)},
            ),
        ),
    )


def _tell(result: LeaveCheckResult, person: str) -> str:
    if not result.breaks:
        return f"{person} can be away on these days: nothing breaks."
    days = count(result.days, "day")
    if result.days_breaking == result.days:
        return (
            f"Something breaks on the one day of {person}'s leave."
            if result.days == 1
            else f"Something breaks on each of the {days}."
        )
    return f"Something breaks on {result.days_breaking} of the {days}."


def _iterate_facts(result: LeaveCheckResult) -> Iterator[Fact]:
    if result.breaks:
        yield Fact("Nearest days before on which nothing breaks", _name_span(result.free_before, result.weeks))
        yield Fact("Nearest days after", _name_span(result.free_after, result.weeks))


def _name_span(span: FreeSpan | None, weeks: int) -> str:
    return f"none within {count(weeks, 'week')}" if span is None else f"{span.from_date} to {span.to_date}"


def _name(row: LeaveBreak, names: Names) -> str:
    item = _name_item(row, names)
    return (
        f"{row.kind} {item}"
        if row.kind != "together"
        else f"{count(row.slots, 'slot')} of group {row.together}: {item}"
    )


def _name_item(row: LeaveBreak, names: Names) -> str:
    return names.place(row.place) if row.place else names.need(row.competency or "", row.level or 0, row.shift)


def _name_stand_ins(row: LeaveBreak, team: str, names: Names) -> str:
    """Return the stand-ins of the own team by name, those of other teams by number: the table below names them."""
    own = dict.fromkeys(one.person for one in row.stand_ins if one.team == team)
    others = {one.person for one in row.stand_ins} - own.keys()
    told = [names.person(i) for i in own]
    if others:
        told.append(
            f"{len(others)} of other teams" if own else f"{count(len(others), 'person', 'people')} of other teams"
        )
    return join_names(told) or "nobody"


@dataclass(frozen=True, slots=True)
class _Row:
    """A stand-in on days on which they leave the same behind, and for what they could stand in."""

    one: LeaveStandIn
    breaks: list[LeaveBreak]


def _join_stand_ins(result: LeaveCheckResult) -> list[_Row]:
    """Return each stand-in once for the same days and the same that is left behind: own team first, by team and id."""
    rows: dict[LeaveStandIn, _Row] = {}
    for item in result.breaks:
        for one in item.stand_ins:
            rows.setdefault(one, _Row(one, [])).breaks.append(item)
    return sorted(
        rows.values(), key=lambda row: (row.one.team != result.team, row.one.team, row.one.person, row.one.from_date)
    )


QUESTION = Question(
    asks={TEAM: AskLeaveCheck},
    answers=LeaveCheckResult,
    compute=by_names(check_leave),
    cautions=(cautions.NO_REASON_TO_REFUSE, cautions.LENDING, *cautions.OF_WORK),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    no_figures="It is about the leave of one person: it is told to those who lead the team, or state a purpose for it.",
)
