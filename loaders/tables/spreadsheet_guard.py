"""What is looked at in a workbook before its reader may build grids of it.

The reader asks for memory as the outermost cell says and copies a shared text into every cell that names it, so a
workbook of 5 kB can ask for gigabytes. It also gives an error value, and a formula that was never computed, as an
empty cell or as 0. This pass refuses the first two and names the others. Format: ECMA-376 Part 1 (SpreadsheetML:
18.3 sheets, 18.4 shared texts, 18.18.11 cell types) and Part 2 (packages and relationships).
"""

from __future__ import annotations

import posixpath
import zipfile
from pathlib import Path
from typing import IO, Final

from loaders import limits
from loaders.tables.archives import DAMAGE
from loaders.tables.cells import FaultyCell
from loaders.tables.spreadsheet_xml import Attributes, get_column, list_elements, parse_part
from ontology.errors import FileFormatError, LimitError

#: 0-based (row, column) -> what is wrong with the cell there.
Faults = dict[tuple[int, int], FaultyCell]

_NEVER_COMPUTED: Final = "holds a formula that was never computed; open and save the file in a spreadsheet program"
_ERROR_VALUE: Final = "the result of a failed formula; correct the formula"


class Package:
    """The parts of a workbook: which sheets there are, and what each may ask of its reader."""

    def __init__(self, path: Path, archive: zipfile.ZipFile) -> None:
        self._path = path
        self._archive = archive
        main = [target for kind, target in self._read_relations("").values() if kind.endswith("/officeDocument")]
        if not main:
            raise self._damaged("it is a zip container, but not a workbook")
        elements = self._list_elements(main[0])
        if not elements or elements[0][0] != "workbook":
            raise self._damaged("it is an office document, but not a workbook")
        relations = self._read_relations(main[0])
        #: Sheet name -> (part, kind of relationship), in the order of the sheets.
        self.sheets: dict[str, tuple[str, str]] = {}
        for name, attributes in elements:
            if name == "sheet":
                relation = next((value for key, value in attributes.items() if key.endswith(":id")), "")
                kind, target = relations.get(relation, ("", ""))
                self.sheets[attributes.get("name", "")] = (target, kind)
        shared = next((part for kind, part in relations.values() if kind.endswith("/sharedStrings")), "")
        self._lengths = self._read_lengths(shared) if shared else []
        for part in (part for kind, part in relations.values() if kind.endswith("/styles")):
            self._list_elements(part)  # for its size and what it declares

    def check_sheet(self, name: str) -> Faults:
        """Return the faulty cells of a sheet.

        Raises
        ------
        FileFormatError
            The sheet is damaged, or holds no cells (a chart).
        LimitError
            It has too many rows or columns, a cell is too long, or its texts together are.
        """
        part, kind = self.sheets[name]
        if not kind.endswith("/worksheet"):
            raise FileFormatError(f"{self._path.name}: the sheet {name} holds no cells.", path=str(self._path))
        cells = _Cells(f"{self._path.name}, sheet {name}", self._lengths)
        try:
            with self._open(part) as stream:
                for _ in parse_part(stream, cells, self._path.name):
                    pass
        except DAMAGE as error:
            raise self._damaged(str(error)) from error
        return cells.faults

    def _read_lengths(self, part: str) -> list[int]:
        texts = _TextLengths()
        try:
            with self._open(part) as stream:
                for _ in parse_part(stream, texts, self._path.name):
                    pass
        except DAMAGE as error:
            raise self._damaged(str(error)) from error
        return texts.found

    def _read_relations(self, part: str) -> dict[str, tuple[str, str]]:
        """Return relationship id -> (type, part) of a part, or of the package."""
        folder, name = posixpath.split(part)
        relations_part = posixpath.join(folder, "_rels", f"{name}.rels")
        if relations_part not in self._archive.NameToInfo:
            return {}
        found = {}
        for local, attributes in self._list_elements(relations_part):
            if local == "Relationship" and attributes.get("TargetMode") != "External":
                target = posixpath.normpath(posixpath.join("/", folder, attributes.get("Target", "")))
                found[attributes.get("Id", "")] = (attributes.get("Type", ""), target.lstrip("/"))
        return found

    def _list_elements(self, part: str) -> list[tuple[str, Attributes]]:
        try:
            with self._open(part) as stream:
                data = stream.read(limits.MAX_SMALL_PART_BYTES + 1)
        except DAMAGE as error:
            raise self._damaged(str(error)) from error
        if len(data) > limits.MAX_SMALL_PART_BYTES:
            raise LimitError(
                f"{self._path.name}: {part} has more than {limits.MAX_SMALL_PART_BYTES:,} bytes.", file=self._path.name
            )
        return list_elements(data, self._path.name)

    def _open(self, part: str) -> IO[bytes]:
        if part not in self._archive.NameToInfo:
            raise self._damaged(f"its part {part or 'of a sheet'} is missing")
        return self._archive.open(part)

    def _damaged(self, reason: str) -> FileFormatError:
        return FileFormatError(f"{self._path.name} is not a readable workbook: {reason}.", path=str(self._path))


class _TextLengths:
    """The lengths of the shared texts."""

    def __init__(self) -> None:
        self.found: list[int] = []
        self._is_open = False

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "si":
            self.found.append(0)
        elif name == "t":
            self._is_open = bool(self.found)

    def end(self, name: str) -> None:
        if name == "t":
            self._is_open = False

    def text(self, characters: str) -> None:
        if self._is_open:
            self.found[-1] += len(characters)


class _Cells:
    """Where the cells of a sheet stand, how much text they hold together, and which are faulty."""

    def __init__(self, source: str, lengths: list[int]) -> None:
        self.faults: Faults = {}
        self._source = source
        self._lengths = lengths
        self._row = -1
        self._next = 0
        self._column = 0
        self._kind = "n"
        self._has_formula = False
        self._is_open = False
        self._text: list[str] = []
        self._n_characters = 0
        self._n_total = 0

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "c":
            place = attributes.get("r")
            self._column = self._next if place is None else get_column(place)
            self._next = self._column + 1
            self._kind = attributes.get("t", "n")
            self._has_formula = False
            self._text = []
            self._n_characters = 0
        elif name in ("v", "t"):
            self._is_open = True
        elif name == "f":
            self._has_formula = True
        elif name == "row":
            text = attributes.get("r")
            number = self._row + 2 if text is None else int(text) if text.isdecimal() and len(text) < 10 else 0
            if number <= self._row + 1:
                raise FileFormatError(f"{self._source}: row {text} comes after row {self._row + 1}.")
            limits.require_rows(self._source, number)
            self._row, self._next = number - 1, 0

    def end(self, name: str) -> None:
        if name in ("v", "t"):
            self._is_open = False
        elif name == "c":
            self._end_cell("".join(self._text))

    def text(self, characters: str) -> None:
        if self._is_open:
            self._text.append(characters)
            self._n_characters += len(characters)
            self._require_length(self._n_characters)

    def _end_cell(self, text: str) -> None:
        if text and self._column >= limits.MAX_TABLE_COLUMNS:
            raise LimitError(
                f"{self._source}, row {self._row + 1}: a cell stands beyond column {limits.MAX_TABLE_COLUMNS}.",
                source=self._source,
            )
        if self._kind == "s" and text.isdecimal() and len(text) < 10 and int(text) < len(self._lengths):
            self._n_characters = self._lengths[int(text)]
            self._require_length(self._n_characters)
        self._n_total += self._n_characters
        if self._n_total > limits.MAX_UNPACKED_BYTES:
            raise LimitError(f"{self._source}: its cells hold more than {limits.MAX_UNPACKED_BYTES:,} characters.")
        if self._kind == "e":
            self.faults[self._row, self._column] = FaultyCell(text, _ERROR_VALUE)
        elif self._has_formula and not text and self._kind != "str":
            self.faults[self._row, self._column] = FaultyCell("", _NEVER_COMPUTED)

    def _require_length(self, n_characters: int) -> None:
        if n_characters > limits.MAX_CELL_CHARACTERS:
            raise LimitError(
                f"{self._source}, row {self._row + 1}: a cell has more than {limits.MAX_CELL_CHARACTERS:,} characters.",
                source=self._source,
            )
