"""What all printed answers share: the console, tables, names and words. Imports rich.

Nothing is computed here. Texts of the data are printed as they are, never as markup.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from ontology.graph.names import get_name as get_name
from ontology.graph.names import get_place_name as get_place_name
from ontology.graph.snapshot import Snapshot

#: Least width of the first column, in characters.
FIRST_COLUMN: Final = 22

Answer = Mapping[str, Any]

#: Okabe-Ito colours, each beside a word that says the same.
COLOURS: Final = {
    "short": "#d55e00",
    "sole holder": "#e69f00",
    "no reserve": "#cc79a7",
    "below target": "#56b4e9",
    "covered": "#009e73",
    "lapsed": "#d55e00",
    "review due": "#e69f00",
    "not assessed": "#56b4e9",
}


def make_console() -> Console:
    """Return the console for answers: as wide as the window, 118 columns where there is none."""
    return Console(width=None if sys.stdout.isatty() else 118, highlight=False, markup=False, emoji=False)


def format_quantity(value: float | None, unit: str = "") -> str:
    """Return a number without needless decimals, with its unit; a dash for None."""
    if value is None:
        return "–"
    text = f"{value:,.1f}".removesuffix(".0")
    return f"{text} {unit}".strip()


def format_word(value: str) -> Text:
    """Return a state as words in its colour."""
    shown = value.replace("-", " ")
    return Text(shown, style=COLOURS.get(shown, ""))


def get_names(index: Mapping[str, Any], ids: Iterable[str]) -> str:
    """Return the names of ids with commas, or a dash."""
    return ", ".join(get_name(index, record_id) for record_id in ids) or "–"


def get_place_names(snapshot: Snapshot, ids: Iterable[str]) -> str:
    """Return the names of places with commas, or a dash."""
    return ", ".join(get_place_name(snapshot, place_id) for place_id in ids) or "–"


def make_table(*columns: str, right: Sequence[str] = ()) -> Table:
    """Return an empty table; the columns named in `right` hold numbers."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for position, column in enumerate(columns):
        # the first column says what a row is about: it keeps room when the others want it
        room = FIRST_COLUMN if position == 0 and column not in right else None
        table.add_column(column, justify="right" if column in right else "left", overflow="fold", min_width=room)
    return table


def print_end(console: Console, answer: Answer) -> None:
    """Print remarks, revision and cautions."""
    for remark in answer.get("remarks", ()):
        console.print(Text(f"Remark: {remark}"))
    console.print(Text(f"Revision {answer['revision']}."))
    for caution in answer["cautions"]:
        console.print(Text(f"Note: {caution}", style="dim"))


def get_subject(snapshot: Snapshot, answer: Answer) -> str:
    """Return whom an answer is about."""
    if answer.get("person"):
        return get_name(snapshot.people, answer["person"])
    return f"someone fully in {get_name(snapshot.roles, str(answer.get('from_role', '')))}"


def explain_status(status: str) -> str:
    """Return a status with what it means."""
    return {
        "optimal": "optimal (proved: nothing cheaper among these entries)",
        "feasible": "feasible (the time limit struck: the best found)",
        "nothing-to-do": "nothing to do",
        "unreachable": "unreachable in part; the rest is shown",
    }[status]


def format_counted(values: Iterable[str]) -> str:
    """Return values once each in their order, with how often where it is more than once."""
    counts = Counter(values)
    return ", ".join(value if n == 1 else f"{value} (×{n})" for value, n in counts.items())


def print_unreachable(console: Console, snapshot: Snapshot, rows: Iterable[Mapping[str, Any]]) -> None:
    """Print the levels that no courses reach, and why."""
    for row in rows:
        label = get_name(snapshot.competencies, row["competency"])
        console.print(Text(f"Cannot be reached: {label} at level {row['level']}: {row['reason']}"))
