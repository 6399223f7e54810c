"""A cross-training plan: who learns what, what it changes for each need and place, and what stays missing.

Learners stand at the left with their courses, what they change at the right, as it is now and as it would be then.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.desk.plain_cells import say_day, say_month
from api.pictures import style
from api.pictures.cards import card, cell, line, list_states, row, small, table, words
from api.pictures.cross_training_changes import Change, list_changes
from api.pictures.cross_training_lists import (
    Missing,
    build_lists,
    count_list_lines,
    describe_lapses,
    describe_missing,
    group_lapses,
)
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, take_page
from api.pictures.text import TIE, format_count, format_number, get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult
from ontology.analysis.training.cross_training import CrossTrainingResult, LearnerPlan
from ontology.analysis.training.plan_effect import PlanEffect, compute_plan_effect
from ontology.snapshot.snapshot import Snapshot

_CAUTION: Final = (
    "An offer, not an order: employees agree to what they learn, and a level is there once it is assessed."
)
_NOTHING: Final = "Nothing to do: no hole that courses could close."
_COURSE_COLUMNS: Final = 30


def build_cross_training_picture(
    snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of a cross-training plan; the coverage is of the same team, date and people away, before it.

    On paper so many learners stand on a page as fit, with what they change. O(n log n) for n pairs of a learner and
    what they learn for, besides the cover after the plan.
    """
    names = Names(snapshot)
    effect = compute_plan_effect(snapshot, plan)
    changes = list_changes(names, coverage, plan, effect)
    others = [change for change in changes if not change.people]
    items: list[object] = [*plan.learners, *plan.unmet, *plan.unmet_places, *others, *group_lapses(effect.lapses)]
    part = take_page(items, layout, page, count=_count_lines)
    learners = [item for item in part.rows if isinstance(item, LearnerPlan)]
    shown = {learner.person for learner in learners}
    drawn = [change for change in changes if shown.intersection(change.people)]
    title = f"Cross-training in {names.get('teams', snapshot.require_team(plan.team).id)}, as of {say_day(plan.on)}"
    frame = Frame(title, _build_answer(coverage, plan, changes), rank_gap=0.7, node_gap=0.15, sheet=part.sheet)
    for learner in learners:
        _add_learner(frame, names, learner)
    for change in drawn:
        frame.add_node(change.name, _build_change(change), tooltip=change.told, link=change.link)
    for learner in learners:
        for change in drawn:
            if learner.person in change.people:
                told = f"{names.person(learner.person)} learns for {change.label}"
                name = get_node_name("person", learner.person)
                frame.add_edge(name, change.name, tooltip=told, colour=style.COURSE, width=1.6)
    if plan.status == "nothing-to-do" and part.sheet.page == 1:
        frame.add_calm(_NOTHING)
    used = {side.state for change in drawn for side in (change.now, change.then)}
    people = [(style.PERSON, "learner")] if learners else []
    return frame.finish(
        _describe(names, coverage, plan, changes, effect),
        lists=build_lists(names, part.rows),
        legend_keys=people + list_states(used),
        notes=["An arrow: learns for it, and counts there once assessed." if drawn else "", _CAUTION, NO_PERMISSION],
    )


def _count_lines(item: object) -> float:
    """Return the lines a learner takes on paper with what they learn for, or a row of a list."""
    return 4.5 + 1.2 * len(item.courses) if isinstance(item, LearnerPlan) else count_list_lines(item)


def _add_learner(frame: Frame, names: Names, learner: LearnerPlan) -> None:
    rows = []
    for course in learner.courses:
        name = names.course(course)
        named = cell(words(name, columns=_COURSE_COLUMNS), link=get_link("courses", course), tooltip=name)
        rows.append(row(named, cell(words(_format_hours(names, course)), align="RIGHT")))
    rows.append(line(small(_sum_up(learner), columns=44, colour=style.INK), colspan=2))
    name, shift = names.person(learner.person), names.shift(names.snapshot.people[learner.person].shift)
    frame.add_node(
        get_node_name("person", learner.person),
        card(style.PERSON, name, *rows, span=2),
        tooltip=f"{', '.join(filter(None, (name, shift)))}: {_sum_up(learner)}",
        link=get_link("people", learner.person),
    )


def _format_hours(names: Names, course: str) -> str:
    return f"{format_number(names.snapshot.courses[course].hours)}{TIE}h"


def _sum_up(learner: LearnerPlan) -> str:
    """Return hours, cost and the day of a learner's courses in words."""
    told = [f"{format_number(learner.study_hours)}{TIE}h in all"] if len(learner.courses) > 1 else []
    told += [f"{format_number(learner.coach_hours)}{TIE}h of a coach"] if learner.coach_hours else []
    told += [f"cost {format_number(learner.cost)}"] if learner.cost else []
    told.append(f"done on {say_month(learner.finished_on).replace(' ', TIE)}")
    return ", ".join(told)


def _build_change(change: Change) -> str:
    """Return the card of a need or place: as it is now and as it would be then, each below the colour of its state."""
    sides = {"now": change.now, "then": change.then}
    colours = (cell(bgcolor=style.STATES[side.state], height=4, cellpadding=0) for side in sides.values())
    told = (cell(words(f"{when}: {side.words}")) for when, side in sides.items())
    rows = [line(words(change.label, bold=True, columns=46), colspan=2)]
    rows += [line(small(change.where), colspan=2)] if change.where else []
    return table(*rows, row(*colours), row(*told), border=1, colour=style.LINE, padding=3)


def _build_answer(coverage: CoverageResult, plan: CrossTrainingResult, changes: Sequence[Change]) -> str:
    if plan.status == "nothing-to-do":
        return _NOTHING
    learn = "studies" if len(plan.learners) == 1 else "study"
    told = f"{format_count(len(plan.learners), 'person', 'people')} {learn} {format_number(plan.study_hours)}{TIE}h"
    told += f", coaches give {format_number(plan.coach_hours)}{TIE}h" if plan.coach_hours else ""
    if plan.status == "feasible":
        told += f": the best found in the time given; at least {format_number(plan.lower_bound)}{TIE}h"
    told += ": the least, proved for these entries" if plan.status == "optimal" else ""
    told += f". Then: after the plan, on {say_day(plan.after_on)}."
    if plan.missing:
        told += f" Still missing after it: {format_count(plan.missing, 'person', 'people')}."
    rest = len(coverage.needs) - sum(change.is_need for change in changes)
    stay = "keeps its state" if rest == 1 else "keep their state"
    return told + (f" {format_count(rest, 'need')} {stay}, not drawn." if rest else "")


def _describe(
    names: Names, coverage: CoverageResult, plan: CrossTrainingResult, changes: Sequence[Change], effect: PlanEffect
) -> str:
    sentences = [_build_answer(coverage, plan, changes)]
    sentences += [f"{c.told}; learning for it: {names.join('people', c.people) or 'nobody'}." for c in changes]
    for learner in plan.learners:
        courses = [f"{names.course(i)} ({_format_hours(names, i)})" for i in learner.courses]
        sentences.append(f"{names.person(learner.person)}: {', '.join(courses)}; {_sum_up(learner)}.")
    missing: list[Missing] = [*plan.unmet, *plan.unmet_places]
    sentences += [f"Still missing: {describe_missing(names, item)}: {item.reason}" for item in missing]
    sentences += [f"{describe_lapses(names, lapses)}." for lapses in group_lapses(effect.lapses)]
    return " ".join(sentences)
