"""What a calendar picture says in words: its title, one sentence, everything it shows. Imports calendar_axis, text."""

from __future__ import annotations

from collections import Counter

from api.pictures.calendar_axis import format_day, format_span
from api.pictures.names import Names
from api.pictures.path_words import get_start_name
from api.pictures.text import TIE, format_count, format_number
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.schedule.renewals import Lapsing
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.analysis.schedule.schedule_result import ScheduledCourse
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "build_answer",
    "build_description",
    "build_title",
    "describe_lapsing",
    "describe_marks",
    "describe_start",
]


def build_title(snapshot: Snapshot, profile: Profile, result: ScheduleResult) -> str:
    """Return who goes where."""
    target = Names(snapshot).role(result.role) if result.role in snapshot.roles else "target levels"
    return f"Calendar of {get_start_name(Names(snapshot), profile)} to {target}"


def build_answer(result: ScheduleResult) -> str:
    """Return how much it is, from when to when, and how good."""
    missing = _tell_missing(result)
    if result.finish is None:
        return " ".join(["Nothing to do." if result.status == "nothing-to-do" else "No course leads on.", *missing])
    booked = sum(course.is_booked for course in result.courses)
    more = f" (and {format_number(result.booked_hours)}{TIE}h booked already)" if booked else ""
    is_proved = result.finish == result.lower_bound
    told = [
        f"{format_count(len(result.courses), 'course')}, {format_number(result.study_hours)}{TIE}h of study{more} at "
        f"{format_number(result.study_hours_per_week)}{TIE}h a week, at most {result.at_once} at once.",
        f"From {format_day(result.start)} to {format_day(result.finish)}",
        "(no order of these courses ends earlier)."
        if is_proved
        else f"(earliest possible finish {format_day(result.lower_bound or result.start)}).",
    ]
    return " ".join([*told, *missing])


def _tell_missing(result: ScheduleResult) -> list[str]:
    """Return plainly that the target is not reached, where it is not."""
    if result.is_target_reached:
        return []
    states = Counter(item.state for item in result.missing)
    counts = {
        "beyond the budget": states["beyond-budget"],
        "no courses lead to": len(result.unreachable),
        "expired on the last day": states["lapses"],
        "whose courses would end too late": states["left-out"],
    }
    parts = [f"{format_count(count, 'level')} {words}" for words, count in counts.items() if count]
    told = f"The target is not reached: {', '.join(parts)}"
    if result.readiness_before is not None and result.readiness_after is not None:
        told += f"; readiness {result.readiness_before:.2f} before, {result.readiness_after:.2f} after (0 to 1)"
    return [f"{told}."]


def describe_start(course: ScheduledCourse) -> str:
    """Return by how much a course can start later."""
    return "none" if course.is_critical else format_count(course.slack_days, "day")


def describe_marks(course: ScheduledCourse) -> str:
    """Return what is special about a course."""
    marks = {"critical": course.is_critical, "renewal": course.is_renewal, "booked": course.is_booked}
    return ", ".join(word for word, is_so in marks.items() if is_so)


def describe_lapsing(lapsing: Lapsing) -> str:
    """Return the last day of a certificate, and whether it is renewed."""
    told = f"last day {format_day(lapsing.valid_until)}"
    if lapsing.renewal is None:
        return f"{told}, not renewed"
    if lapsing.renewed_on is None:
        return told
    return f"{told}, renewed {format_day(lapsing.renewed_on)}{'' if lapsing.is_in_time else ': too late'}"


def build_description(result: ScheduleResult) -> str:
    """Return every row of the picture in words."""
    parts = [build_answer(result)]
    for number, course in enumerate(result.courses, start=1):
        marks = describe_marks(course)
        later = "" if course.is_critical else f", can start later by {describe_start(course)}"
        parts.append(
            f"{number}. {course.label}, {format_span(course.first_day, course.last_day)}, "
            f"{format_number(course.study_hours)}{TIE}h{later}{f' ({marks})' if marks else ''}."
        )
    labels = {course.id: course.label for course in result.courses}
    parts.extend(f"What holds the finish: {labels[link.course]}: {link.reason}" for link in result.critical_links)
    parts.extend(f"{lapsing.label}: {describe_lapsing(lapsing)}." for lapsing in result.lapsing)
    if result.no_chain:
        parts.append(result.no_chain)
    return " ".join(parts)
