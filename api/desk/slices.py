"""Slices of the tables as workbooks: what is asked, the bytes, and what an edited one makes of a draft."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from api.desk.parameters import Asks, param
from loaders.slices import SliceFilter, cut_slice, require_known
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # brings the store, and the reader of workbooks
    from loaders.slice_load import SliceLoad


@dataclass(frozen=True, kw_only=True)
class AskSlice(Asks):
    """Which rows a slice holds; each takes several between commas, but for the competency."""

    tables: str = param("Tables, none about people; left out: those that name what is asked for, or all.", default="")
    roles: str = param("Ids of roles: rows that name one of them.", default="")
    families: str = param("Families: rows that name a role of one of them.", default="")
    below: str = param("A competency: rows that name it, or one that is narrower.", default="")
    courses: str = param("Ids of courses: rows that name one of them.", default="")


@dataclass(frozen=True, slots=True)
class ToldCell:
    """A cell that changes."""

    column: Annotated[str, "Its column."]
    before: Annotated[str, "What it says in the draft before, as a cell has it."]
    after: Annotated[str, "What it says afterwards."]
    is_conflict: Annotated[bool, "Whether others changed it meanwhile: a conflict of the draft."]


@dataclass(frozen=True, slots=True)
class ToldSliceRow:
    """A row that changes."""

    table: Annotated[str, "The table."]
    id: Annotated[str, "The parts of its key, joined by ~."]
    change: Annotated[str, "added, changed or removed."]
    is_conflict: Annotated[bool, "Whether others changed or removed the row meanwhile: a conflict of the draft."]
    cells: Annotated[tuple[ToldCell, ...], "The cells that change; none of a row that is removed."]


@dataclass(frozen=True, slots=True)
class ToldHeldBack:
    """An edit that is not put into the draft, since it would overwrite something."""

    table: Annotated[str, "The table."]
    id: Annotated[str, "The parts of its key, joined by ~."]
    column: Annotated[str | None, "The column; null where it is the whole row."]
    sent: Annotated[str, "What the workbook says."]
    present: Annotated[str, "What the draft says."]
    reason: Annotated[str, "Why it is held back."]


@dataclass(frozen=True, slots=True)
class ToldMissing:
    """Rows of the slice that the workbook lacks: nothing happens to them."""

    table: Annotated[str, "The table."]
    ids: Annotated[tuple[str, ...], "The rows."]


@dataclass(frozen=True, slots=True)
class ToldSlice:
    """What an edited slice makes of a draft."""

    draft: Annotated[str, "The id of the draft."]
    number: Annotated[int | None, "Its number afterwards; null where there is none yet."]
    is_stored: Annotated[bool, "Whether it was put into the draft; a trial is not."]
    compared_with: Annotated[int, "The revision that the workbook was compared with: its own."]
    rows: Annotated[tuple[ToldSliceRow, ...], "The rows that change."]
    held_back: Annotated[tuple[ToldHeldBack, ...], "Edits that are not put in."]
    missing: Annotated[tuple[ToldMissing, ...], "Rows that the workbook lacks, by table."]
    remarks: Annotated[tuple[str, ...], "What else is to be said of it."]


def export_slice(snapshot: Snapshot, asked: SliceFilter, path: Path) -> int:
    """Write the workbook of a slice and return how many rows it has.

    Raises
    ------
    InputError
        The filter names what there is not, or nothing can be written there.
    FileFormatError, LimitError
        A text or a table is larger than a sheet holds.
    """
    # brings the writer of workbooks
    from loaders.tables.slice_book import SliceNote, write_slice

    require_known(snapshot, asked)
    rows = cut_slice(snapshot, asked)
    write_slice(snapshot, SliceNote(snapshot.store_id, snapshot.revision, asked.texts), rows, path)
    return sum(map(len, rows.values()))


def build_slice(snapshot: Snapshot, asked: AskSlice) -> bytes:
    """Return the bytes of the workbook of a slice; errors as `export_slice`."""
    with tempfile.TemporaryDirectory(prefix="newel-") as folder:
        path = Path(folder) / "slice.xlsx"
        export_slice(snapshot, SliceFilter.parse(asked.texts), path)
        return path.read_bytes()


def tell_slice(load: SliceLoad, draft_id: str, number: int | None, *, is_stored: bool) -> ToldSlice:
    """Return what an edited slice makes, or made, of a draft."""
    return ToldSlice(
        draft_id,
        number,
        is_stored,
        load.revision,
        tuple(
            ToldSliceRow(
                row.table,
                row.id,
                row.change,
                row.is_conflict,
                tuple(ToldCell(cell.column, cell.before, cell.after, cell.is_conflict) for cell in row.cells),
            )
            for row in load.rows
        ),
        tuple(ToldHeldBack(one.table, one.id, one.column, one.sent, one.present, one.reason) for one in load.held_back),
        tuple(ToldMissing(table, ids) for table, ids in load.missing.items()),
        load.remarks,
    )
