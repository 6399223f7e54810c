"""Needs, and what falls without someone, in the words of the terminal. Nothing is computed here."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console
from rich.text import Text

from api.commands.console import Answer, get_name, get_place_name
from ontology.graph.snapshot import Snapshot

__all__ = ["describe_fallen", "describe_need", "describe_shift", "describe_subject", "print_status"]


def describe_shift(snapshot: Snapshot, shift: str | None) -> str:
    """Return the name of a shift; a dash for the whole team."""
    return get_name(snapshot.shifts, shift) if shift else "–"


def describe_need(snapshot: Snapshot, need: Mapping[str, Any]) -> str:
    """Return a need by its competency, level and shift."""
    shift = f" ({get_name(snapshot.shifts, need['shift'])})" if need["shift"] else ""
    return f"{get_name(snapshot.competencies, need['competency'])} at level {need['level']}{shift}"


def describe_subject(snapshot: Snapshot, row: Mapping[str, Any]) -> str:
    """Return a need, a place or a group's need by its kind; a row without a kind is a need."""
    kind = row.get("kind", "need")
    if kind == "place":
        return f"place {get_place_name(snapshot, row['place'])}"
    need = describe_need(snapshot, row)
    return need if kind == "need" else f"group {row['together']}: {need}"


def print_status(console: Console, answer: Answer) -> None:
    """Print that the time limit struck, where it did."""
    if answer["status"] == "feasible":
        console.print(Text("The time limit struck: shorter learning may be found."))


def describe_fallen(snapshot: Snapshot, row: Mapping[str, Any], prefix: str = "") -> str:
    """Return what would not hold any more: needs, places and slots of groups; a dash for nothing."""
    falls = [f"need {describe_need(snapshot, need)}" for need in row[f"{prefix}needs"]]
    falls += [f"place {get_place_name(snapshot, place)}" for place in row[f"{prefix}places"]]
    for need in row[f"{prefix}together"]:
        slots = "a slot" if need["slots"] == 1 else f"{need['slots']} slots"
        falls.append(f"{slots} of group {need['together']}: {describe_need(snapshot, need)}")
    return "; ".join(falls) or "–"
