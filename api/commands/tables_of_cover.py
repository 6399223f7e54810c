"""Stand-ins, fragile needs, headcount and the company's cover as tables that a person likes to read.

Nothing is computed here; the words are those of the JSON answers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from api.commands.console import (
    Answer,
    format_quantity,
    format_word,
    get_name,
    get_names,
    get_place_name,
    make_console,
    make_table,
    print_end,
)
from api.commands.cover_words import describe_fallen, describe_need, describe_shift, print_status
from ontology.graph.snapshot import Snapshot


def show_stand_ins(snapshot: Snapshot, answer: Answer) -> None:
    """Print who can stand in."""
    console = make_console()
    whom = (
        get_name(snapshot.people, answer["person"])
        if answer["person"]
        else get_name(snapshot.competencies, answer["competency"])
    )
    console.print(Text(f"Stand-ins for {whom}, {get_name(snapshot.teams, answer['team'])}, {answer['on']}"))
    for row in answer["needs"]:
        short = "short" if row["is_short_without"] else "still met"
        console.print(
            Text(
                f"{describe_need(snapshot, row)}: depth {row['depth']}, needed {row['minimum']}; without: "
                f"{row['depth_without']} ({short})"
            )
        )
        _print_stand_ins(console, snapshot, row)
        _print_lending(console, snapshot, row)
    for row in answer["places"]:
        empty = "one slot more stays empty without" if row["is_empty_without"] else "can still be filled without"
        console.print(Text(f"Place {get_place_name(snapshot, row['place'])}: {empty}"))
        _print_stand_ins(console, snapshot, row)
        _print_lending(console, snapshot, row)
    if not answer["needs"] and not answer["places"]:
        console.print(Text("Nothing the team needs hangs on this."))
    print_end(console, answer)


def _print_stand_ins(console: Console, snapshot: Snapshot, row: Mapping[str, Any]) -> None:
    if not row["stand_ins"]:
        console.print(Text("  nobody"))
        return
    table = make_table("person", "team", "shift", "counts now", "rests on", "leaves behind")
    for person in row["stand_ins"]:
        table.add_row(
            Text(get_name(snapshot.people, person["person"])),
            Text(get_name(snapshot.teams, person["team"])),
            Text(describe_shift(snapshot, person["shift"]) + (", another shift" if person["is_other_shift"] else "")),
            "same slot" if person["is_same_slot"] else "yes" if person["counts_already"] else "–",
            _describe_levels(person["levels"]),
            Text(describe_fallen(snapshot, person, "leaves_")),
        )
    console.print(table)
    if row["found"] > len(row["stand_ins"]):
        console.print(Text(f"  and {row['found'] - len(row['stand_ins'])} more"))


def _print_lending(console: Console, snapshot: Snapshot, row: Mapping[str, Any]) -> None:
    for team in row["lending"]:
        name, lent = get_name(snapshot.teams, team["team"]), team["could_be_lent"]
        whom = f": {get_names(snapshot.people, lent)}" if lent else ""
        console.print(Text(f"  {name}: {len(lent)} of {team['qualified']} could be lent{whom}"))


def _describe_levels(levels: Sequence[Mapping[str, Any]]) -> str:
    if len(levels) == 1:
        return f"level {levels[0]['have']}, {levels[0]['source']} {levels[0]['assessed_on']}"
    if not levels:
        return "–"
    return f"{len(levels)} levels, seen since {min(level['assessed_on'] for level in levels)}"


def show_fragile_needs(snapshot: Snapshot, answer: Answer) -> None:
    """Print the needs in their order."""
    console = make_console()
    print_status(console, answer)
    console.print(Text(f"Needs of {get_name(snapshot.teams, answer['team'])}, {answer['on']}, the most fragile first"))
    table = make_table(
        "need", "crit", "depth", "min", "state", "chance", "next best person", right=("crit", "depth", "min", "chance")
    )
    for need in answer["needs"]:
        best = need["next_best"]
        table.add_row(
            Text(describe_need(snapshot, need)),
            str(need["criticality"]),
            str(need["depth"]),
            str(need["minimum"]),
            format_word(need["state"]),
            "–" if need["chance"] is None else f"{need['chance']:.4f}",
            Text(
                str(need["reason"])
                if best is None
                else f"{get_name(snapshot.people, best['person'])}, {format_quantity(best['study_hours'], 'h')}"
                + (" (assess first)" if best["have"] is None else "")
            ),
        )
    console.print(table)
    console.print(Text(answer["order_rule"]))
    print_end(console, answer)


def show_headcount(snapshot: Snapshot, answer: Answer) -> None:
    """Print people needed and people qualified."""
    console = make_console()
    console.print(
        Text(
            f"Headcount of {get_name(snapshot.teams, answer['team'])}, {answer['on']}: one person works "
            f"{format_quantity(answer['net_hours'], 'h')} a year"
        )
    )
    right = ("at once", "hours", "quotient", "needed", "qualified", "difference")
    table = make_table("need or place", *right, right=right)
    for row in answer["rows"]:
        is_place = row["kind"] == "place"
        name = f"place {get_place_name(snapshot, row['place'])}" if is_place else describe_need(snapshot, row)
        if row["applies"] == "each-shift" and row["shift"] is None:
            name += " (each shift)"
        table.add_row(
            Text(name),
            str(row["minimum"]),
            format_quantity(row["manned_hours"]),
            "–" if row["quotient"] is None else f"{row['quotient']:.2f}",
            "–" if row["people_needed"] is None else str(row["people_needed"]),
            str(len(row["qualified"])),
            "–" if row["difference"] is None else f"{row['difference']:+d}",
        )
    console.print(table)
    print_end(console, answer)


def show_company_cover(snapshot: Snapshot, answer: Answer) -> None:
    """Print the most fragile needs of all teams, people who cover needs of several, and who could lend."""
    console = make_console()
    counts = ", ".join(f"{row['needs']} {row['state'].replace('-', ' ')}" for row in answer["states"])
    console.print(
        Text(
            f"Cover of {answer['teams']} teams, {answer['people']} people, {answer['on']}. "
            f"{answer['needs_found']} needs: {counts}."
        )
    )
    print_status(console, answer)
    table = make_table("team", "need", "crit", "depth", "min", "state", "could lend", right=("crit", "depth", "min"))
    for need in answer["needs"]:
        lenders = [_describe_lender(snapshot, row, answer["within_hours"]) for row in need["lenders"][:2]]
        more = need["lenders_found"] - len(lenders)
        table.add_row(
            Text(get_name(snapshot.teams, need["team"])),
            Text(describe_need(snapshot, need)),
            str(need["criticality"]),
            str(need["depth"]),
            str(need["minimum"]),
            format_word(need["state"]),
            Text(("; ".join(lenders) or "nobody") + (f"; and {more} more" if more > 0 else "")),
        )
    console.print(table)
    for person in answer["holding"]:
        who = f"{get_name(snapshot.people, person['id'])} ({get_name(snapshot.teams, person['team'])})"
        console.print(Text(f"{who} covers needs of {get_names(snapshot.teams, person['teams'])}."))
    for pair in answer["exchanges"]:
        names = get_names(snapshot.teams, (pair["team"], pair["other"]))
        console.print(Text(f"Could lend to each other: {names}."))
    console.print(Text(answer["order_rule"]))
    print_end(console, answer)


def _describe_lender(snapshot: Snapshot, row: Mapping[str, Any], within_hours: float) -> str:
    """Return a team with how many could be lent and who, and what is short there already."""
    lent = [person["person"] for person in row["people"] if person["is_spare"]]
    whom = f": {get_names(snapshot.people, lent)}" if lent else ""
    short = "; ".join(describe_need(snapshot, need) for need in row["worsens"])
    worse = f"; short there already: {short}" if short else ""
    near = f"{row['near']} within {format_quantity(within_hours, 'h')} of study"
    return f"{get_name(snapshot.teams, row['team'])} ({row['spare']} could be lent{whom}, {near}{worse})"
