"""Where a file of linked data breaks its syntax, in lines, where rdflib does not say so.

JSON-LD: a name twice in an object is refused, since readers keep the one or the other value without a word (RFC 8259,
section 4). N-Triples and N-Quads: each line stands by itself (W3C RDF 1.1 N-Triples, section 2). RDF/XML: rdflib writes
the place into its message.
"""

from __future__ import annotations

import json
import re
import warnings
from typing import Any, Final

from rdflib import Dataset, Graph
from rdflib.exceptions import ParserError

from ontology.errors import shorten

#: How rdflib begins what it says of RDF/XML: the system id, the line and the column.
_PLACE: Final = re.compile(r"\S*?:(\d+):\d+: ")

#: A name, another text, or what begins and ends an object.
_TOKEN: Final = re.compile(r'("(?:[^"\\]|\\.)*")(?=\s*:)|"(?:[^"\\]|\\.)*"|[{}]', re.DOTALL)
_MOST_DIGITS: Final = 1_000


class DuplicateNameError(ValueError):
    """An object of a JSON text has a name twice; `lineno` is the line of the second, `msg` says it."""

    def __init__(self, name: str, lineno: int) -> None:
        self.msg = f"the name {name!r} stands twice in one object; put the values into one array"
        self.lineno = lineno
        super().__init__(self.msg)


def read_json(text: str) -> Any:
    """Return the value of a JSON text, strictly: no NaN, no name twice in an object.

    Raises
    ------
    json.JSONDecodeError, DuplicateNameError
        It is none; both tell the line as `lineno` and the reason as `msg`.
    """

    def refuse(word: str) -> Any:
        raise json.JSONDecodeError(f"{shorten(word, 20)} is not a JSON number", text, text.find(word))

    def read_integer(digits: str) -> int:
        return int(digits) if len(digits) <= _MOST_DIGITS else refuse(digits)

    def build(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            raise DuplicateNameError(*_find_second(text))
        return found

    return json.loads(text, parse_constant=refuse, parse_int=read_integer, object_pairs_hook=build)


def _find_second(text: str) -> tuple[str, int]:
    """Return the first name that stands twice in an object of a JSON text, and the line of the second."""
    inside: list[set[str]] = []
    for match in _TOKEN.finditer(text):
        name = match[1]
        if match[0] == "{":
            inside.append(set())
        elif match[0] == "}":
            inside.pop()
        elif name is not None and inside:
            name = json.loads(name)
            if name in inside[-1]:
                return name, text.count("\n", 0, match.start()) + 1
            inside[-1].add(name)
    return "", 0


def find_fault(data: bytes, kind: str, message: str) -> tuple[int, str]:
    """Return the line (0: not known) and the reason of what rdflib says about a file of this format."""
    match = _PLACE.match(message)
    if kind == "xml" and match is not None:
        return int(match[1]), message[match.end() :]
    if kind not in ("nt", "nquads"):
        return 0, message
    return _find_bad_line(data.decode("utf-8-sig").split("\n"), kind), message


def _find_bad_line(lines: list[str], kind: str) -> int:
    """Return the number of the first line that cannot be read by itself. O(n): the half that is sound is left out."""
    start, end = 0, len(lines)
    if _is_sound(lines, kind):
        return 0
    while end - start > 1:
        middle = (start + end) // 2
        if _is_sound(lines[start:middle], kind):
            start = middle
        else:
            end = middle
    return start + 1


def _is_sound(lines: list[str], kind: str) -> bool:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # rdflib's own readers of named graphs use such
        try:
            (Dataset() if kind == "nquads" else Graph()).parse(data="\n".join(lines) + "\n", format=kind)
        except ParserError:
            return False
    return True
