"""The sheets of an .xlsx workbook, row by row: no more memory than its rows need. Imports archives, limits, cells.

Written here because the known readers first build a whole grid and a text of its own for every cell: a workbook of
5 kB with one cell at XFD1048576, or one long text shared by many cells, asks them for gigabytes and ends the program.
Format: ECMA-376 Part 1 (SpreadsheetML: 18.2 workbook, 18.8 styles, 18.18.11 cell types, 22.9.2.19 escaped characters)
and Part 2 (packages and relationships).
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Final

from loaders import limits
from loaders.archives import DAMAGE, open_archive
from loaders.cells import FaultyCell
from loaders.spreadsheet_dates import convert_serial, is_date_format, parse_iso
from loaders.spreadsheet_xml import Cells, Handler, Row, Texts, list_elements, parse_part
from ontology.errors import FileFormatError, LimitError

#: The first bytes of what spreadsheet programs write when a workbook has a password (and of the old .xls).
_COMPOUND_FILE: Final = bytes.fromhex("D0CF11E0A1B11AE1")
_NEVER_COMPUTED: Final = "holds a formula that was never computed; open and save the file in a spreadsheet program"
_ERROR_VALUE: Final = "is the error value of a formula; correct the formula"
_ESCAPED: Final = re.compile("_x([0-9A-Fa-f]{4})_")


class Spreadsheet:
    """An open workbook; a context manager.

    Raises
    ------
    FileFormatError
        The file is no .xlsx workbook, has a password, or is damaged.
    LimitError
        It is too large, or would unpack to too much.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        _refuse_compound_file(path)
        self._archive = open_archive(path, "workbook (.xlsx)")
        #: A sheet that is not read to its end would keep the file open.
        self._streams = ExitStack()
        try:
            self._open()
        except BaseException:
            self._archive.close()
            raise

    def __enter__(self) -> Spreadsheet:
        return self

    def __exit__(self, *_: object) -> None:
        self._streams.close()
        self._archive.close()

    @property
    def names(self) -> list[str]:
        """The names of the sheets, in their order."""
        return list(self._sheets)

    def iterate_rows(self, name: str) -> Iterator[Row]:
        """Yield every row of a sheet, those without cells too, so that the n-th is row n.

        Cells are None, text, float, bool, datetime or `FaultyCell` (an error value, or a formula never computed). A
        cell beyond `MAX_TABLE_COLUMNS` stands right after the last of these.

        Raises
        ------
        FileFormatError
            The sheet is damaged, or holds no cells (a chart).
        LimitError
            It has too many rows, or a cell is too long.
        """
        part, kind = self._sheets[name]
        if not kind.endswith("/worksheet"):
            raise FileFormatError(f"{self.path.name}: the sheet {name} holds no cells.", path=str(self.path))
        cells = Cells(self._convert, f"{self.path.name}, sheet {name}")
        previous = 0
        for _ in self._parse(part, cells):
            for number, row in cells.rows:
                for _ in range(number - previous - 1):
                    yield []
                previous = number
                yield row
            cells.rows.clear()

    def _open(self) -> None:
        main = [target for kind, target in self._read_relations("").values() if kind.endswith("/officeDocument")]
        if not main:
            raise self._damaged("it is a zip container, but no workbook")
        elements = self._list_elements(main[0])
        if not elements or elements[0][0] != "workbook":
            raise self._damaged("it is an office document, but no workbook")
        relations = self._read_relations(main[0])
        self._is_1904 = any(
            name == "workbookPr" and attributes.get("date1904") in ("1", "true") for name, attributes in elements
        )
        self._sheets: dict[str, tuple[str, str]] = {}
        for name, attributes in elements:
            if name == "sheet":
                relation = next((value for key, value in attributes.items() if key.endswith(":id")), "")
                kind, target = relations.get(relation, ("", ""))
                self._sheets[attributes.get("name", "")] = (target, kind)
        self._texts: list[str] | None = None
        self._texts_part = next((part for kind, part in relations.values() if kind.endswith("/sharedStrings")), "")
        styles = next((part for kind, part in relations.values() if kind.endswith("/styles")), "")
        self._date_styles = self._read_date_styles(styles) if styles else frozenset()

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

    def _read_date_styles(self, part: str) -> frozenset[str]:
        """Return the numbers of the cell formats that show a number as a date, as cells name them."""
        codes: dict[str, str] = {}
        formats: list[str] = []
        is_inside = False
        for name, attributes in self._list_elements(part):
            if name == "numFmt":
                codes[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
            elif name in ("cellXfs", "cellStyleXfs"):
                is_inside = name == "cellXfs"
            elif name == "xf" and is_inside:
                formats.append(attributes.get("numFmtId", ""))
        return frozenset(str(place) for place, key in enumerate(formats) if is_date_format(key, codes.get(key, "")))

    def _convert(self, kind: str, text: str | None, style: str, has_formula: bool) -> object:
        if text is None:
            return FaultyCell("", _NEVER_COMPUTED) if has_formula and kind != "str" else None
        if kind == "s":
            return self._get_text(text)
        if kind == "n":
            return self._read_numeric(text, style)
        if kind == "b":
            return text.strip() in ("1", "true")
        if kind == "e":
            return FaultyCell(text, _ERROR_VALUE)
        return parse_iso(text) if kind == "d" else _unescape(text)

    def _read_numeric(self, text: str, style: str) -> object:
        try:
            number = float(text)
        except ValueError:
            return FaultyCell(text, "is no number")
        return convert_serial(number, is_1904=self._is_1904) if style in self._date_styles else number

    def _get_text(self, place: str) -> object:
        if self._texts is None:
            texts = Texts()
            if self._texts_part:
                for _ in self._parse(self._texts_part, texts):
                    pass
            self._texts = [_unescape(text) for text in texts.found]
        number = int(place) if place.isdecimal() and len(place) < 10 else len(self._texts)
        if number < len(self._texts):
            return self._texts[number]
        return FaultyCell("", "refers to a text that the workbook does not hold: it is damaged")

    def _parse(self, part: str, handler: Handler) -> Iterator[None]:
        try:
            stream = self._streams.enter_context(self._archive.open(part))
            yield from parse_part(stream, handler, self.path.name)
        except KeyError as error:
            raise self._damaged(f"{part or 'a sheet'} is missing in it") from error
        except DAMAGE as error:
            raise self._damaged(str(error)) from error

    def _list_elements(self, part: str) -> list[tuple[str, dict[str, str]]]:
        """Return the elements of a small part: the list of sheets, the styles, the relationships."""
        try:
            if self._archive.getinfo(part).file_size > limits.MAX_SMALL_PART_BYTES:
                raise LimitError(
                    f"{self.path.name}: {part} has more than {limits.MAX_SMALL_PART_BYTES:,} bytes.",
                    file=self.path.name,
                )
            data = self._archive.read(part)
        except KeyError as error:
            raise self._damaged(f"{part or 'a part'} is missing in it") from error
        except DAMAGE as error:
            raise self._damaged(str(error)) from error
        return list_elements(data, self.path.name)

    def _damaged(self, reason: str) -> FileFormatError:
        return FileFormatError(f"{self.path.name} is no readable workbook: {reason}.", path=str(self.path))


def _refuse_compound_file(path: Path) -> None:
    limits.require_readable(path)
    try:
        with path.open("rb") as handle:
            start = handle.read(len(_COMPOUND_FILE))
    except OSError as error:
        raise FileFormatError(f"{path} cannot be read: {error.strerror or error}.", path=str(path)) from error
    if start == _COMPOUND_FILE:
        raise FileFormatError(
            f"{path.name} has a password or is of the old kind (.xls); save it as .xlsx without a password.",
            path=str(path),
        )


def _unescape(text: str) -> str:
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text
