"""Schedules and development plans as tables that a person likes to read.

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


def show_schedule(snapshot: Snapshot, answer: Answer) -> None:
    """Print a schedule."""
    console = make_console()
    console.print(Text(f"{get_subject(snapshot, answer)} → {get_name(snapshot.roles, answer['role'])}, {answer['on']}"))
    _print_calendar(console, snapshot, answer)
    print_end(console, answer)


def _print_calendar(console: Console, snapshot: Snapshot, schedule: Answer) -> None:
    status = "no earlier finish among these courses" if schedule["status"] == "optimal" else None
    console.print(Text(f"Status: {status or explain_status(schedule['status'])}."))
    _print_missing(console, snapshot, schedule)
    if schedule["finish"] is None:
        return
    console.print(
        Text(
            f"From {schedule['start']} to {schedule['finish']} (not before {schedule['lower_bound']}): "
            f"{format_quantity(schedule['study_hours'], 'h')} at "
            f"{format_quantity(schedule['study_hours_per_week'], 'h')} a week, at most {schedule['at_once']} at once."
        )
    )
    numbers = {course["id"]: str(number) for number, course in enumerate(schedule["courses"], start=1)}
    right = ("#", "h", "h/week", "slack d")
    table = make_table("#", "course", "first day", "last day", "h", "h/week", "slack d", "", "after", right=right)
    for number, course in enumerate(schedule["courses"], start=1):
        marks = [mark for mark in ("critical", "renewal", "booked") if course[f"is_{mark}"]]
        table.add_row(
            str(number),
            Text(course["label"]),
            course["first_day"],
            course["last_day"],
            format_quantity(course["study_hours"]),
            format_quantity(course["hours_per_week"]),
            str(course["slack_days"]),
            ", ".join(marks),
            ", ".join(numbers[i] for i in course["waits_for"]),
        )
    console.print(table)
    if schedule["booked_hours"] or schedule["booked_cost"]:
        hours, cost = format_quantity(schedule["booked_hours"], "h"), format_quantity(schedule["booked_cost"])
        console.print(Text(f"Booked already, in the calendar but not counted above: {hours}, cost {cost}."))
    if len(schedule["critical_chain"]) > 1:
        console.print(Text("What holds the finish, one after the other:"))
        for link in schedule["critical_links"]:
            console.print(
                Text(f"  {numbers[link['course']]} {get_name(snapshot.courses, link['course'])}: {link['reason']}")
            )
    elif schedule["no_chain"]:
        console.print(Text(schedule["no_chain"]))
    for row in schedule["lapsing"]:
        told = (
            f"renewed by {get_name(snapshot.courses, row['renewal'])} on {row['renewed_on']}" if row["renewal"] else ""
        )
        words = " ".join(filter(None, (f"{told}." if told else "", row["reason"])))
        console.print(Text(f"Expires during the plan: {row['label']}, last day {row['valid_until']}: {words}"))
    print_unreachable(console, snapshot, schedule["unreachable"])


def _print_missing(console: Console, snapshot: Snapshot, schedule: Answer) -> None:
    """Print plainly that the target is not reached, and what stays missing."""
    if schedule["is_target_reached"]:
        return
    before, after = (
        "–" if schedule[name] is None else f"{schedule[name]:.2f}" for name in ("readiness_before", "readiness_after")
    )
    console.print(Text(f"The target is not reached: readiness {before} before, {after} after this plan."))
    budget = schedule["budget"]
    if schedule["within_budget"] is False:
        hours, cost = format_quantity(budget["needed_hours"], "h"), format_quantity(budget["needed_cost"])
        console.print(Text(f"The budget does not pay for the whole path: that takes {hours} and {cost} of cost."))
    for row in schedule["missing"]:
        if row["state"] == "beyond-budget":
            label = get_name(snapshot.competencies, row["competency"])
            console.print(
                Text(f"Beyond the budget: {label} at level {row['level']}; level {row['reached']} is reached.")
            )
        if row["state"] in ("lapses", "left-out"):
            label = get_name(snapshot.competencies, row["competency"])
            console.print(Text(f"Not held on the last day: {label} at level {row['level']}, {row['necessity']}."))


def show_development_plan(snapshot: Snapshot, answer: Answer) -> None:
    """Print a development plan."""
    console = make_console()
    now = answer["now"]
    console.print(Text(f"Development plan of {get_subject(snapshot, answer)}: {answer['role_label']}, {answer['on']}"))
    console.print(
        Text(
            f"Standing: {now['standing'].replace('-', ' ')}. Blocking unmet: {now['blocking_unmet']}. "
            f"Essential met: {now['essential_met']} of {now['essential_total']}. "
            f"Readiness: {'–' if now['readiness'] is None else format(now['readiness'], '.2f')}."
        )
    )
    if now["assess_first"]:
        console.print(Text(f"Assess first: {get_names(snapshot.competencies, now['assess_first'])}."))
    if answer["routes"] is not None and not answer["routes"]["within_reach"]:
        best = answer["routes"]["best"]
        way = " → ".join(get_name(snapshot.roles, i) for i in best["roles"]) if best else "none within the limits"
        console.print(Text(f"The direct move breaks a limit; a way in steps: {way}."))
    _print_calendar(console, snapshot, answer["schedule"])
    if answer["steps"]:
        table = make_table("kind of learning", "h", "share", "rule of thumb", right=("h", "share", "rule of thumb"))
        for row in answer["strands"]:
            shares = ["–" if row[name] is None else f"{row[name]:.0%}" for name in ("share", "rule_of_thumb")]
            table.add_row(row["strand"], format_quantity(row["study_hours"]), *shares)
        console.print(table)
        console.print(Text("70:20:10 is common practice with weak evidence: no target.", style="dim"))
        table = make_table("after the course", "practise, confirm", "follow up")
        for step in answer["steps"]:
            told = [
                f"{row['label']} {row['level']}: {row['practice']} Confirmed by {row['assessed_by']}."
                for row in step["outcomes"]
            ]
            days = "\n".join(row["day"] for row in step["follow_ups"])
            table.add_row(Text(step["label"]), Text("\n".join(told) or "–"), days)
        console.print(table)
    for remark in answer["schedule"]["remarks"]:
        console.print(Text(f"Remark: {remark}"))
    print_end(console, answer)
