"""Two editions of a framework as files, compared in both ways in; and whether exactly what was edited is found."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from edited_esco import EditedFramework, Records

from api.terminal.program import program

__all__ = ["compare_beside", "compare_published", "require_exactly"]

#: Rows of a page: the most that are allowed.
PAGE = 1_000


def call(store: Path, *words: object) -> str:
    """Run a command and return what it prints."""
    result = CliRunner().invoke(program, [*map(str, words), "--store", str(store)])
    assert result.exit_code == 0, (result.output[-2_000:], result.exception)
    return result.stdout


def compare_beside(store: Path, first: Path, second: Path, match: str = "suggested") -> dict[str, Any]:
    """Load both editions beside a store and return how they differ."""
    for name, edition in (("first", first), ("second", second)):
        call(store, "load", edition, "--outside", name, "--skip-faulty")
    return read_comparison(store, "outside:first", "outside:second", match)


def compare_published(store: Path, first: Path, second: Path, match: str = "suggested") -> dict[str, Any]:
    """Make the first edition a release, publish the second by a draft, and return how the release differs from now."""
    call(store, "load", first, "--skip-faulty")
    call(store, "release", "first", "--reason", "The first edition")
    call(store, "load", second, "--draft", "next", "--whole", "--skip-faulty")
    call(store, "publish", "next", "--version", "second", "--reason", "The second edition")
    return read_comparison(store, "first", "now", match)


def read_comparison(store: Path, before: str, after: str, match: str) -> dict[str, Any]:
    """Return the whole answer, with the rows of all its pages."""
    words = ("compare", before, after, "--match", match, "--page-size", PAGE, "--json")
    told: dict[str, Any] = json.loads(call(store, *words))
    page = 1
    while len(told["rows"]) < told["rows_total"]:
        page += 1
        told["rows"] += json.loads(call(store, *words, "--page", page))["rows"]
    return told


def require_exactly(told: dict[str, Any], before: Records, copy: EditedFramework) -> None:
    """Require that an answer read through what is suggested tells what was edited: no more, no fewer."""
    found: dict[str, list[dict[str, Any]]] = {kind: [] for kind in ("same", "split", "merge", "replaced")}
    for one in told["suggestions"]:
        found[one["kind"]].append(one)
    assert {(one["from"][0], one["to"][0]) for one in found["same"]} == copy.same
    assert {one["from"][0]: tuple(one["to"]) for one in found["split"]} == copy.split
    assert {tuple(one["from"]): one["to"][0] for one in found["merge"]} == copy.merged
    assert (found["replaced"], told["identities"]) == ([], [])
    changed = {
        (row["table"], row["id"], one["column"])
        for row in told["rows"]
        if row["change"] == "changed"
        for one in row["columns"]
    }
    assert changed == copy.columns | set(_list_renumbered(before, copy))
    gone = copy.removed | set(copy.split) | {one for pair in copy.merged for one in pair}
    come = copy.added | {one for parts in copy.split.values() for one in parts} | set(copy.merged.values())
    for change, ids, records in (("removed", gone, before), ("added", come, copy.records)):
        named = {f"{role}~{one}" for role, one in records["requirements"] if one in ids}
        rows = {(row["table"], row["id"]) for row in told["rows"] if row["change"] == change}
        assert rows == {("competencies", one) for one in ids} | {("requirements", one) for one in named}


def _list_renumbered(before: Records, copy: EditedFramework) -> Iterator[tuple[str, str, str]]:
    """Yield the columns that differ where a record has a new id."""
    for old, new in copy.same:
        for column in ("exact_match", "label", "alt_labels"):
            values = (
                getattr(before["competencies"][old,], column),
                getattr(copy.records["competencies"][new,], column),
            )
            if values[0] != values[1]:
                yield "competencies", new, column
