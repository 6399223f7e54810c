"""The learning path as tables that a person likes to read.

Nothing is computed here; the words are those of the JSON answers.
"""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from api.commands.console import (
    Answer,
    explain_status,
    format_quantity,
    get_name,
    get_names,
    get_subject,
    make_console,
    make_table,
    print_end,
    print_unreachable,
)
from ontology.graph.snapshot import Snapshot

__all__ = ["show_learning_path"]


def show_learning_path(snapshot: Snapshot, answer: Answer) -> None:
    """Print a learning path."""
    console = make_console()
    console.print(Text(f"{get_subject(snapshot, answer)} → {get_name(snapshot.roles, answer['role'])}, {answer['on']}"))
    console.print(
        Text(
            f"Status: {explain_status(answer['status'])}. Study: {format_quantity(answer['study_hours'], 'h')}. "
            f"Cost: {format_quantity(answer['cost'])}. Courses: {len(answer['courses'])}."
        )
    )
    console.print(
        Text(
            f"Coaches: {format_quantity(answer['coach_hours'], 'h')}. Months: {format_quantity(answer['months'])}. "
            f"Readiness: {_format_share(answer['readiness_before'])} before, "
            f"{_format_share(answer['readiness_after'])} after{_tell_last_day(answer)}."
        )
    )
    _print_budget(console, answer)
    _print_assess_first(console, snapshot, answer)
    _print_courses(console, snapshot, answer)
    for row in answer["requirements"]:
        if row["state"] == "beyond-budget":
            label = get_name(snapshot.competencies, row["competency"])
            console.print(
                Text(f"Beyond the budget: {label} at level {row['level']}; level {row['reached']} is reached.")
            )
        if row["state"] == "lapses":
            label = get_name(snapshot.competencies, row["competency"])
            console.print(Text(f"Not held on the last day: {label} at level {row['level']}, {row['necessity']}."))
    print_unreachable(console, snapshot, answer["unreachable"])
    for lapse in answer["lapses"]:
        label = get_name(snapshot.competencies, lapse["competency"])
        renewals = get_names(snapshot.courses, lapse["renewed_by"])
        told = f"renewed by: {renewals}" if renewals else "no course renews it from the levels held now"
        console.print(Text(f"Expires on the way: {label}, valid until {lapse['valid_until']}; {told}."))
    _print_alternatives(console, snapshot, answer)
    print_end(console, answer)


def _tell_last_day(answer: Answer) -> str:
    return f", on {answer['last_day']}" if answer["courses"] and answer["last_day"] else ""


def _format_share(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"


def _print_budget(console: Console, answer: Answer) -> None:
    budget = answer["budget"]
    if budget is None:
        return
    limits = [
        f"{format_quantity(budget[name])} {word}"
        for name, word in (("max_hours", "h"), ("max_cost", "of cost"))
        if budget[name] is not None
    ]
    needed = f"{format_quantity(budget['needed_hours'], 'h')} and {format_quantity(budget['needed_cost'])} of cost"
    if answer["within_budget"]:
        console.print(Text(f"Within the budget of {' and '.join(limits)}."))
    else:
        console.print(
            Text(
                f"The budget of {' and '.join(limits)} does not pay for the whole path ({needed}). Shown is the "
                f"largest readiness it buys (none buys more than {_format_share(budget['readiness_bound'])})."
            )
        )


def _print_assess_first(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    if not answer["assess_first"]:
        return
    console.print(Text(f"Assess first: {get_names(snapshot.competencies, answer['assess_first'])}."))
    for row in answer["assess_savings"]:
        if row["saved_hours"]:
            label = get_name(snapshot.competencies, row["competency"])
            takes = row["assessment_hours"]
            words = "" if takes is None else f", an assessment takes {format_quantity(takes, 'h')}"
            saved = format_quantity(row["saved_hours"], "h")
            console.print(Text(f"  {label} confirmed at level {row['level']} would save {saved}{words}."))


def _print_courses(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    rows = {row["id"]: row for row in (*answer["courses"], *answer["booked"])}
    if rows:
        table = make_table(
            "#", "course", "study h", "coach h", "cost", "serves", right=("#", "study h", "coach h", "cost")
        )
        booked = {row["id"] for row in answer["booked"]}
        waiting = [row["id"] for row in answer["booked"] if not row["is_possible"]]
        for number, course_id in enumerate([*answer["order"], *waiting], start=1):
            course = rows[course_id]
            mark = " (booked)" if course_id in booked else ""
            table.add_row(
                "–" if course_id in waiting else str(number),
                Text(get_name(snapshot.courses, course_id) + mark),
                format_quantity(course["study_hours"]),
                format_quantity(course["coach_hours"]),
                format_quantity(course["cost"]),
                Text(get_names(snapshot.competencies, course["serves"])),
            )
        console.print(table)
    if answer["booked"]:
        hours, cost = format_quantity(answer["booked_hours"], "h"), format_quantity(answer["booked_cost"])
        console.print(Text(f"Booked already, not counted above: {hours}, cost {cost}."))


def _print_alternatives(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    alternatives = answer["alternatives"] or ()
    if alternatives:
        right = ("h more", "cost more", "weeks more")
        table = make_table("instead of", "other courses", *right, "proved", right=right)
        for row in alternatives:
            table.add_row(
                Text(get_names(snapshot.courses, row["left_out"])),
                Text(get_names(snapshot.courses, row["added"])),
                f"{row['more_hours']:+,.1f}".removesuffix(".0"),
                f"{row['more_cost']:+,.1f}".removesuffix(".0"),
                f"{row['more_weeks']:+,.1f}".removesuffix(".0"),
                "yes" if row["is_proved"] else "no",
            )
        console.print(table)
    if answer["indispensable"]:
        names = get_names(snapshot.courses, answer["indispensable"])
        console.print(Text(f"No path does without: {names}."))
