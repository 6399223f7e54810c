"""newel find."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
from rich.text import Text

from api.commands.asking import answer
from api.commands.console import Answer, make_console, make_table
from api.commands.options import json_option, store_option
from api.services.finding import find_by_name
from ontology.graph.snapshot import Snapshot


@click.command()
@click.argument("words", nargs=-1, required=True, metavar="TEXT...")
@click.option("--limit", type=click.IntRange(1, 1000), default=20, show_default=True, help="Most records shown.")
@json_option
@store_option
def find(words: tuple[str, ...], limit: int, as_json: bool, store: Path) -> None:
    """List the ids of people, roles, courses, competencies and teams by name, whole words or begun ones."""
    answer(store, as_json, lambda s: find_by_name(s, " ".join(words), limit), _show)


def _show(snapshot: Snapshot, found: Answer) -> None:
    console = make_console()
    if not found["matches"]:
        near = [f"{row['label']} ({row['kind']} {row['id']})" for row in found["near"]]
        hint = f" Spelt nearly so: {', '.join(near)}." if near else ""
        console.print(Text(f"Nothing is called {found['text']!r}.{hint}"))
        return
    table = make_table("name", "what it is", "id")
    for row in found["matches"]:
        also = "" if row["name"] in (row["label"], row["id"]) else f" (also: {row['name']})"
        table.add_row(*(Text(text) for text in _tell(row, also)))
    console.print(table)
    if found["found"] > len(found["matches"]):
        console.print(Text(f"and {found['found'] - len(found['matches']):,} more; give more of the name"))


def _tell(row: dict[str, Any], also: str) -> tuple[str, str, str]:
    return row["label"] + also, row["kind"], row["id"]


COMMANDS = (find,)
