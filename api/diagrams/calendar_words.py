"""What a calendar picture says in words: its title, one sentence, everything it shows. Imports calendar_axis, text."""

from __future__ import annotations

from api.diagrams.calendar_axis import format_day, format_span
from api.diagrams.start import get_start_name
from api.diagrams.text import format_count, format_number
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.graph.snapshot import Snapshot

__all__ = ["build_description", "build_subtitle", "build_title"]


def build_title(snapshot: Snapshot, profile: Profile, result: ScheduleResult) -> str:
    """Return who goes where."""
    target = snapshot.roles[result.role].label if result.role in snapshot.roles else "target levels"
    return f"Calendar of {get_start_name(snapshot, profile)} to {target}"


def build_subtitle(result: ScheduleResult) -> str:
    """Return how much it is, from when to when, and how good."""
    missing = _tell_missing(result)
    if result.finish is None:
        return " ".join(["Nothing to do." if result.status == "nothing-to-do" else "No course leads on.", *missing])
    booked = sum(course.is_booked for course in result.courses)
    more = f" (and {format_number(result.booked_hours)} h booked already)" if booked else ""
    is_proved = result.finish == result.lower_bound
    words = [
        f"{format_count(len(result.courses), 'course')}, {format_number(result.study_hours)} h of study{more} at "
        f"{format_number(result.study_hours_per_week)} h a week, at most {result.at_once} at once.",
        f"From {format_day(result.start)} to {format_day(result.finish)}",
        "(no order of these courses ends earlier)."
        if is_proved
        else f"(no order ends before {format_day(result.lower_bound or result.start)}; an earlier finish may exist).",
    ]
    return " ".join([*words, *missing])


def _tell_missing(result: ScheduleResult) -> list[str]:
    """Return plainly that the target is not reached, where it is not."""
    if result.is_target_reached:
        return []
    if result.within_budget is not False:
        return [f"The target is not reached: {format_count(len(result.unreachable), 'level')} no courses lead to."]
    left = sum(row.state == "beyond-budget" for row in result.missing)
    words = f"The target is not reached: {format_count(left, 'level')} beyond the budget"
    if result.unreachable:
        words += f", {len(result.unreachable)} no courses lead to"
    if result.readiness_before is not None and result.readiness_after is not None:
        words += f"; readiness {result.readiness_before:.2f} before, {result.readiness_after:.2f} after"
    return [f"{words}."]


def build_description(result: ScheduleResult) -> str:
    """Return every row of the picture in words."""
    parts = [build_subtitle(result)]
    for number, course in enumerate(result.courses, start=1):
        slack = "critical" if course.is_critical else f"slack {course.slack_days} days"
        kind = (" (renewal)" if course.is_renewal else "") + (" (booked already)" if course.is_booked else "")
        parts.append(
            f"{number}. {course.label}{kind}, {format_span(course.first_day, course.last_day)}, "
            f"{format_number(course.study_hours)} h, {slack}."
        )
    labels = {course.id: course.label for course in result.courses}
    parts.extend(f"What holds the finish: {labels[link.course]}: {link.reason}" for link in result.critical_links)
    parts.extend(f"{row.label} lapses after {format_day(row.valid_until)}." for row in result.lapsing)
    if result.no_chain:
        parts.append(result.no_chain)
    if result.holidays:
        parts.append(f"Days without study: {', '.join(format_day(day) for day in result.holidays)}.")
    return " ".join(parts)
