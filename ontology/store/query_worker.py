"""A process that answers queries from a copy of the store, one after the other, and can do nothing else.

The engine cannot be interrupted, so whoever started this process kills it when its time is over. It may take no more
memory than it is told, and once the copy is open it can open no file and no socket: its highest number of an open file
is the one it has. A line of JSON asks; the reply is the length of a head, the head as JSON, and a body.

``python -m ontology.store.query_worker COPY MEMORY``
"""

from __future__ import annotations

import itertools
import json
import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import IO, Any, Final

import pyoxigraph as ox

from ontology.rdf.namespaces import PREFIXES
from ontology.store.opened_files import open_every_file
from ontology.store.query_results import BOOLEAN_FORMS, ROW_FORMS

try:
    import resource
except ImportError:  # pragma: no cover - not on this platform, and then no query is answered
    resource = None  # type: ignore[assignment]

__all__ = ["LENGTH_BYTES", "answer", "main"]

#: Bytes that hold the length of a reply's head.
LENGTH_BYTES: Final = 8
#: Seconds of processor time beyond the time limit after which a worker that nobody watches any more ends.
_ALONE_S: Final = 3
_GRAPH_FORMS: Final = {"turtle": ox.RdfFormat.TURTLE, "n-triples": ox.RdfFormat.N_TRIPLES}


class _TooLargeError(Exception):
    """The answer has more bytes than it may have."""


def answer(store: ox.Store, asked: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    """Return the head and the body of the reply to what is asked: done, malformed, form or limit."""
    try:
        result = store.query(
            asked["query"],
            default_graph=[ox.NamedNode(iri) for iri in asked["default"]],
            named_graphs=[ox.NamedNode(iri) for iri in asked["named"]],
        )
        is_graph = isinstance(result, ox.QueryTriples)
        form = asked["graph_form" if is_graph else "rows_form"]
        if not form:
            return {"status": "form", "kind": "graph" if is_graph else "rows"}, b""
        counted, parts = _write(result, form, asked["rows"])
        body = _join(parts, asked["bytes"])
    except _TooLargeError:
        return {"status": "limit", "limit": "bytes"}, b""
    except MemoryError:
        return {"status": "limit", "limit": "memory"}, b""
    except (SyntaxError, ValueError, OSError, RuntimeError) as error:
        return {"status": "malformed", "detail": str(error)}, b""
    return {"status": "done", "form": form, "rows": counted.n, "is_cut": counted.is_cut}, body


class _Counted:
    """What a query found, up to a number of rows; afterwards how many there were, and whether there were more."""

    def __init__(self, found: Iterable[Any], most: int) -> None:
        self._found = iter(found)
        self._most = most
        self.n = 0
        self.is_cut = False

    def __iter__(self) -> Iterator[Any]:
        for each in itertools.islice(self._found, self._most):
            self.n += 1
            yield each
        self.is_cut = next(self._found, None) is not None


def _write(result: object, form: str, most: int) -> tuple[_Counted, Iterator[bytes]]:
    """Return what counts the result of a query, and the parts of its text, which are made as they are asked for."""
    if isinstance(result, ox.QueryTriples):
        counted = _Counted(dict.fromkeys(result), most)
        return counted, _write_graph(form, counted)
    if isinstance(result, ox.QuerySolutions):
        counted = _Counted(result, most)
        return counted, _write_rows(form, [variable.value for variable in result.variables], counted)
    counted = _Counted([result], most)
    return counted, _write_boolean(form, counted)


def _write_rows(form: str, names: Sequence[str], rows: _Counted) -> Iterator[bytes]:
    return (part.encode() for part in ROW_FORMS[form](names, map(list, rows)))


def _write_boolean(form: str, rows: _Counted) -> Iterator[bytes]:
    before, behind = BOOLEAN_FORMS[form]
    for told in rows:
        yield f"{before}{'true' if told else 'false'}{behind}".encode()


def _write_graph(form: str, triples: _Counted) -> Iterator[bytes]:
    found = list(triples)
    terms = {str(term) for triple in found for term in (triple.subject, triple.predicate, triple.object)}
    named = {name: start for name, start in PREFIXES.items() if any(start in term for term in terms)}
    yield ox.serialize(found, format=_GRAPH_FORMS[form], prefixes=named if form == "turtle" else None) or b""


def _join(parts: Iterable[bytes], most: int) -> bytes:
    text = bytearray()
    for part in parts:
        text += part
        if len(text) > most:
            raise _TooLargeError
    return bytes(text)


def main(copy: Path, memory_bytes: int, questions: IO[bytes], replies: IO[bytes]) -> None:
    """Answer until nobody asks any more. The first reply says that the copy is open."""
    if resource is None or not hasattr(resource, "RLIMIT_AS"):
        _reply(replies, {"status": "unable"}, b"")
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    store = ox.Store.read_only(str(copy))
    open_every_file(store, copy)
    lowest = os.dup(0)
    os.close(lowest)
    resource.setrlimit(resource.RLIMIT_NOFILE, (lowest, lowest))
    _reply(replies, {"status": "ready"}, b"")
    for line in questions:
        asked = json.loads(line)
        usage = resource.getrusage(resource.RUSAGE_SELF)
        spent_s = int(usage.ru_utime + usage.ru_stime + asked["seconds"]) + _ALONE_S
        resource.setrlimit(resource.RLIMIT_CPU, (spent_s, resource.RLIM_INFINITY))
        _reply(replies, *answer(store, asked))


def _reply(replies: IO[bytes], head: dict[str, Any], body: bytes) -> None:
    told = json.dumps(head | {"length": len(body)}).encode()
    replies.write(len(told).to_bytes(LENGTH_BYTES, "big") + told + body)
    replies.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), sys.stdin.buffer, sys.stdout.buffer)
