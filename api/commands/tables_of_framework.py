"""Reach gains and the framework review as tables. Nothing is computed here."""

from __future__ import annotations

from rich.text import Text

from api.commands.console import (
    Answer,
    format_quantity,
    get_name,
    get_names,
    make_console,
    make_table,
    print_end,
)
from ontology.graph.snapshot import Snapshot


def show_reach_gains(snapshot: Snapshot, answer: Answer) -> None:
    """Print what widens the reach."""
    console = make_console()
    start = get_name(snapshot.people, answer["person"]) if "person" in answer else f"role {answer['from_role']}"
    reached = f"{answer['within_reach']} roles"
    console.print(Text(f"What widens the reach of {start}, {answer['on']}: {reached} within reach already"))
    table = make_table(
        "course", "hours with what it needs first", "brings within reach", right=("hours with what it needs first",)
    )
    for gain in answer["courses"]:
        table.add_row(
            Text(get_name(snapshot.courses, gain["id"])),
            format_quantity(gain["study_hours"]),
            Text(get_names(snapshot.roles, [role["id"] for role in gain["gained"]])),
        )
    console.print(table)
    table = make_table("competency", "have", "level", "brings within reach", right=("have", "level"))
    for gain in answer["levels"]:
        table.add_row(
            Text(get_name(snapshot.competencies, gain["competency"])),
            str(gain["have"]),
            str(gain["level"]),
            Text(get_names(snapshot.roles, [role["id"] for role in gain["gained"]])),
        )
    console.print(table)
    print_end(console, answer)


def show_framework_review(snapshot: Snapshot, answer: Answer) -> None:
    """Print what stands out in the framework."""
    console = make_console()
    size = f"{answer['roles']} roles, {answer['moves']} moves within reach between them"
    console.print(Text(f"The framework on {answer['on']}: {size}"))
    table = make_table("what stands out", "where", "why or what follows")
    for title, key in (("role nobody reaches", "unreachable_roles"), ("dead end", "dead_ends")):
        for row in answer[key]:
            why = "most often missing: " + get_names(snapshot.competencies, row["held_back_by"])
            table.add_row(title, Text(row["label"]), Text(why))
    for row in answer["untaught_levels"]:
        name = get_name(snapshot.competencies, row["competency"])
        title = "level left to the job" if row["learned_on_job"] else "level no course reaches"
        table.add_row(title, Text(f"{name} at level {row['level']}"), Text(row["reason"]))
    for row in answer["high_entry_levels"]:
        name = get_name(snapshot.competencies, row["competency"])
        where = f"{name} at level {row['level']} for {get_name(snapshot.roles, row['role'])}"
        stones = get_names(snapshot.roles, row["stepping_stones"])
        table.add_row("entry level at full level", Text(where), Text(f"at {row['lowered_to']} it opens to: {stones}"))
    for row in answer["unused_courses"]:
        table.add_row("course no cheapest path uses", Text(row["label"]), "no role is reached with fewer hours by it")
    console.print(table)
    table = make_table("competencies that hold most routes up", "betweenness", "moves", right=("betweenness", "moves"))
    for row in answer["pivotal_competencies"][:10]:
        table.add_row(Text(row["label"]), f"{row['betweenness']:.3f}", str(row["moves"]))
    console.print(table)
    print_end(console, answer)
