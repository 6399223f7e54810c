"""What an edited slice makes of a draft, in lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from api.desk.slices import ToldSlice
from ontology.plurals import format_count


def list_slice_lines(told: ToldSlice) -> Iterator[str]:
    """Yield the remarks, a line for each row that changes and each edit that is held back, and the sum."""
    yield from told.remarks
    for one in told.held_back:
        where = f"{one.table}/{one.id}" + (f" {one.column}" if one.column else "")
        yield f"Held back: {where}: {one.reason} (sent: {one.sent or '-'}; in the draft: {one.present or '-'})."
    for row in told.rows:
        cells = "; ".join(
            f"{cell.column} {cell.before or '-'} -> {cell.after or '-'}{' (conflict)' * cell.is_conflict}"
            if row.change == "changed"
            else f"{cell.column} {cell.after}"
            for cell in row.cells
        )
        conflict = " (conflict)" if row.is_conflict else ""
        yield f"{row.change} {row.table}/{row.id}{conflict}" + (f": {cells}" if cells else "")
    verb = "Checked, not stored:" if not told.is_stored else f"On draft {told.draft}:"
    changes = format_count(len(told.rows), "row") if told.rows else "nothing"
    see = f" See it: newel draft show {told.draft}" if told.is_stored else ""
    yield f"{verb} {changes} edited.{see}"
