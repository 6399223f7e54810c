"""Cover over time as tables that a person likes to read: what changes, what is missing when, and what to begin by when.

Nothing is computed here; the words are those of the JSON answers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from api.commands.console import (
    Answer,
    format_quantity,
    format_word,
    get_name,
    get_names,
    make_console,
    make_table,
    print_end,
)
from api.commands.cover_words import describe_subject, print_status
from ontology.graph.snapshot import Snapshot

__all__ = ["show_timeline"]


def show_timeline(snapshot: Snapshot, answer: Answer) -> None:
    """Print what changes by day, the holes, and what to begin by when."""
    console = make_console()
    span = f"{answer['from_date']} to {answer['to_date']}"
    console.print(Text(f"Cover of {get_name(snapshot.teams, answer['team'])}, {span}, seen from {answer['on']}"))
    print_status(console, answer)
    if answer["changes"]:
        table = make_table("day", "need or place", "from", "to", "depth", "what happened")
        for row in answer["changes"]:
            table.add_row(
                row["on"],
                Text(describe_subject(snapshot, row)),
                format_word(row["from_state"]),
                format_word(row["to_state"]),
                f"{row['from_depth']}>{row['to_depth']}",
                Text(" ".join(cause["words"] for cause in row["causes"])),
            )
        console.print(table)
    else:
        console.print(Text("No need changes its state, and as many slots stay filled."))
    _print_holes(console, snapshot, answer)
    print_end(console, answer)


def _print_holes(console: Console, snapshot: Snapshot, answer: Answer) -> None:
    holes = [(row, hole) for row in (*answer["needs"], *answer["slots"]) for hole in row["holes"]]
    if not holes:
        console.print(Text("No need is short and no slot unfilled on any of these days."))
        return
    table = make_table("hole", "from", "to", "last start day", "who could close it, and how")
    for row, hole in sorted(holes, key=lambda pair: (pair[1]["last_day_to_act"] or "", pair[1]["from_date"])):
        by = hole["last_day_to_act"] or "–"
        table.add_row(
            Text(describe_subject(snapshot, row) + (f", person {hole['lacking']}" if hole["lacking"] > 1 else "")),
            hole["from_date"] if hole["is_begin_known"] else f"before {hole['from_date']}",
            "open" if hole["is_open"] else hole["to_date"],
            f"{by} (passed)" if hole["is_late"] and hole["last_day_to_act"] else by,
            Text(_describe_mend(snapshot, hole)),
        )
    console.print(table)


def _describe_mend(snapshot: Snapshot, hole: Mapping[str, Any]) -> str:
    mend = hole["mend"]
    if mend is None:
        return str(hole["reason"])
    what = "renews" if mend["kind"] == "renewal" else "learns"
    hours = format_quantity(mend["study_hours"], "h")
    wait = mend["lead_weeks"]
    start = f"can start after {_format_weeks(wait)}" if wait else "can start now"
    return (
        f"{get_name(snapshot.people, mend['person'])} {what}: {get_names(snapshot.courses, mend['courses'])} ({hours}, "
        f"takes {_format_weeks(mend['weeks'])}, {start}); begun at once it is done on {mend['ready_on']}"
    )


def _format_weeks(weeks: float) -> str:
    shown = format_quantity(weeks)
    return f"{shown} week" if shown == "1" else f"{shown} weeks"
