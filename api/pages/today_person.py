"""What someone looks at first about themselves: what comes next with its date, what ends, what is to be assessed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names, count, join_names
from api.pages.addresses import build_address
from api.pages.coming_days import list_coming_days
from api.pages.page import Link
from api.pages.stand_words import tell_standing
from api.pages.today_lists import TodayRow, TodaySection, build_list, tell_distance
from ontology.analysis.profiles.known_levels import PersonLevels
from ontology.model.agreement_records import AgreedPlan

__all__ = ["DAYS_AHEAD", "build_person_section"]

#: How far ahead days are told.
DAYS_AHEAD: Final = 90
_ASSESSED_NAMED: Final = 3


def build_person_section(levels: Answer, agenda: Answer) -> TodaySection:
    """Return the section of the person who looks, of what they hold and what is dated of them."""
    result: PersonLevels = levels.result
    names, person, on = levels.names, result.person, result.on
    last = on + min(dt.timedelta(days=DAYS_AHEAD), dt.date.max - on)
    rows = [row for row in _iterate_days(levels, agenda) if row.day is None or row.day <= last]
    unknown = [row.competency for row in result.asked if row.state == "not-assessed"]
    if unknown:
        rows.append(_show_unassessed(unknown, person, names))
    return TodaySection(
        way="stand",
        heading="Where you stand",
        lead=tell_standing(result, names, is_self=True),
        lists=(
            build_list(
                "Next, with dates", rows, f"Nothing is dated until {last}.", build_address("people", person, "agenda")
            ),
        ),
        acts=(
            Link("See where I stand", build_address("people", person, "")),
            Link("Look at a role", build_address("people", person, "roles")),
            Link("What changed since", build_address("people", person, "changes")),
        ),
        cautions=(*levels.enquiry.question.cautions, *agenda.enquiry.question.cautions),
        notes=(
            *_iterate_plans(levels.enquiry.state.snapshot.get_agreed_plans(person), names),
            ("Where to from here?", Link("See the roles within reach", build_address("people", person, "roles"))),
            ("Ways and plans you have kept:", Link("see what I kept", "/me/kept")),
        ),
    )


def _iterate_days(levels: Answer, agenda: Answer) -> Iterator[TodayRow]:
    """Yield the days that come as the page of the person tells them: what is booked or planned first."""
    result, snapshot = levels.result, levels.enquiry.state.snapshot
    for row in list_coming_days(result, agenda.result, snapshot, levels.names, is_self=True):
        act = Link(row.act, row.address) if row.address else None
        yield TodayRow(row.what, row.told, day=row.day, aside=tell_distance(row.day, result.on), act=act)


def _show_unassessed(unknown: Sequence[str], person: str, names: Names) -> TodayRow:
    more = [f"{len(unknown) - _ASSESSED_NAMED} more"] if len(unknown) > _ASSESSED_NAMED else []
    return TodayRow(
        f"{count(len(unknown), 'competency', 'competencies')} to be assessed first",
        f"{join_names([*map(names.competency, unknown[:_ASSESSED_NAMED]), *more])}: the first step is to ask.",
        act=Link("See where I stand", build_address("people", person, "")),
    )


def _iterate_plans(plans: Sequence[AgreedPlan], names: Names) -> Iterator[tuple[str, Link]]:
    """Yield one line for each plan that was agreed and is open."""
    for plan in plans:
        if plan.ended_on is None:
            told = f"Agreed on {plan.agreed_on}: {names.role(plan.role)}."
            yield told, Link("See how it stands", build_address("people", plan.person, "agreed-plan"))
