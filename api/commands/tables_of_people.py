"""Gap, routes, reachable and similar roles as tables that a person likes to read.

Nothing is computed here; the words are those of the JSON answers.
"""

from __future__ import annotations

from typing import Final

from rich.text import Text

from api.commands.console import (
    Answer,
    explain_status,
    format_quantity,
    format_word,
    get_name,
    get_names,
    get_subject,
    make_console,
    make_table,
    print_end,
    print_unreachable,
)
from ontology.graph.snapshot import Snapshot

#: Further routes printed below the best ones; the JSON answer holds more.
FURTHER_ROUTES: Final = 3


def show_gap(snapshot: Snapshot, answer: Answer) -> None:
    """Print a gap."""
    console = make_console()
    readiness = answer["readiness"]
    console.print(Text(f"{get_subject(snapshot, answer)} → {get_name(snapshot.roles, answer['role'])}, {answer['on']}"))
    console.print(
        Text(
            f"Blocking unmet: {answer['blocking_unmet']}. Essential met: {answer['essential_met']} of "
            f"{answer['essential_total']}. Standing: {answer['standing'].replace('-', ' ')}. Readiness: "
            f"{'–' if readiness is None else f'{readiness:.2f}'}."
        )
    )
    if answer["assess_first"]:
        console.print(Text(f"Assess first: {get_names(snapshot.competencies, answer['assess_first'])}."))
    right = ("asked", "has", "declared", "gap", "weight", "days old")
    table = make_table(
        "competency",
        "asked",
        "has",
        "declared",
        "gap",
        "necessity",
        "weight",
        "state",
        "source",
        "days old",
        right=right,
    )
    for row in answer["gaps"]:
        table.add_row(
            Text(get_name(snapshot.competencies, row["competency"])),
            str(row["level"]),
            "–" if row["have"] is None else str(row["have"]),
            "" if row["declared"] is None else str(row["declared"]),
            str(row["gap"]),
            row["necessity"],
            format_quantity(row["weight"]),
            format_word(row["state"]),
            row["source"] or "",
            "" if row["age_days"] is None else str(row["age_days"]),
        )
    console.print(table)
    print_end(console, answer)


def show_routes(snapshot: Snapshot, answer: Answer) -> None:
    """Print routes."""
    console = make_console()
    console.print(Text(f"{get_subject(snapshot, answer)} → {get_name(snapshot.roles, answer['role'])}, {answer['on']}"))
    status = "no route within the limits" if answer["status"] == "unreachable" else explain_status(answer["status"])
    console.print(Text(f"Status: {status}."))
    table = make_table("why shown", "moves into", "study h", "months", "cost", right=("study h", "months", "cost"))
    best, seen = answer["best"], []
    shown = [route for route in (*best.values(), *answer["trade_off"]) if route is not None]
    further = [route for route in answer["other_routes"] if route not in shown]
    for route in (*shown, *further[:FURTHER_ROUTES]):
        if route in seen:
            continue
        seen.append(route)
        reasons = [f"least {aim.replace('_', ' ')}" for aim, other in best.items() if other == route]
        if not reasons:
            reasons = ["trade-off"] if route in answer["trade_off"] else ["another route"]
        table.add_row(
            Text(", ".join(reasons)),
            Text(" → ".join(get_name(snapshot.roles, role) for role in route["roles"])),
            format_quantity(route["study_hours"]),
            format_quantity(route["months"]),
            format_quantity(route["cost"]),
        )
    direct = answer["direct"]
    table.add_row(
        "direct move",
        Text(get_name(snapshot.roles, answer["role"])),
        format_quantity(direct["study_hours"]),
        format_quantity(direct["months"]),
        format_quantity(direct["cost"]),
    )
    console.print(table)
    if len(further) > FURTHER_ROUTES:
        console.print(Text(f"{len(further) - FURTHER_ROUTES} further routes stand in the answer with --json."))
    if not direct["within_reach"]:
        for limit in direct["broken_limits"]:
            what = "study hours before the move" if limit["limit"] == "preparation" else "levels above the profile"
            where = f" in {get_name(snapshot.competencies, limit['competency'])}" if limit["competency"] else ""
            console.print(
                Text(
                    f"The direct move is out of reach: {format_quantity(limit['needed'])} {what}{where}, "
                    f"at most {format_quantity(limit['allowed'])}."
                )
            )
    print_unreachable(console, snapshot, direct["unreachable"])
    for route in seen[:1]:
        console.print(Text("The first of these, move by move:"))
        for move in route["moves"]:
            courses = get_names(snapshot.courses, move["courses"])
            console.print(
                Text(
                    f"  {get_name(snapshot.roles, move['role'])}: {format_quantity(move['study_hours'], 'h')}, "
                    f"{format_quantity(move['months'], 'months')}: {courses}"
                )
            )
    print_end(console, answer)


def show_reachable_roles(snapshot: Snapshot, answer: Answer) -> None:
    """Print the roles one move away."""
    console = make_console()
    console.print(Text(f"One move from {get_subject(snapshot, answer)}, {answer['on']}"))
    table = make_table("role", "within reach", "study h", "months", "standing", right=("study h", "months"))
    for role in answer["roles"]:
        table.add_row(
            Text(role["label"]),
            "yes" if role["within_reach"] else "no",
            format_quantity(role["study_hours"]),
            format_quantity(role["months"]),
            role["standing"].replace("-", " "),
        )
    console.print(table)
    print_end(console, answer)


def show_similar(snapshot: Snapshot, answer: Answer) -> None:
    """Print similar roles."""
    console = make_console()
    table = make_table("role", "id", "similarity", right=("similarity",))
    for role in answer["roles"]:
        table.add_row(Text(role["label"]), role["id"], f"{role['similarity']:.3f}")
    console.print(table)
    print_end(console, answer)
