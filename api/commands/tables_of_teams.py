"""Cover, single points of failure and staffing as tables that a person likes to read.

Nothing is computed here; the words are those of the JSON answers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from api.commands.console import (
    COLOURS,
    Answer,
    format_counted,
    format_word,
    get_name,
    get_names,
    get_place_name,
    make_console,
    make_table,
    print_end,
)
from api.commands.cover_words import describe_fallen, describe_need, describe_shift
from ontology.graph.snapshot import Snapshot


def show_coverage(snapshot: Snapshot, answer: Answer) -> None:
    """Print a team's cover."""
    console = make_console()
    away = f", away: {get_names(snapshot.people, answer['away'])}" if answer["away"] else ""
    console.print(Text(f"Cover of {get_name(snapshot.teams, answer['team'])}, {answer['on']}{away}"))
    console.print(Text(f"Absent: {get_names(snapshot.people, answer['absent'])}"))
    right = ("level", "depth", "min", "target", "crit")
    columns = ("need", "level", "shift", "depth", "min", "target", "crit", "state", "present", "absent")
    table = make_table(*columns, right=right)
    for need in answer["needs"]:
        for row in need["shifts"] or (need,):
            absent = [person for person in row["qualified"] if person not in row["present"]]
            table.add_row(
                Text(get_name(snapshot.competencies, need["competency"])),
                str(need["level"]),
                Text(describe_shift(snapshot, row["shift"])),
                str(row["depth"]),
                str(need["minimum"]),
                str(need["target"]),
                str(need["criticality"]),
                format_word(row["state"]),
                Text(get_names(snapshot.people, row["present"])),
                Text(get_names(snapshot.people, absent)),
            )
    console.print(table)
    print_end(console, answer)


def show_single_points(snapshot: Snapshot, answer: Answer) -> None:
    """Print on whom alone something rests."""
    console = make_console()
    console.print(Text(f"Single points of failure of {get_name(snapshot.teams, answer['team'])}, {answer['on']}"))
    table = make_table("person", "what would fall")
    for person in answer["people"]:
        falls = describe_fallen(snapshot, person)
        table.add_row(Text(get_name(snapshot.people, person["id"])), Text(falls))
    console.print(table if answer["people"] else Text("Nobody: nothing rests on one person alone."))
    print_end(console, answer)


def show_staffing(snapshot: Snapshot, answer: Answer) -> None:
    """Print a team's staffing."""
    console = make_console()
    console.print(
        Text(
            f"Staffing of {get_name(snapshot.teams, answer['team'])}, {answer['on']}: {answer['filled']} of "
            f"{answer['places']} places filled."
        )
    )
    table = make_table("place", "shift", "person")
    for row in answer["assignment"]:
        shift = get_name(snapshot.shifts, row["shift"]) if row["shift"] else "–"
        table.add_row(
            Text(get_place_name(snapshot, row["place"])), Text(shift), Text(get_name(snapshot.people, row["person"]))
        )
    for place in answer["unfilled"]:
        table.add_row(Text(get_place_name(snapshot, place)), "", Text("unfilled", style=COLOURS["short"]))
    console.print(table)
    _print_together(console, snapshot, answer)
    bottleneck = answer["bottleneck"]
    slots = [get_place_name(snapshot, place) for place in bottleneck["places"]]
    slots += [describe_need(snapshot, need) for need in bottleneck["needs"]]
    if slots:
        able = get_names(snapshot.people, bottleneck["people"])
        console.print(Text(f"Bottleneck: {format_counted(slots)}; able for them: {able}."))
    _print_endurance(console, snapshot, answer, "Absences survived")
    if answer["after_leaving"]:
        gone = get_names(snapshot.people, answer["leaving"])
        _print_endurance(console, snapshot, answer["after_leaving"], f"Absences survived once they have left ({gone})")
    for row in answer["closest"]:
        what = f"a slot of group {row['together']}"
        if row["place"]:
            what = f"place {get_place_name(snapshot, row['place'])}"
        lacks = "; ".join(
            f"{get_name(snapshot.competencies, part['competency'])} at level "
            f"{part['level']}, has {'no assessment' if part['have'] is None else part['have']}"
            for part in row["missing"]
        )
        person = get_name(snapshot.people, row["person"])
        console.print(Text(f"Closest to filling {what} (voluntary): {person}. Needed: {lacks}."))
    for row in answer["only_one_can"]:
        place = get_place_name(snapshot, row["place"])
        console.print(Text(f"Only {get_name(snapshot.people, row['person'])} can fill place {place}."))
    print_end(console, answer)


def _print_endurance(console: Console, snapshot: Snapshot, answer: Mapping[str, Any], title: str) -> None:
    console.print(Text(f"{title}: {_describe_tolerance(answer['tolerance'])}."))
    if answer["critical_absences"]:
        console.print(
            Text(f"Breaks when away, for example: {get_names(snapshot.people, answer['critical_absences'])}.")
        )
    counts = [
        f"{answer[field]['breaking']} of {answer[field][name]} {name}"
        for field, name in (("pairs_breaking", "pairs"), ("triples_breaking", "triples"))
        if answer[field]["breaking"] is not None
    ]
    console.print(Text(f"Of all absences of two or three people, these break something: {', '.join(counts)}."))


def _describe_tolerance(tolerance: Mapping[str, Any]) -> str:
    """Return the absences survived by needs, places and overall, or why there is no such number."""
    broken = tolerance["broken"]
    empty = sum(row["missing"] for row in broken if row["kind"] != "need")
    reasons = {
        "needs": "all are short already"
        if len(broken) > sum(row["kind"] != "need" for row in broken)
        else "there are none",
        "places": f"{'one is' if empty == 1 else f'{empty} are'} empty already" if empty else "there are none",
        "overall": "something is missing already" if broken else "nothing is asked for",
    }
    return "; ".join(
        f"{name}: not applicable, {reason}" if tolerance[name] is None else f"{name} {tolerance[name]}"
        for name, reason in reasons.items()
    )


def _print_together(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    """Print the needs that must be met by different people at the same time, where there are any."""
    if not answer["together_slots"]:
        return
    filled = f"{answer['together_filled']} of {answer['together_slots']} slots filled"
    console.print(Text(f"Needed together, by different people: {filled}."))
    for row in answer["together_assignment"]:
        person = get_name(snapshot.people, row["person"])
        console.print(Text(f"  {row['together']}: {describe_need(snapshot, row)}: {person}"))
    for need in answer["unfilled_needs"]:
        console.print(Text(f"  {need['together']}: {describe_need(snapshot, need)}: unfilled"))
