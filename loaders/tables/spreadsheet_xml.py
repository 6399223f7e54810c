"""The XML parts of a workbook, read as a stream and without document types.

Handlers, not trees: nothing is kept but what a handler keeps.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import IO, Final, Protocol
from xml.parsers import expat

from loaders import limits
from ontology.errors import FileFormatError

_CHUNK_BYTES: Final = 64 * 1024

Attributes = dict[str, str]


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
            f"{source} is not a readable workbook: it declares an XML document type, which no workbook has.",
            file=source,
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
        raise FileFormatError(f"{source} is not a readable workbook: bad XML ({error}).", file=source) from error


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
