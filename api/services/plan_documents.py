"""A development plan as events for a calendar and as sheets of a workbook. No Flask, no clock.

It sees the plan's answer, so that every form says the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, time
from typing import Any, Final

from loaders.calendar_file import CalendarEvent, build_calendar_file
from loaders.plan_workbook import Cell, Sheet, build_book
from ontology.graph.snapshot import Snapshot

__all__ = ["ASKS", "build_plan_calendar", "build_plan_workbook"]

Plan = Mapping[str, Any]

#: What to ask on a follow-up day, by months.
ASKS: Final = {
    1: "Is it used at work? What is in the way?",
    6: "Is it still used? Is the level seen, and by whom?",
    12: "What has come of it? Assess again where the work can hurt someone.",
}


def build_plan_calendar(snapshot: Snapshot, plan: Plan) -> bytes:
    """Return the plan as an iCalendar file: courses, follow-up days, last days of certificates.

    It is stamped with the day the plan is of, so the same plan gives the same bytes.
    """
    made_at = datetime.combine(date.fromisoformat(plan["on"]), time(), UTC)
    return build_calendar_file(
        _iterate_events(plan, snapshot.store_id), name=f"Development plan: {plan['role_label']}", made_at=made_at
    )


def _iterate_events(plan: Plan, store_id: str) -> Iterator[CalendarEvent]:
    owner = f"{store_id}/{plan['person']}/{plan['role']}"
    caution = f"{plan['cautions'][0]}\n{plan['cautions'][1]}"
    hours = {course["id"]: course for course in plan["schedule"]["courses"]}
    for step in plan["steps"]:
        course = hours[step["course"]]
        about = [
            *(["Booked already; the date booked is not known here."] if step["is_booked"] else []),
            f"{step['study_hours']:g} h of study, about {course['hours_per_week']:g} h a week.",
            *(f"{row['label']}, level {row['level']} ({row['level_label']})." for row in step["outcomes"]),
            caution,
        ]
        kind = "Renewal" if step["is_renewal"] else "Course"
        yield CalendarEvent(
            key=f"{owner}/course/{step['course']}",
            first_day=date.fromisoformat(step["first_day"]),
            last_day=date.fromisoformat(step["last_day"]),
            summary=f"{kind}: {step['label']}",
            description="\n".join(about),
            category=kind,
        )
        for follow_up in step["follow_ups"]:
            months = follow_up["months"]
            day = date.fromisoformat(follow_up["day"])
            practice = [f"{row['label']}: {row['practice']}" for row in step["outcomes"]]
            yield CalendarEvent(
                key=f"{owner}/follow-up/{step['course']}/{months}",
                first_day=day,
                last_day=day,
                summary=f"Follow-up after {months} {'month' if months == 1 else 'months'}: {step['label']}",
                description="\n".join([ASKS[months], *practice]),
                category="Follow-up",
            )
    for row in plan["schedule"]["lapsing"]:
        day = date.fromisoformat(row["valid_until"])
        told = f"Renewed by {row['renewal']}." if row["renewal"] else row["reason"]
        yield CalendarEvent(
            key=f"{owner}/lapse/{row['competency']}/{row['level']}/{row['valid_until']}",
            first_day=day,
            last_day=day,
            summary=f"Last day: {row['label']}",
            description=told,
            category="Certificate",
        )


def build_plan_workbook(snapshot: Snapshot, plan: Plan) -> bytes:
    """Return the plan as a workbook (.xlsx): summary, gaps, courses, practice, follow-up, certificates, cautions."""
    return build_book(
        [
            Sheet("Plan", ("what", "value"), list(_list_summary(snapshot, plan))),
            Sheet(
                "Gaps",
                ("competency", "asked", "held", "gap", "necessity", "state", "source", "date"),
                [_list_gap(snapshot, row) for row in plan["now"]["gaps"]],
            ),
            Sheet(
                "Courses",
                ("course", "kind of learning", "first day", "last day", "hours", "hours a week", "coach hours", "cost",
                 "slack in days", "critical", "waits for", "booked already"),
                [_list_course(snapshot, course, step) for course, step in _pair(plan)],
            ),
            Sheet(
                "Practice",
                ("course", "competency", "level", "practise on the job", "assessed by", "how", "assessment hours"),
                [_list_outcome(step, row) for step in plan["steps"] for row in step["outcomes"]],
            ),
            Sheet(
                "Follow-up",
                ("day", "months after", "course", "ask"),
                sorted(_list_follow_ups(plan), key=lambda row: str(row[0])),
            ),
            Sheet(
                "Certificates",
                ("certificate", "last day", "renewed by", "renewed on", "in time", "remark"),
                [_list_lapse(snapshot, row) for row in plan["schedule"]["lapsing"]],
            ),
            Sheet("Cautions", ("before you use this",), [(line,) for line in plan["cautions"]]),
        ]
    )  # fmt: skip


_WHY_MISSING: Final = {
    "beyond-budget": "beyond the budget",
    "lapses": "it expires before the last day",
    "left-out": "its course would end after the person's last day",
    "unreachable": "no course leads to it",
}


def _list_summary(snapshot: Snapshot, plan: Plan) -> Iterator[tuple[Cell, ...]]:
    now, schedule = plan["now"], plan["schedule"]
    yield "whose", snapshot.people[plan["person"]].name
    yield "target role", plan["role_label"]
    yield "as of", date.fromisoformat(plan["on"])
    yield "standing", now["standing"].replace("-", " ")
    yield "readiness (0 to 1, a sort key for roles, no verdict)", now["readiness"]
    yield "blocking requirements unmet", now["blocking_unmet"]
    yield "essential requirements met", f"{now['essential_met']} of {now['essential_total']}"
    yield "start", date.fromisoformat(schedule["start"])
    yield "finish", _read_day(schedule["finish"])
    yield "target reached after this plan", "yes" if schedule["is_target_reached"] else "no"
    yield "readiness after this plan", schedule["readiness_after"]
    for row in schedule["missing"]:
        label = snapshot.competencies[row["competency"]].label
        why = _WHY_MISSING[row["state"]]
        yield "stays missing", f"{label}, level {row['level']} (level {row['reached']} after this plan): {why}"
    for row in schedule["left_out"]:
        yield "not planned", row["reason"]
    if schedule["within_budget"] is False:
        yield "study hours of the whole path", schedule["budget"]["needed_hours"]
        yield "cost of the whole path", schedule["budget"]["needed_cost"]
    yield "study hours", schedule["study_hours"]
    yield "study hours a week", schedule["study_hours_per_week"]
    yield "coach hours", plan["coach_hours"]
    yield "assessment hours", plan["assessment_hours"]
    yield "cost", schedule["cost"]
    if schedule["booked_hours"] or schedule["booked_cost"]:
        yield "study hours of courses booked already, beside those", schedule["booked_hours"]
        yield "their cost", schedule["booked_cost"]
    for link in schedule["critical_links"]:
        yield "holds the finish", f"{snapshot.courses[link['course']].label}: {link['reason']}"
    if schedule["no_chain"]:
        yield "holds the finish", schedule["no_chain"]
    for row in plan["strands"]:
        usual = "" if row["rule_of_thumb"] is None else f" (rule of thumb {row['rule_of_thumb']:.0%}, weak evidence)"
        yield f"hours of {row['strand']} learning{usual}", row["study_hours"]
    for competency in now["assess_first"]:
        yield "assess first", snapshot.competencies[competency].label
    for remark in (*plan["remarks"], *schedule["remarks"]):
        yield "remark", remark


def _list_gap(snapshot: Snapshot, row: Plan) -> tuple[Cell, ...]:
    label = snapshot.competencies[row["competency"]].label
    have = "not assessed" if row["have"] is None else row["have"]
    day = _read_day(row["date"])
    return label, row["level"], have, row["gap"], row["necessity"], row["state"].replace("-", " "), row["source"], day


def _pair(plan: Plan) -> Iterator[tuple[Plan, Plan]]:
    yield from zip(plan["schedule"]["courses"], plan["steps"], strict=True)


def _list_course(snapshot: Snapshot, course: Plan, step: Plan) -> tuple[Cell, ...]:
    return (
        course["label"],
        step["strand"],
        date.fromisoformat(course["first_day"]),
        date.fromisoformat(course["last_day"]),
        course["study_hours"],
        course["hours_per_week"],
        course["coach_hours"],
        course["cost"],
        course["slack_days"],
        "yes" if course["is_critical"] else "no",
        ", ".join(snapshot.courses[i].label for i in course["waits_for"]),
        "yes" if course["is_booked"] else "no",
    )


def _list_outcome(step: Plan, row: Plan) -> tuple[Cell, ...]:
    level = f"{row['level']} ({row['level_label']})"
    return (
        step["label"],
        row["label"],
        level,
        row["practice"],
        row["assessed_by"],
        row["assessment"],
        row["assessment_hours"],
    )


def _list_follow_ups(plan: Plan) -> Iterator[tuple[Cell, ...]]:
    for step in plan["steps"]:
        for row in step["follow_ups"]:
            yield date.fromisoformat(row["day"]), row["months"], step["label"], ASKS[row["months"]]


def _list_lapse(snapshot: Snapshot, row: Plan) -> tuple[Cell, ...]:
    renewal = snapshot.courses[row["renewal"]].label if row["renewal"] else ""
    in_time = {True: "yes", False: "no", None: ""}[row["is_in_time"]]
    return (
        row["label"],
        date.fromisoformat(row["valid_until"]),
        renewal,
        _read_day(row["renewed_on"]),
        in_time,
        row["reason"],
    )


def _read_day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)
