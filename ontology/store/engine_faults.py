"""What the engine and the disk raise while a store is opened or read, as errors of ours."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from ontology.errors import FileFormatError, StorageFullError, StoreLockedError, UnavailableError, shorten

#: How the engine says that its files are held: by another process, by this one.
_LOCKED: Final = ("While lock file", "lock hold by")
#: How the engine tells what is no damage: "IO error: No space left on device: While appending to file: ...".
_FULL: Final = ("No space left on device", "Disk quota exceeded")
_BARRED: Final = ("Permission denied", "Read-only file system", "Operation not permitted", "Too many open files")
_LONGEST: Final = 300


@contextmanager
def reading_store(path: Path | None) -> Iterator[None]:
    """Turn what goes wrong while the store in `path` (None: in memory) is opened or read into an error of ours.

    Raises
    ------
    StoreLockedError
        The engine's files are held already.
    StorageFullError, UnavailableError
        The disk is full, or the system bars the way to them.
    FileFormatError
        They are damaged.
    """
    try:
        yield
    except (OSError, RuntimeError) as error:  # the engine calls damage the one or the other
        text = " ".join(str(error).split())
        if any(words in text for words in _LOCKED):
            raise StoreLockedError(f"Another process has the store in {path} open.", path=str(path)) from error
        if any(words in text for words in _FULL):
            raise StorageFullError(f"The disk of {path} is full.", path=str(path)) from error
        if (isinstance(error, OSError) and error.strerror) or any(words in text for words in _BARRED):
            raise UnavailableError(f"The store in {path} cannot be opened: {tell_reason(error)}.") from error
        detail = (
            f"The store in {path} cannot be read, its files are damaged; restore a backup: {shorten(text, _LONGEST)}"
        )
        raise FileFormatError(detail, path=str(path)) from error


def tell_reason(error: Exception) -> str:
    """Return on one line why the system refused, and which file it was about where that is known."""
    if isinstance(error, OSError) and error.strerror:
        about = f" ({error.filename})" if isinstance(error.filename, str) else ""
        return " ".join(error.strerror.split()) + about
    return shorten(" ".join(str(error).split()), _LONGEST)
