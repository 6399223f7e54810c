"""A cross-training plan as tables that a person likes to read.

Nothing is computed here; the words are those of the JSON answers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from rich.console import Console
from rich.text import Text

from api.commands.console import (
    Answer,
    explain_status,
    format_quantity,
    get_name,
    get_names,
    get_place_name,
    get_place_names,
    make_console,
    make_table,
    print_end,
)
from api.services.training_chart import describe_lapse
from ontology.graph.snapshot import Snapshot


def show_cross_training(snapshot: Snapshot, answer: Answer) -> None:
    """Print a cross-training plan."""
    console = make_console()
    console.print(
        Text(
            f"Cross-training of {get_name(snapshot.teams, answer['team'])}, {answer['on']}. Status: "
            f"{explain_status(answer['status'])}. Study: {format_quantity(answer['study_hours'], 'h')}, "
            f"coaching: {format_quantity(answer['coach_hours'], 'h')}, most for one person: "
            f"{format_quantity(answer['largest_load'], 'h')}."
        )
    )
    if answer["plan"]:
        table = make_table("person", "learns", "to level", "by", "hours", "done on", right=("to level", "hours"))
        for row in answer["plan"]:
            table.add_row(
                Text(get_name(snapshot.people, row["person"])),
                Text(get_name(snapshot.competencies, row["competency"])),
                str(row["level"]),
                Text(get_names(snapshot.courses, row["courses"])),
                format_quantity(row["study_hours"], "h"),
                row["finished_on"],
            )
        console.print(table)
        _print_coaches(console, snapshot, answer)
        _print_months(console, snapshot, answer)
        _print_after(console, snapshot, answer)
    for row in answer["unmet"]:
        console.print(Text(f"{_describe_unmet(snapshot, row)}: {row['reason']}"))
    for row in answer["unmet_places"]:
        places = get_place_names(snapshot, row["places"])
        console.print(Text(f"Not met: places {places}, {row['missing']} missing: {row['reason']}"))
    print_end(console, answer)


def _describe_unmet(snapshot: Snapshot, row: Mapping[str, Any]) -> str:
    """Return how many people a need lacks, or how many slots stay empty."""
    slots = "1 empty slot" if row["missing"] == 1 else f"{row['missing']} empty slots"
    if row["kind"] == "place":
        return f"Not filled: {get_place_name(snapshot, row['place'])}, {slots}"
    label = f"{get_name(snapshot.competencies, row['competency'])} at level {row['level']}"
    if row["kind"] == "together":
        return f"Not filled: {label} (group {row['together']}), {slots}"
    return f"Not met: {label}, {row['missing']} missing"


#: A terminal is narrow: so many people stand side by side, the next below them.
_PEOPLE_ACROSS: Final = 4


def show_training_timetable(snapshot: Snapshot, answer: Answer) -> None:
    """Print the chart; a column for each person."""
    console = make_console()
    console.print(
        Text(
            f"Training timetable of {get_name(snapshot.teams, answer['team'])}, {answer['on']}. Plan: "
            f"{explain_status(answer['status'])}, {format_quantity(answer['study_hours'], 'h')} of study. "
            f"After the plan: {answer['after_on']}."
        )
    )
    for first in range(0, max(1, len(answer["people"])), _PEOPLE_ACROSS):
        across = slice(first, first + _PEOPLE_ACROSS)
        names = [_describe_person(person) for person in answer["people"][across]]
        table = make_table("needed", "wanted", "now", "after", *names, right=("wanted", "now", "after"))
        for row in answer["rows"]:
            table.add_row(
                Text(_describe_row(snapshot, row)),
                *(str(row[name]) for name in ("wanted", "holders", "holders_planned")),
                *(_describe_cell(cell) for cell in row["cells"][across]),
            )
        console.print(table)
    _print_after(console, snapshot, answer)
    print_end(console, answer)


def _describe_person(person: Mapping[str, Any]) -> str:
    if person["starts_on"]:
        return f"{person['name']}, from {person['starts_on']}"
    return f"{person['name']}, to {person['ends_on']}" if person["ends_on"] else str(person["name"])


def _print_after(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    """Print what of the team on the day after the plan its plan does not tell: what is short, empty or lapses."""
    after = answer["after"]
    for need in after["needs"]:
        for scope in [row for row in need["shifts"] if row["state"] == "short"] or [need]:
            if scope["state"] == "short":
                label = f"{get_name(snapshot.competencies, need['competency'])} at level {need['level']}"
                where = f" in {get_name(snapshot.shifts, scope['shift'])}" if scope["shift"] else ""
                console.print(Text(f"Short on {after['on']}: {label}{where}, {scope['depth']} of {need['minimum']}."))
    if after["unfilled"]:
        names = "; ".join(get_place_name(snapshot, place) for place in after["unfilled"])
        console.print(Text(f"Empty on {after['on']}: {names}."))
    for row in after["unfilled_needs"]:
        label = get_name(snapshot.competencies, row["competency"])
        console.print(Text(f"Empty on {after['on']}: {row['slots']} of group {row['together']} for {label}."))
    for row in after["lapses"]:
        console.print(Text(describe_lapse(snapshot, row)))


def _describe_row(snapshot: Snapshot, row: Mapping[str, Any]) -> str:
    if row["role"]:
        what = get_name(snapshot.roles, row["role"])
    else:
        what = f"{get_name(snapshot.competencies, row['competency'])} at level {row['level']}"
    return what + (f", {get_name(snapshot.shifts, row['shift'])}" if row["shift"] else "")


def _describe_cell(cell: Mapping[str, Any]) -> str:
    if cell["state"] == "holds":
        return "holds" if cell["until"] is None else f"holds, to {cell['until']}"
    if cell["state"] == "due":
        return f"by {cell['due']}"
    if cell["state"] == "later":
        return f"holds, from {cell['due']}"
    return "not planned" if cell["state"] == "not-planned" else "other shift"


def _print_coaches(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    """Print who could coach each coached course, once for a person and course."""
    rows: dict[tuple[str, str], Mapping[str, Any]] = {}
    for line in answer["plan"]:
        for coaching in line["coaching"]:
            rows[line["person"], coaching["course"]] = coaching
    for (person, course), coaching in rows.items():
        hours = format_quantity(coaching["coach_hours"], "h")
        who = f"Coaching {get_name(snapshot.people, person)} in {get_name(snapshot.courses, course)} ({hours})"
        console.print(Text(f"{who}: {_describe_coaches(snapshot, coaching)}."))


def _describe_coaches(snapshot: Snapshot, coaching: Mapping[str, Any]) -> str:
    """Return who could coach a course, by outcome where nobody could coach all of it."""
    if coaching["people"]:
        return get_names(snapshot.people, coaching["people"])
    told = []
    for row in coaching["outcomes"]:
        people = get_names(snapshot.people, row["people"]) if row["people"] else "nobody in these teams can coach it"
        label = get_name(snapshot.competencies, row["competency"])
        told.append(f"{label} at level {row['level']}, {format_quantity(row['coach_hours'], 'h')}: {people}")
    return "; ".join(told)


def _print_months(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    table = make_table("month", "person", "courses", "planned", "available", right=("planned", "available"))
    for row in answer["timetable"]:
        table.add_row(
            row["month"],
            Text(get_name(snapshot.people, row["person"])),
            Text(get_names(snapshot.courses, row["courses"])),
            format_quantity(row["study_hours"], "h"),
            format_quantity(row["hours_free"], "h"),
        )
    if answer["timetable"]:
        console.print(table)
