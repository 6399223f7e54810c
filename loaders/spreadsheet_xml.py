"""The XML parts of a workbook, read as a stream and without document types. Imports limits, errors.

Handlers, not trees: nothing is kept but what a handler keeps. ECMA-376 Part 1, 18.3 (sheets), 18.4 (shared texts).
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from typing import IO, Final, Protocol
from xml.parsers import expat

from loaders import limits
from ontology.errors import FileFormatError, LimitError

_CHUNK_BYTES: Final = 64 * 1024

Attributes = dict[str, str]
Row = list[object]
#: Type, text (None where there is none), style, and whether there is a formula -> the value of a cell.
ConvertCell = Callable[[str, str | None, str, bool], object]


class Handler(Protocol):
    """What hears of the elements of a part; names come without prefix."""

    def start(self, name: str, attributes: Attributes) -> None:
        """An element begins."""

    def end(self, name: str) -> None:
        """An element ends."""

    def text(self, characters: str) -> None:
        """Characters stand between tags."""


def parse_part(stream: IO[bytes], handler: Handler, source: str) -> Iterator[None]:
    """Read a part piece by piece and yield after each, so that the caller can take what the handler found.

    Raises
    ------
    FileFormatError
        It is no XML, or declares a document type: entities expand, and outside parts would be fetched.
    """

    def start(name: str, attributes: Attributes) -> None:
        handler.start(name.rpartition(":")[2] if ":" in name else name, attributes)

    def end(name: str) -> None:
        handler.end(name.rpartition(":")[2] if ":" in name else name)

    def refuse(*_: object) -> None:
        raise FileFormatError(
            f"{source} is no readable workbook: it declares an XML document type, which no workbook has.", file=source
        )

    reader = expat.ParserCreate()
    reader.buffer_text = True
    reader.StartElementHandler = start
    reader.EndElementHandler = end
    reader.CharacterDataHandler = handler.text
    reader.StartDoctypeDeclHandler = refuse
    try:
        while chunk := stream.read(_CHUNK_BYTES):
            reader.Parse(chunk, False)
            yield
        reader.Parse(b"", True)
        yield
    except (expat.ExpatError, LookupError) as error:  # LookupError: an encoding that does not exist
        raise FileFormatError(f"{source} is no readable workbook: bad XML ({error}).", file=source) from error


class _Starts:
    """Keeps every element that begins."""

    def __init__(self) -> None:
        self.found: list[tuple[str, Attributes]] = []

    def start(self, name: str, attributes: Attributes) -> None:
        self.found.append((name, attributes))

    def end(self, name: str) -> None:
        """Nothing hangs on it."""

    def text(self, characters: str) -> None:
        """Nothing hangs on it."""


def list_elements(data: bytes, source: str) -> list[tuple[str, Attributes]]:
    """Return the elements of a small part in the order they begin; errors as `parse_part`."""
    starts = _Starts()
    for _ in parse_part(io.BytesIO(data), starts, source):
        pass
    return starts.found


class Texts:
    """The shared texts: the runs of each joined, phonetic readings left out."""

    def __init__(self) -> None:
        self.found: list[str] = []
        self._parts: list[str] = []
        self._is_open = False
        self._n_phonetic = 0

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "t":
            self._is_open = not self._n_phonetic
        elif name == "rPh":
            self._n_phonetic += 1
        elif name == "si":
            self._parts = []

    def end(self, name: str) -> None:
        if name == "t":
            self._is_open = False
        elif name == "rPh":
            self._n_phonetic -= 1
        elif name == "si":
            self.found.append("".join(self._parts))

    def text(self, characters: str) -> None:
        if self._is_open:
            self._parts.append(characters)


class Cells:
    """The rows of a sheet. `rows` holds (row number, cells) of those that ended since it was emptied last."""

    def __init__(self, convert: ConvertCell, source: str) -> None:
        self.rows: list[tuple[int, Row]] = []
        self._convert = convert
        self._source = source
        self._number = 0
        self._cells: Row = []
        self._next = 0
        self._column = 0
        self._kind = "n"
        self._style = ""
        self._has_formula = False
        self._is_open = False
        self._n_phonetic = 0
        self._parts: list[str] | None = None
        self._n_characters = 0

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "c":
            place = attributes.get("r")
            self._column = self._next if place is None else get_column(place)
            self._kind = attributes.get("t", "n")
            self._style = attributes.get("s", "")
            self._has_formula = False
            self._parts = None
            self._n_characters = 0
        elif name == "v":
            self._is_open = True
        elif name == "t":
            self._is_open = not self._n_phonetic
        elif name == "f":
            self._has_formula = True
        elif name == "row":
            self._begin_row(attributes.get("r"))
        elif name == "rPh":
            self._n_phonetic += 1

    def end(self, name: str) -> None:
        if name == "c":
            self._end_cell()
        elif name in ("v", "t"):
            self._is_open = False
        elif name == "row":
            self.rows.append((self._number, self._cells))
        elif name == "rPh":
            self._n_phonetic -= 1

    def text(self, characters: str) -> None:
        if not self._is_open:
            return
        if self._parts is None:
            self._parts = []
        self._parts.append(characters)
        self._n_characters += len(characters)
        if self._n_characters > limits.MAX_CELL_CHARACTERS:
            raise LimitError(
                f"{self._source}, row {self._number}: a cell has more than {limits.MAX_CELL_CHARACTERS:,} characters.",
                source=self._source,
            )

    def _begin_row(self, text: str | None) -> None:
        number = self._number + 1 if text is None else int(text) if text.isdecimal() and len(text) < 10 else 0
        if number <= self._number:
            raise FileFormatError(f"{self._source}: row {text} comes after row {self._number}.", source=self._source)
        limits.require_rows(self._source, number)
        self._number = number
        self._cells = []
        self._next = 0

    def _end_cell(self) -> None:
        if self._column < self._next:
            raise FileFormatError(
                f"{self._source}, row {self._number}: its cells do not run from left to right.", source=self._source
            )
        self._next = self._column + 1
        text = None if self._parts is None else "".join(self._parts)
        value = self._convert(self._kind, text, self._style, self._has_formula)
        cells = self._cells
        if value is not None and len(cells) <= limits.MAX_TABLE_COLUMNS:
            # what stands far to the right stands right after the last column that is read
            gap = min(self._column, limits.MAX_TABLE_COLUMNS) - len(cells)
            if gap:
                cells.extend([None] * gap)
            cells.append(value)


_COLUMNS: Final[dict[str, int]] = {}


def get_column(place: str) -> int:
    """Return the 0-based column of a cell name; a name that is none counts as far to the right.

    Examples
    --------
    >>> get_column("A1"), get_column("AB12")
    (0, 27)
    """
    letters = place.rstrip("0123456789")
    found = _COLUMNS.get(letters)
    if found is None:
        if not (letters.isascii() and letters.isalpha() and len(letters) < 4):
            return limits.MAX_TABLE_COLUMNS
        found = -1
        for letter in letters.upper():
            found = (found + 1) * 26 + ord(letter) - 65
        _COLUMNS[letters] = found
    return found
