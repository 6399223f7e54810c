"""A note in the folder of a store that is being served: where the server can be asked, and a secret that opens it.

Only its owner can read it (mode 0600). The server removes it when it stops; one that a killed server left behind is
removed by the next process that opens the store (`ontology.store.folder`), and leads nowhere until then.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from ontology.store.folder import SERVED_NOTE

#: Where calls are sent, and the header that holds the secret.
ADDRESS: Final = "/command-line"
SECRET: Final = "Newel-Secret"
_SECRET_BYTES: Final = 32


@dataclass(frozen=True, slots=True)
class ServedNote:
    """Host and port of the server, and its secret."""

    host: str
    port: int
    secret: str


def make_note(host: str, port: int) -> ServedNote:
    """Return a note with a secret of its own."""
    return ServedNote(host, port, secrets.token_urlsafe(_SECRET_BYTES))


@contextmanager
def leaving_note(folder: Path | None, note: ServedNote) -> Iterator[None]:
    """Leave a note in a store's folder and take it away again; nothing for a store in memory.

    A folder that takes no note, on a full disk say, leaves the server as it is: then it cannot be asked this way.
    """
    if folder is None:
        yield
        return
    path = folder / SERVED_NOTE
    with suppress(OSError):
        _write(path, note)
    try:
        yield
    finally:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def _write(path: Path, note: ServedNote) -> None:
    temporary = path.with_name(path.name + ".new")
    temporary.unlink(missing_ok=True)
    # made anew, so that the mode is ours from its first byte on
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as handle:
        json.dump({"host": note.host, "port": note.port, "secret": note.secret}, handle)
    os.replace(temporary, path)


def read_note(folder: Path) -> ServedNote | None:
    """Return the note in a store's folder; None where there is none, or none that can be read."""
    try:
        members: dict[str, Any] = json.loads((folder / SERVED_NOTE).read_text("utf-8"))
        return ServedNote(str(members["host"]), int(members["port"]), str(members["secret"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
