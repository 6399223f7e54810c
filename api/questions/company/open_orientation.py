"""What is open of the plans of newcomers and of people in a new role, by who sees to it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import COMPANY, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._calendars import build_calendar_form
from api.questions._figures import tell_or_not
from api.questions._orientation import build_item_event, name_kind, name_owner, show_item_state, tell_plan
from api.questions._words import show_yes
from loaders.calendar_file import CalendarEvent
from ontology.analysis.orientation.open_orientation import (
    LATELY_DAYS,
    OpenItem,
    OpenOrientationResult,
    OwnerItems,
    find_open_orientation,
)

if TYPE_CHECKING:
    from api.desk.desk import Answer


@dataclass(frozen=True, kw_only=True)
class AskOpenOrientation(AskOnDay):
    """Of whom."""

    owner: str | None = param("Only what this owner sees to (default: every owner).", default=None)


def show(result: OpenOrientationResult, subject: Subject, asked: AskOpenOrientation, names: Names) -> Sheet:
    """Return a table for each owner."""
    whose = f" of {name_owner(asked.owner, names)}" if asked.owner else ""
    newcomers = {item.person: item for owner in reversed(result.owners) for item in reversed(owner.items)}
    return Sheet(
        title=f"Open items{whose} for newcomers, {result.on}",
        lead=_tell(result),
        parts=tuple(_build_table(owner, names) for owner in result.owners),
        next=tuple(_ask_person(item, result.on, names) for _, item in sorted(newcomers.items())[:3]),
        remarks=(_tell_who_is_looked_at(),),
    )


def show_in_figures(result: OpenOrientationResult, subject: Subject, asked: AskOpenOrientation, names: Names) -> Sheet:
    """Return how many start or change the role, and how many of them have something overdue."""
    return Sheet(
        title=f"Open items for newcomers, {result.on}",
        lead=tell_or_not(
            f"{count(result.people, 'newcomer or person in a new role', 'newcomers and people in a new role')}; with "
            f"something overdue: {result.people_overdue}.",
            result.people,
        ),
        facts=(
            Fact("Newcomers and people in a new role", str(result.people)),
            Fact("Of them, with something overdue", str(result.people_overdue)),
        ),
        remarks=(_tell_who_is_looked_at(),),
    )


def _tell_who_is_looked_at() -> str:
    return f"People who started or changed their role in the last {LATELY_DAYS} days, and those who will."


def _build_table(owner: OwnerItems, names: Names) -> Table:
    return build_table(
        name_owner(owner.owner, names) if owner.owner else "Without an owner",
        owner.items,
        (
            words("day", lambda row: row.due),
            words("what", lambda row: row.label),
            words("for", lambda row: names.ref("people", row.person)),
            words("first day", lambda row: row.start),
            words("kind", lambda row: name_kind(is_change_of_role=row.is_change_of_role)),
            words("before work", lambda row: show_yes(row.before_work)),
            words("state", lambda row: show_item_state(row.state)),
        ),
    )


def _tell(result: OpenOrientationResult) -> str:
    """Return how many items are open, and how many of them late."""
    waiting = sum(len(owner.items) for owner in result.owners)
    overdue = sum(owner.overdue for owner in result.owners)
    of_whom = count(result.people, "newcomer or person in a new role", "newcomers and people in a new role")
    if not waiting:
        return f"Nothing is open; {of_whom}."
    late = f", {overdue} of them overdue" if overdue else ""
    return f"{count(waiting, 'item is', 'items are')} open{late}; {of_whom}."


def _ask_person(item: OpenItem, on: dt.date, names: Names) -> Next:
    start = {"start": str(item.start)} if item.is_change_of_role else {}
    return Next(f"The plan of {names.person(item.person)}", "orientation", item.person, start | {"on": str(on)})


def _name_calendar(answer: Answer) -> str:
    owner = answer.enquiry.asked.owner
    return f"Open items{f' of {name_owner(owner, answer.names)}' if owner else ''} for newcomers"


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    found: Any = answer.result
    snapshot = answer.enquiry.state.snapshot
    for owner in found.owners:
        for row in owner.items:
            summary = f"{answer.names.person(row.person)}: {row.label}"
            yield build_item_event(tell_plan(snapshot, row.person, row.start), row, summary=summary)


QUESTION = Question(
    asks={COMPANY: AskOpenOrientation},
    answers=OpenOrientationResult,
    compute=by_names(find_open_orientation),
    cautions=(cautions.NO_GRADE, cautions.BEFORE_WORK),
    needs=Kind.COMPANY_COVER,
    show=show,
    files={"ics": build_calendar_form(_name_calendar, _iterate_events)},
    segment="orientation",
    # whose items they are would tell of the few that one owner sees to
    figures=InFigures(
        show_in_figures, prepare=lambda result, _: replace(result, owners=()), refuses=frozenset({"owner"})
    ),
)
