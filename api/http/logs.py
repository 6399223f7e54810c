"""Logs: one JSON object a line, of fields that are listed here. No Flask.

No line holds an address, an id of a record or what somebody typed: of a message only its template is written, and of an
error its class and the lines of the program it came through.
"""

from __future__ import annotations

import json
import logging
import sys
import traceback
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Final, TextIO

from api.http.front import Seen

#: Every field a line may have, in this order.
FIELDS: Final = ("time", "level", "event", "request_id", "method", "route", "status", "ms", "error", "at")
_OURS: Final = ("request_id", "method", "route", "status", "ms", "error")
_OUR_ROOMS: Final = ("api", "loaders", "ontology", "newel")
_FRAMES: Final = 20
_encode: Final = json.JSONEncoder().encode
_LOG: Final = logging.getLogger("newel.requests")


class LineFormatter(logging.Formatter):
    """Writes a record of a log as one line of JSON."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "event": _tell_event(record),
        }
        told = vars(record)
        line |= {name: told[name] for name in _OURS if told.get(name) is not None}
        if record.exc_info and record.exc_info[0] is not None:
            line["error"] = record.exc_info[0].__name__
            line["at"] = _list_frames(record.exc_info[2])
        return _encode(line)


def _tell_event(record: logging.LogRecord) -> str:
    """Return what happened, without what was filled in or follows a colon: that may be an address or a name.

    Of what others log only who they are is sure to say nothing of anyone.
    """
    room = record.name.partition(".")[0]
    return str(record.msg).partition(":")[0] if room in _OUR_ROOMS else room


def _list_frames(trace: TracebackType | None) -> list[str]:
    frames = traceback.extract_tb(trace)[-_FRAMES:]
    return [f"{Path(frame.filename).name}:{frame.lineno} {frame.name}" for frame in frames]


def set_up_logs(level: int, stream: TextIO | None = None) -> None:
    """Write what this process logs from a level on, to stderr where nothing else is said."""
    handler = logging.StreamHandler(stream or sys.stderr)
    handler.setFormatter(LineFormatter())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level)


def log_request(seen: Seen) -> None:
    """Log a request that was answered."""
    if _LOG.isEnabledFor(logging.INFO):
        # made here: looking for the line that logs, as a logger does, takes as long as all the rest
        record = logging.LogRecord(_LOG.name, logging.INFO, "", 0, "request", (), None)
        vars(record).update(
            request_id=seen.request_id,
            method=seen.method,
            route=seen.route,
            status=seen.status,
            ms=round(seen.seconds * 1000, 2),
        )
        _LOG.handle(record)
