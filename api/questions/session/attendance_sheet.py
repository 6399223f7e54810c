"""The sheet on which a class signs: who has a seat in a session, with lines left blank for each day."""

from __future__ import annotations

from collections.abc import Iterator

from api.access.rights import Kind
from api.desk.columns import Filled, build_table, ordinal, words
from api.desk.names import Names, count
from api.desk.parameters import Asks
from api.desk.question import SESSION, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._sessions import name_session
from ontology.analysis.sessions.seat_lists import AttendanceSheet, ListedPerson, list_attendance

#: Columns to sign that fit beside the names on a page.
_DAYS_BESIDE = 4


def show(result: AttendanceSheet, subject: Subject, asked: Asks, names: Names) -> Sheet:
    """Return the names with blank columns, a few days a table."""
    what = name_session(names, result.course, result.first_day, result.last_day)
    remarks = []
    if result.days[-1] < result.last_day:
        remarks.append(f"Lines are drawn for the first {count(len(result.days), 'day')} alone.")
    if result.session_state == "cancelled":
        remarks.append("This session is cancelled.")
    return Sheet(
        title=f"Attendance: {what}",
        lead=f"{count(len(result.people), 'person has', 'people have')} a seat.",
        facts=(
            Fact("Course", names.ref("courses", result.course)),
            Fact("Site", names.ref("sites", result.site)),
            Fact("Where", result.where or "–"),
        ),
        parts=(*_iterate_tables(result, names), _build_trainer_table()),
        next=(Next("Who waits for a seat", "waiting-list", result.session),),
        remarks=tuple(remarks),
    )


def _iterate_tables(result: AttendanceSheet, names: Names) -> Iterator[Table]:
    people = sorted(result.people, key=lambda row: (names.person(row.person).casefold(), row.person))
    places = {row.person: place for place, row in enumerate(people, start=1)}
    for start in range(0, len(result.days), _DAYS_BESIDE):
        days = result.days[start : start + _DAYS_BESIDE]
        lines: tuple[Filled[ListedPerson], ...] = tuple(words(f"signature {day}", _leave_blank) for day in days)
        yield build_table(
            "Who attends" if len(result.days) <= _DAYS_BESIDE else f"Who attends, {days[0]} to {days[-1]}",
            people,
            (
                ordinal(lambda row: places[row.person]),
                words("name", lambda row: names.ref("people", row.person)),
                words("team", lambda row: names.ref("teams", row.team)),
                *lines,
            ),
            "Nobody has a seat.",
            is_signed=True,
        )


def _leave_blank(row: object) -> str:
    return ""


def _build_trainer_table() -> Table:
    columns = ("held by", "from", "to", "signature")
    return build_table("Who held it", ("",), tuple(words(name, _leave_blank) for name in columns), "", is_signed=True)


QUESTION = Question(
    asks={SESSION: Asks},
    answers=AttendanceSheet,
    compute=by_names(list_attendance),
    cautions=(cautions.NO_MARK, cautions.NO_AUTHORISATION),
    needs=Kind.COMPANY_COVER,
    show=show,
    no_figures="It is a list of names to sign, so it is told to those who lead the people on it.",
)
