"""What was agreed with a person: what is done, booked, under way and late, and whether the target is still in time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, amount, count, join_names
from api.desk.question import PERSON, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Note, Part, Quantity, Sheet, State, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions._words import describe_status, show_yes
from ontology.analysis.agreed.agreed_plan import AgreedPlanRow, AgreedPlans, find_agreed_plans
from ontology.analysis.agreed.course_states import AgreedCourseRow

_OWN: Final = (
    "This belongs to the person and to whom it was agreed with: look at it together. What is late may have many "
    "reasons, a course that was not held among them: it is no measure of anyone, and no ground for a sanction."
)
_STATES: Final = {
    "late": State("late", "late", "its last day has passed, and it is neither done nor booked"),
    "under-way": State("under-way", "under way", "the day is one of the days agreed"),
    "booked": State("booked", "booked", "there is a seat in a session"),
    "to-come": State("to-come", "to come", "its first day lies ahead"),
    "done": State("done", "done", "its outcomes were assessed, or a session of it was attended"),
}
_UNCONFIRMED: Final = State("done", "done, to be assessed", "it was attended, and no assessment shows its outcomes yet")
#: What wants a word comes first.
_ORDER: Final = list(_STATES)


@dataclass(frozen=True, kw_only=True)
class AskAgreedPlan(AskOnDay, AskSlowly):
    """On which day."""


def show(result: AgreedPlans, subject: Subject, asked: AskAgreedPlan, names: Names) -> Sheet:
    """Return each plan: its courses, what is late first, the levels, and the best way from today."""
    person = names.person(subject.id)
    plans = result.plans
    return Sheet(
        title=f"What was agreed with {person}, {asked.on}",
        lead=" ".join(_tell(plan, names) for plan in plans) or f"Nothing is agreed with {person}.",
        facts=tuple(_iterate_facts(plans[0], names)) if len(plans) == 1 else (),
        parts=tuple(part for plan in plans for part in _iterate_parts(plan, names, is_alone=len(plans) == 1)),
        next=tuple(_iterate_next(result, subject, asked, names)),
        remarks=tuple(remark for plan in plans for remark in plan.remarks),
    )


def _tell(plan: AgreedPlanRow, names: Names) -> str:
    """Return how far a plan is, and whether its target is still reached in time."""
    done = f"{plan.counts.done} of {count(len(plan.courses), 'course')} done"
    late = f", {plan.counts.late} late" if plan.counts.late else ""
    until = f" by {plan.last_day}" if plan.last_day else ""
    return f"{names.role(plan.role)}{until}: {done}{late}. {_tell_end(plan, names)}"


def _tell_end(plan: AgreedPlanRow, names: Names) -> str:
    if plan.is_on_time is None:
        return "Whether the target is still reached in time cannot be told."
    if plan.is_on_time:
        return "The target is still reached in time." if plan.expected_end else "The target is reached."
    if not plan.is_target_reached:
        missing = f": {join_names(map(names.competency, plan.missing))}" if plan.missing else ""
        return f"What is open does not lead to all of it{missing}."
    if plan.expected_end is None:
        return f"All that was planned is held, but not on the day agreed, {plan.last_day}."
    if not plan.days_behind:
        return f"The target is expected on {plan.expected_end}, and not held any more on the day agreed."
    behind = count(plan.days_behind, "day")
    return f"The target is expected on {plan.expected_end}, {behind} after the day agreed."


def _iterate_facts(plan: AgreedPlanRow, names: Names) -> Iterator[Fact]:
    yield Fact("Agreed on", plan.agreed_on)
    if plan.agreed_with:
        yield Fact("Agreed with", names.person(plan.agreed_with))
    if plan.note:
        yield Fact("Note", plan.note)
    yield Fact("Levels reached", f"{plan.levels_reached} of {plan.levels_planned}")
    yield Fact("Still open", Quantity(plan.open_hours, "h"))
    yield Fact("Expected end of what is open", plan.expected_end)


def _iterate_parts(plan: AgreedPlanRow, names: Names, *, is_alone: bool) -> Iterator[Part]:
    role = names.role(plan.role)
    if not is_alone:
        facts = "; ".join(f"{fact.name.lower()}: {_write(fact.value)}" for fact in _iterate_facts(plan, names))
        yield Note(f"{role}, {facts}.")
    yield _show_courses(plan, names, "Courses" if is_alone else f"Courses: {role}")
    yield build_table(
        "Levels planned" if is_alone else f"Levels planned: {role}",
        plan.levels,
        (
            words("competency", lambda row: names.ref("competencies", row.competency)),
            words("planned", lambda row: names.level(row.competency, row.level)),
            words("held", lambda row: names.level(row.competency, row.have)),
            words("reached", lambda row: show_yes(row.is_reached)),
            words("courses of the plan", lambda row: names.refs("courses", row.courses)),
        ),
        "The role asks for nothing.",
    )
    yield Note(_tell_best(plan, names))


def _write(value: object) -> str:
    if isinstance(value, Quantity):
        return f"{amount(value.value or 0)} {value.unit}"
    return "–" if value is None else str(value)


def _show_courses(plan: AgreedPlanRow, names: Names, title: str) -> Table:
    def show_state(row: AgreedCourseRow) -> State:
        return _UNCONFIRMED if row.state == "done" and not row.is_confirmed else _STATES[row.state]

    return build_table(
        title,
        sorted(plan.courses, key=lambda row: _ORDER.index(row.state)),
        (
            words("course", lambda row: names.ref("courses", row.course)),
            words("state", show_state),
            words("first day agreed", lambda row: row.first_day),
            words("last day agreed", lambda row: row.last_day),
            number("late by", lambda row: row.days_late or None, "days"),
            words("session from", lambda row: row.session_first_day),
            words("to", lambda row: row.session_last_day),
            words("done on", lambda row: row.done_on),
            number("study", lambda row: row.study_hours, "h"),
        ),
        "No course was agreed.",
    )


def _tell_best(plan: AgreedPlanRow, names: Names) -> str:
    """Return what would be planned today, and how it differs from what is open."""
    best = plan.best
    hours = amount(best.study_hours + best.booked_hours)
    if plan.hours_difference:
        more = "more" if plan.hours_difference > 0 else "less"
        differs = f"{amount(abs(plan.hours_difference))} h {more} than what is open"
    else:
        differs = "as much as what is open"
    told = f"Planned anew today the best way takes {hours} h, {differs}."
    if best.status == "unreachable":
        told = f"Planned anew today courses lead to a part of it only: they take {hours} h, {differs}."
    if best.finish:
        told += f" It would end on {best.finish}."
    if best.added:
        told += f" It takes {join_names(map(names.course, best.added))} besides."
    if best.dropped:
        told += f" It does without {join_names(map(names.course, best.dropped))}."
    return f"{told} {describe_status(best.status)}" if best.status == "feasible" else told


def _iterate_next(result: AgreedPlans, person: Subject, asked: AskAgreedPlan, names: Names) -> Iterator[Next]:
    day = {"on": str(asked.on)}
    for role in dict.fromkeys(plan.role for plan in result.plans):
        yield Next(f"The best way from today to {names.role(role)}", "schedule", person.id, {"role": role} | day)
    yield Next("What is booked", "bookings", person.id, day)


QUESTION = Question(
    asks={PERSON: AskAgreedPlan},
    answers=AgreedPlans,
    compute=by_names(find_agreed_plans),
    cautions=(_OWN, *cautions.OF_DATED_PLANS),
    needs=Kind.STANDING,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
    is_private=True,
)
