"""The pages of the frameworks of others: all of them with what each holds, and letting one go. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from urllib.parse import quote, urlencode

from api.desk.names import count
from api.desk.sheet import ActLink, Cell, Column, Sheet, Table
from api.pages.page import Link, Page
from api.pages.sheet_page import describe_plain_sheet
from ontology.live.outside import OutsideFramework

__all__ = ["describe_outside", "describe_removal", "tell_outside"]

_FRAMEWORK: Final = Link("Framework", "/framework")
_OTHERS: Final = Link("Frameworks of others", "/outside")
_HOW: Final = (
    "One comes in, or is replaced by a newer edition, on the command line: newel load FILES --outside ID. It changes "
    "nothing here: no answer about people or teams rests on it."
)


def tell_outside(found: Sequence[OutsideFramework]) -> str:
    """Return the first sentence of the page.

    Examples
    --------
    >>> tell_outside([])
    'No framework of others stands beside yours.'
    """
    if not found:
        return "No framework of others stands beside yours."
    verb = "stands" if len(found) == 1 else "stand"
    return f"{count(len(found), 'framework')} of others {verb} beside yours."


def describe_outside(found: Sequence[OutsideFramework], revision: int, *, may_let_go: bool) -> Page:
    """Return the page of all of them."""
    columns = [Column("Framework"), Column("Id"), Column("What it holds"), Column("Loaded"), Column("Revision")]
    columns += [Column("Compare"), Column("Map")]
    columns += [Column("Remove")] if may_let_go else []
    rows = tuple(_build_row(one, may_let_go=may_let_go) for one in found)
    empty = "Load one to compare yours with it, and to say which of its competencies are the same as yours."
    table = Table("", tuple(columns), rows, empty)
    sheet = Sheet("Frameworks of others", tell_outside(found), parts=(table,), remarks=(_HOW,))
    return describe_plain_sheet(sheet, "/outside", revision, trail=(_FRAMEWORK,))


def _build_row(one: OutsideFramework, *, may_let_go: bool) -> tuple[Cell, ...]:
    asked = urlencode({"from": f"outside:{one.id}", "to": "now"})
    acts: list[Cell] = [
        ActLink("How it differs from yours", f"/compare?{asked}"),
        ActLink("What may be the same", f"/mappings/proposals?{urlencode({'framework': one.id})}"),
    ]
    if may_let_go:
        acts.append(ActLink("Let it go", f"/outside/{quote(one.id, safe='')}/removal"))
    loaded = one.loaded.date() if one.loaded else None
    return (one.label, one.id, _tell_counts(one), loaded, one.revision, *acts)


def _tell_counts(one: OutsideFramework) -> str:
    # its one row about itself is its name, told beside
    counts = {name: n for name, n in one.counts.items() if name != "framework"}
    return ", ".join(f"{n:,} {name.replace('_', ' ')}" for name, n in counts.items()) or "nothing"


def describe_removal(one: OutsideFramework, n_mapped: int, revision: int) -> Page:
    """Return the page that asks once more before one is let go; `n_mapped` mappings lead to it."""
    stays = f"{count(n_mapped, 'mapping')} to it {'stays' if n_mapped == 1 else 'stay'}" if n_mapped else ""
    values = {
        "label": one.label,
        "lead": f"It holds {_tell_counts(one)}. It goes for good{'; ' + stays if stays else ''}.",
        "action": f"/outside/{quote(one.id, safe='')}/removal",
        "revision": revision,
    }
    return Page("outside_removal.html", values, way="framework", trail=(_FRAMEWORK, _OTHERS))
