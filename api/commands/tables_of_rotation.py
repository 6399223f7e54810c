"""A job rotation as tables that a person likes to read. Nothing is computed here."""

from __future__ import annotations

from rich.text import Text

from api.commands.console import (
    Answer,
    format_word,
    get_name,
    get_names,
    get_place_name,
    get_place_names,
    make_console,
    make_table,
    print_end,
)
from ontology.graph.snapshot import Snapshot


def show_rotation(snapshot: Snapshot, answer: Answer) -> None:
    """Print who holds which place in which interval, what it means for each person, or why there is no rotation."""
    console = make_console()
    moves = "" if answer["moves"] is None else f" Moves: {answer['moves']}, at least {answer['lower_bound']}."
    title = (
        f"Rotation of {get_name(snapshot.teams, answer['team'])} to {answer['purpose']}, {answer['start']} to "
        f"{answer['end']}. Status: "
    )
    console.print(Text.assemble(title, format_word(answer["status"]), ".", moves))
    for reason in answer["reasons"]:
        console.print(Text(reason["reason"]))
    if answer["rows"]:
        table = make_table("interval", "from", "until", "place", "held by", "beside them learns", right=("interval",))
        last = 0
        for row in answer["rows"]:
            is_new, last = row["interval"] != last, row["interval"]
            dates = [str(row["interval"]), row["start"], row["end"]] if is_new else ["", "", ""]
            person = Text(get_name(snapshot.people, row["person"]))
            place, learners = get_place_name(snapshot, row["place"]), get_names(snapshot.people, row["learners"])
            table.add_row(*map(str, dates), Text(place), person, Text(learners))
        console.print(table)
        right = ("held", "learning", "strain", "moves")
        people = make_table("person", "places", "held", "learning", "strain", "moves", "not there in", right=right)
        for row in answer["people"]:
            people.add_row(
                Text(get_name(snapshot.people, row["person"])),
                Text(get_place_names(snapshot, row["places"])),
                str(row["intervals_held"]),
                str(row["intervals_learning"]),
                str(row["strain"]),
                str(row["moves"]),
                ", ".join(map(str, row["not_there"])),
            )
        console.print(people)
    print_end(console, answer)
