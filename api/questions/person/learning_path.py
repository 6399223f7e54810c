"""The cheapest courses, in order, to the full levels of a role, or what a budget buys of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_if_any, build_table, number, ordinal, words
from api.desk.names import Names, amount, count, join_names
from api.desk.parameters import param
from api.desk.question import PERSON, Question, Subject
from api.desk.sheet import Fact, Next, Note, Quantity, Sheet, Table
from api.pictures.pictures import draw_learning_path
from api.questions import _cautions as cautions
from api.questions._asks import name_start, to_a_role
from api.questions._words import describe_status, describe_unreachable, show_yes
from api.questions.person._path import AskOfPath, build_path_profile, find_path, name_aim, tell_levels
from ontology.analysis.paths.learning_path import LearningPathResult


@dataclass(frozen=True, kw_only=True)
class AskPath(AskOfPath):
    """What only the answer can be asked."""

    alternatives: int | None = param(
        "How many further sets of courses to look for. Left out: 2 where that is quick.",
        default=None,
        minimum=0,
        maximum=5,
    )


def show(result: LearningPathResult, subject: Subject, asked: AskPath, names: Names) -> Sheet:
    """Return the courses in order, what stays missing, and other ways."""
    return Sheet(
        title=f"{name_start(names, subject, asked)} → {names.role(result.role)}, {asked.on}",
        lead=_tell(result, name_aim(names, result.role, asked)),
        facts=tuple(_iterate_facts(result, names)),
        parts=(
            *map(Note, _iterate_notes(result, names)),
            _show_courses(result, names),
            *describe_unreachable(result.unreachable, names),
            *map(Note, _iterate_lapses(result, names)),
            *_show_alternatives(result, names),
        ),
        next=tuple(_iterate_next(result, subject, asked, names)) if subject.kind is PERSON else (),
    )


def _iterate_next(result: LearningPathResult, person: Subject, asked: AskPath, names: Names) -> Iterator[Next]:
    day = {"on": str(asked.on)}
    yield Next("When it could be done", "schedule", person.id, {"role": result.role} | day | tell_levels(asked))
    # no way leads into the role one has
    if not names.has_role(person.id, result.role, asked.on):
        yield Next("Ways through other roles", "routes", person.id, {"to": result.role} | day)


def _tell(result: LearningPathResult, aim: str) -> str:
    if result.status == "nothing-to-do":
        return f"Nothing has to be learned for {aim}."
    new = count(len(result.courses), "course")
    hours = amount(result.study_hours)
    lead = f"{new} and {hours} h of study lead to {aim}."
    if not result.is_target_reached:
        lead = f"{new} and {hours} h of study do not lead all the way to {aim}."
    return f"{lead} {describe_status(result.status)}"


def _iterate_facts(result: LearningPathResult, names: Names) -> Iterator[Fact]:
    yield Fact("Study", Quantity(result.study_hours, "h"))
    yield Fact("Coaches", Quantity(result.coach_hours, "h"))
    yield Fact("Cost", Quantity(result.cost, "cost units"))
    yield Fact("Months", Quantity(result.months))
    yield Fact("Readiness before (0 to 1)", Quantity(result.readiness_before, decimals=2))
    day = f" on {result.last_day}" if result.courses and result.last_day else ""
    yield Fact(f"Readiness after{day} (0 to 1)", Quantity(result.readiness_after, decimals=2))
    certificates = [c for c in result.assess_first if names.is_certificate(c)]
    others = [c for c in result.assess_first if c not in certificates]
    if certificates:
        yield Fact("Show proof of", names.refs("competencies", certificates))
    if others:
        yield Fact("Assess first", names.refs("competencies", others))


def _iterate_notes(result: LearningPathResult, names: Names) -> Iterator[str]:
    yield from _tell_budget(result)
    for row in result.assess_savings:
        if row.saved_hours:
            takes = "" if row.assessment_hours is None else f"; an assessment takes {amount(row.assessment_hours)} h"
            what = f"{names.competency(row.competency)} confirmed at level {row.level}"
            yield f"{what} would save {amount(row.saved_hours)} h{takes}."
    for asks in result.requirements:
        what = f"{names.competency(asks.competency)} at level {asks.level}"
        if asks.state == "beyond-budget":
            yield f"Beyond the budget: {what}; level {asks.reached} is reached."
        if asks.state == "lapses":
            yield f"Not held on the last day: {what}, {asks.necessity}."


def _tell_budget(result: LearningPathResult) -> Iterator[str]:
    budget = result.budget
    if budget is None:
        return
    limits = []
    if budget.max_hours is not None:
        limits.append(f"{amount(budget.max_hours)} h")
    if budget.max_cost is not None:
        limits.append(f"{amount(budget.max_cost)} of cost")
    shown = " and ".join(limits)
    if result.within_budget:
        yield f"Within the budget of {shown}."
        return
    needed = f"{amount(budget.needed_hours)} h and {amount(budget.needed_cost)} of cost"
    bound = "–" if budget.readiness_bound is None else f"{budget.readiness_bound:.2f}"
    yield (
        f"The budget of {shown} does not pay for the whole path ({needed}). Shown is the largest readiness it buys "
        f"(none buys more than {bound})."
    )


def _show_courses(result: LearningPathResult, names: Names) -> Table:
    waiting = [row.id for row in result.booked if not row.is_possible]
    booked = {row.id for row in result.booked}
    rows = {row.id: row for row in (*result.courses, *result.booked)}
    places = {course_id: place for place, course_id in enumerate(result.order, start=1)}
    note = ""
    if result.booked:
        note = f"Booked already, not counted above: {amount(result.booked_hours)} h, cost {amount(result.booked_cost)}."
    return build_table(
        "Courses, in an order that can be followed",
        [rows[course_id] for course_id in [*result.order, *waiting]],
        (
            ordinal(lambda row: places.get(row.id)),
            words("course", lambda row: names.ref("courses", row.id)),
            words("booked", lambda row: show_yes(row.id in booked)),
            number("study", lambda row: row.study_hours, "h"),
            number("coach", lambda row: row.coach_hours, "h"),
            number("cost", lambda row: row.cost),
            words("serves", lambda row: names.refs("competencies", row.serves)),
        ),
        "No course is needed.",
        note,
    )


def _iterate_lapses(result: LearningPathResult, names: Names) -> Iterator[str]:
    for lapse in result.lapses:
        told = "no course renews it from the levels held now"
        if lapse.renewed_by:
            told = f"renewed by {join_names(map(names.course, lapse.renewed_by))}"
        yield f"Expires on the way: {names.competency(lapse.competency)}, valid until {lapse.valid_until}; {told}."


def _show_alternatives(result: LearningPathResult, names: Names) -> Iterator[Table | Note]:
    yield from build_if_any(
        "Instead",
        result.alternatives or (),
        (
            words("instead of", lambda row: names.refs("courses", row.left_out)),
            words("other courses", lambda row: names.refs("courses", row.added)),
            number("more study", lambda row: row.more_hours, "h", is_signed=True),
            number("more cost", lambda row: row.more_cost, is_signed=True),
            number("more weeks", lambda row: row.more_weeks, is_signed=True),
            words("proved", lambda row: show_yes(row.is_proved)),
        ),
    )
    if result.indispensable:
        yield Note(f"No path does without: {join_names(map(names.course, result.indispensable))}.")


QUESTION = Question(
    asks=to_a_role(AskPath),
    answers=LearningPathResult,
    compute=lambda snapshot, subject, asked: find_path(snapshot, subject, asked, alternatives=asked.alternatives),
    cautions=(cautions.OFFER, cautions.ENTRIES, cautions.NO_SELECTION_TEST, cautions.NO_AUTHORISATION),
    needs=Kind.EXPLORATION,
    is_standing_for_own_role=True,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
    draw=lambda snapshot, subject, asked, result, **layout: draw_learning_path(
        snapshot, build_path_profile(snapshot, subject, asked), result, **layout
    ),
)
