"""What someone looks at first about themselves: what comes next with its date, what ends, what is to be assessed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names, count, join_names
from api.pages.addresses import build_address
from api.pages.today_lists import Act, TodayRow, TodaySection, build_list, tell_distance
from ontology.analysis.agenda.agenda import AgendaRow, PersonAgenda
from ontology.analysis.profiles.gap import GapResult
from ontology.model.agreement_records import AgreedPlan

__all__ = ["build_person_section"]

#: Kinds of an agenda's rows that are booked or planned: they come first.
_PLANNED: Final = ("session", "orientation")
_KINDS: Final = {
    "appointment": "appointment",
    "obligation": "to be held",
    "orientation": "first weeks",
    "session": "booked",
}
_ASSESSED_NAMED: Final = 3


def build_person_section(agenda: Answer, gap: Answer | None) -> TodaySection:
    """Return the section of the person who looks.

    Parameters
    ----------
    agenda : Answer
        What is dated of them.
    gap : Answer or None
        To the role they hold; None where none is recorded.
    """
    result: PersonAgenda = agenda.result
    names, person = agenda.names, agenda.result.person
    rows = list(_iterate_rows(result, names))
    if gap is not None and gap.result.assess_first:
        rows.append(_show_unassessed(gap.result, person, names))
    return TodaySection(
        way="stand",
        heading="Where you stand",
        lead=_tell(result, gap, names),
        lists=(
            build_list(
                "Next, with dates",
                rows,
                f"Nothing is dated until {result.until}.",
                build_address("people", person, "agenda"),
            ),
        ),
        acts=(
            ("See where I stand", build_address("people", person, "")),
            ("Look at a role", build_address("people", person, "roles")),
        ),
        cautions=(*agenda.enquiry.question.cautions, *(gap.enquiry.question.cautions if gap is not None else ())),
        notes=(
            *_iterate_plans(agenda.enquiry.state.snapshot.get_agreed_plans(person), names),
            ("Where to from here?", ("See the roles within reach", build_address("people", person, "roles"))),
            ("Ways and plans you have kept:", ("see what I kept", "/me/kept")),
        ),
    )


def _tell(result: PersonAgenda, gap: Answer | None, names: Names) -> str:
    told = []
    if gap is not None:
        found: GapResult = gap.result
        unmet = found.blocking_unmet
        blocking = f"{count(unmet, 'blocking requirement')} of your role {'is' if unmet == 1 else 'are'} not met"
        told.append(f"{blocking if unmet else 'All that blocks in your role is met'}; {found.essential_met} of ")
        told[0] += f"{count(found.essential_total, 'essential one is', 'essential ones are')} at full level."
        if found.assess_first:
            told.append(f"{count(len(found.assess_first), 'thing')} your role asks nobody has assessed yet.")
    else:
        told.append("No role is recorded for you. Ask your lead, or look at any role.")
    late = sum(row.is_late for row in result.rows)
    if late:
        told.append(f"{late} of what is dated {'is' if late == 1 else 'are'} late.")
    return " ".join(told)


def _iterate_rows(result: PersonAgenda, names: Names) -> Iterator[TodayRow]:
    """Yield the next booked or planned day, then the rest by day."""
    planned = next((row for row in result.rows if row.kind in _PLANNED and row.day >= result.on), None)
    ordered = [planned] if planned is not None else []
    for row in [*ordered, *(row for row in result.rows if row is not planned)]:
        yield TodayRow(
            row.what,
            _tell_why(row),
            _KINDS[row.kind],
            day=row.day,
            aside=tell_distance(row.day, result.on),
            act=_find_act(row, result.person),
        )


def _tell_why(row: AgendaRow) -> str:
    if row.kind == "session" and row.last_day != row.day:
        return f"To {row.last_day}."
    return "It can no longer be in time." if row.is_late and row.kind == "obligation" else ""


def _find_act(row: AgendaRow, person: str) -> Act:
    if row.kind == "session":
        return ("See the session", build_address("sessions", row.id, ""))
    if row.kind == "orientation":
        return ("See your first weeks", build_address("people", person, "orientation"))
    return ("See what must be held", build_address("people", person, "obligations"))


def _show_unassessed(result: GapResult, person: str, names: Names) -> TodayRow:
    ids = result.assess_first
    more = [f"{len(ids) - _ASSESSED_NAMED} more"] if len(ids) > _ASSESSED_NAMED else []
    return TodayRow(
        f"{count(len(ids), 'thing')} to be assessed first",
        f"{join_names([*map(names.competency, ids[:_ASSESSED_NAMED]), *more])}: the first step is to ask.",
        names.role(result.role),
        act=("See what is missing", build_address("people", person, "gap", {"role": result.role})),
    )


def _iterate_plans(plans: Sequence[AgreedPlan], names: Names) -> Iterator[tuple[str, Act]]:
    """Yield one line for each plan that was agreed and is open."""
    for plan in plans:
        if plan.ended_on is None:
            told = f"Agreed on {plan.agreed_on}: {names.role(plan.role)}."
            yield told, ("See how it stands", build_address("people", plan.person, "agreed-plan"))
