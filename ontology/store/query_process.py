"""One process that answers queries from a copy of the store: started, asked within a time, killed.

What it may do is said by `ontology.store.query_worker`, which runs in it.
"""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ontology.errors import MalformedQueryError, NewelError, QueryFormError, QueryLimitError, UnavailableError

__all__ = ["Query", "QueryAnswer", "QueryEndedError", "QueryLimits", "QueryProcess"]

_WORKER: Final = "ontology.store.query_worker"
_ROOT: Final = Path(__file__).resolve().parents[2]
_LENGTH_BYTES: Final = 8
_BLOCK: Final = 1 << 16
#: Longer than a machine under load takes to start a process and to open a copy.
_START_WITHIN_S: Final = 20.0
_UNABLE: Final = "Queries are not answered here: the process that would answer them cannot be kept from the network."


@dataclass(frozen=True, slots=True)
class QueryLimits:
    """What a query may take: seconds, rows, bytes of its answer, bytes of memory; processes at once."""

    seconds: float = 5.0
    rows: int = 10_000
    answer_bytes: int = 10_000_000
    memory_bytes: int = 1_500_000_000
    processes: int = 2


@dataclass(frozen=True, slots=True)
class Query:
    """A query, the graphs that are its default graph and those it may name, and the forms its answer may have.

    `rows_form` is that of SELECT and ASK, `graph_form` that of CONSTRUCT and DESCRIBE; "" where none is taken.
    """

    text: str
    default_graphs: Sequence[str]
    named_graphs: Sequence[str]
    rows_form: str = "json"
    graph_form: str = "turtle"


@dataclass(frozen=True, slots=True)
class QueryAnswer:
    """What a query found, as text in a form; rows or triples told, and whether there were more; of which revision."""

    content: bytes
    form: str
    n_rows: int
    is_cut: bool
    revision: int = 0


class QueryEndedError(NewelError):
    """The process ended over a query: `limit` is "time" or "memory"."""

    def __init__(self, detail: str, limit: str) -> None:
        super().__init__(detail)
        self.limit = limit


class QueryProcess:
    """A process that has a copy open; used by one thread at a time.

    Raises
    ------
    UnavailableError
        It cannot be started.
    """

    def __init__(self, copy: Path, limits: QueryLimits) -> None:
        command = [sys.executable, "-P", "-s", "-m", _WORKER, str(copy), str(limits.memory_bytes)]
        try:
            self._process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                bufsize=0,
                start_new_session=True,  # a Ctrl-C in the terminal is for the server
                # the secrets of this process are not for it
                env={"PYTHONPATH": os.pathsep.join([str(_ROOT), *filter(None, sys.path)])},
            )
        except OSError as error:
            raise UnavailableError(f"No process can be started for a query: {error.strerror}.") from error
        self._is_open = False

    @property
    def is_alive(self) -> bool:
        """Whether it still runs."""
        return self._process.poll() is None

    def ask(self, query: Query, limits: QueryLimits) -> QueryAnswer:
        """Return the answer to a query.

        Raises
        ------
        QueryEndedError
            Its time is over, or the process ended over it; it is of no more use.
        QueryLimitError, MalformedQueryError, QueryFormError, UnavailableError
            As `QueryPool.ask` says.
        """
        self._wait_until_open()
        asked = {
            "query": query.text,
            "default": list(query.default_graphs),
            "named": list(query.named_graphs),
            "rows_form": query.rows_form,
            "graph_form": query.graph_form,
            "rows": limits.rows,
            "bytes": limits.answer_bytes,
            "seconds": limits.seconds,
        }
        latest = time.monotonic() + limits.seconds
        try:
            assert self._process.stdin is not None
            self._process.stdin.write(json.dumps(asked).encode() + b"\n")
            head, body = self._receive(latest)
        except TimeoutError:
            told = f"The query was not answered within {limits.seconds:g} s; ask for less, or in parts."
            raise QueryEndedError(told, "time") from None
        except (EOFError, OSError, ValueError):  # it ended, or was ended with the store
            told = "The query took more memory than it may, or is nested deeper than can be read."
            raise QueryEndedError(told, "memory") from None
        return _read_reply(head, body, limits)

    def stop(self) -> None:
        """Have it end, without waiting until it is gone."""
        self._process.kill()

    def kill(self) -> None:
        """End it, and wait until it is gone."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()

    def _wait_until_open(self) -> None:
        if self._is_open:
            return
        try:
            head, _ = self._receive(time.monotonic() + _START_WITHIN_S)
        except (EOFError, TimeoutError):
            raise UnavailableError("The process that answers queries did not start.") from None
        if head["status"] != "ready":
            raise UnavailableError(_UNABLE)
        self._is_open = True

    def _receive(self, latest: float) -> tuple[dict[str, Any], bytes]:
        length = int.from_bytes(self._read(_LENGTH_BYTES, latest), "big")
        head: dict[str, Any] = json.loads(self._read(length, latest))
        return head, self._read(head["length"], latest)

    def _read(self, n_bytes: int, latest: float) -> bytes:
        """Return so many bytes; TimeoutError where they do not come in time, EOFError where it ended."""
        assert self._process.stdout is not None
        pipe, text = self._process.stdout.fileno(), bytearray()
        while len(text) < n_bytes:
            left = latest - time.monotonic()
            if left <= 0 or not select.select([pipe], [], [], left)[0]:
                raise TimeoutError
            block = os.read(pipe, min(_BLOCK, n_bytes - len(text)))
            if not block:
                raise EOFError
            text += block
        return bytes(text)


def _read_reply(head: dict[str, Any], body: bytes, limits: QueryLimits) -> QueryAnswer:
    status = head["status"]
    if status == "malformed":
        raise MalformedQueryError(f"The query cannot be run: {head['detail']}.")
    if status == "form":
        kind = "SELECT and ASK" if head["kind"] == "rows" else "CONSTRUCT and DESCRIBE"
        raise QueryFormError(f"The answer to {kind} has none of the forms that are taken.", kind=head["kind"])
    if status == "limit":
        told = {
            "bytes": f"The answer has more than {limits.answer_bytes:,} bytes; ask for less, or in parts.",
            "memory": "The query took more memory than it may; ask for less, or in parts.",
        }
        raise QueryLimitError(told[head["limit"]], limit=head["limit"])
    return QueryAnswer(body, head["form"], int(head["rows"]), bool(head["is_cut"]))
