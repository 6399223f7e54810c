"""How many people need a course by which month, and how many sessions of it that takes."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.plain_cells import say_month_of_year
from api.desk.question import COURSE, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Quantity, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from ontology.analysis.sessions.demand import MONTHS_AHEAD, MOST_MONTHS, CourseDemand, find_demand


@dataclass(frozen=True, kw_only=True)
class AskDemand(AskOnDay):
    """For how long."""

    months: int = param(
        "How many months, that of the day included.",
        default=MONTHS_AHEAD,
        minimum=1,
        maximum=MOST_MONTHS,
        unit="months",
    )


def show(result: CourseDemand, subject: Subject, asked: AskDemand, names: Names) -> Sheet:
    """Return the months with people and sessions."""
    share = f"{result.show_up_share:.0%}"
    basis = f"of {count(result.show_up_count, 'seat')}" if result.show_up_count else "assumed"
    return Sheet(
        title=f"Who needs {names.course(result.course)}, from {result.on}",
        lead=_tell(result),
        facts=(
            Fact("Seats of a session", "no limit" if result.seats is None else Quantity(result.seats)),
            Fact("Share that comes", f"{share}, {basis}"),
            Fact("Share that passes", f"{result.pass_share:.0%}"),
        ),
        parts=(
            build_table(
                "By month",
                result.months,
                (
                    words("month", lambda row: say_month_of_year(row.month)),
                    number("people who need it", lambda row: row.people),
                    number("sessions to hold", lambda row: row.sessions),
                ),
                note="The first month holds who needs it now. Who is booked already is not counted.",
            ),
        ),
    )


def show_in_figures(result: CourseDemand, subject: Subject, asked: AskDemand, names: Names) -> Sheet:
    """Return the months with people; what single people did in sessions before is left out."""
    needs = count(result.people, "person needs", "people need")
    sessions = "" if result.seats is None else f"; sessions in all: {result.sessions}"
    return Sheet(
        title=f"Who needs {names.course(result.course)}, from {result.on}",
        lead=f"{needs} it within {count(len(result.months), 'month')}{sessions}.",
        facts=(
            Fact("Seats of a session", "no limit" if result.seats is None else Quantity(result.seats)),
            Fact("Share that passes", f"{result.pass_share:.0%}"),
        ),
        parts=(
            build_table(
                "By month",
                result.months,
                (
                    words("month", lambda row: say_month_of_year(row.month)),
                    number("people who need it", lambda row: row.people),
                ),
                note="The first month holds who needs it now. Who is booked already is not counted.",
            ),
        ),
    )


def _tell(result: CourseDemand) -> str:
    """Return how many need it, how many of them now, and the sessions that takes."""
    span = count(len(result.months), "month")
    if not result.people:
        return f"Nobody needs it within {span}."
    needs = f"{count(result.people, 'person needs', 'people need')} it within {span}"
    now = f", {result.months[0].people or 'none'} of them by the end of this month"
    if result.seats is None:
        return f"{needs}{now}."
    if result.sessions is None:
        return f"{needs}{now}; by these shares no number of sessions is enough."
    return f"{needs}{now}; that takes {count(result.sessions, 'session')}."


QUESTION = Question(
    asks={COURSE: AskDemand},
    answers=CourseDemand,
    compute=by_names(find_demand),
    cautions=(cautions.ROOMS_ONLY, cautions.OWN_LIST),
    needs=Kind.COMPANY_COVER,
    show=show,
    # of fewer months, the difference would tell those of the last
    figures=InFigures(show_in_figures, refuses=frozenset({"months"}), is_of_all=True),
)
