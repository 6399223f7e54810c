"""Copies of a store's files: whether they are whole, and what can go wrong while they are written.

The engine notices damage only in what it reads, so every byte is compared with what it was when the copy was made.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from ontology.errors import FileFormatError, InputError, NewelError, StorageFullError, UnavailableError
from ontology.store.bulk_history import FOLDER as HISTORY
from ontology.store.bulk_history import list_patch_files
from ontology.store.engine_faults import tell_reason

#: Stands in a backup's folder until it is opened as a store of its own, which changes its files.
CHECKSUMS: Final = "checksums.json"
_FULL: Final = (errno.ENOSPC, errno.EDQUOT)
_BROKEN: Final = (errno.EIO,)
#: What the engine makes for itself when it opens files; no content.
_PASSING: Final = ("LOCK",)


def unshare(generation: Path) -> None:
    """Give each file bytes of its own: the engine links where it can, and damage to one would be damage to both."""
    for path in sorted(generation.iterdir()):
        if path.is_file() and path.stat().st_nlink > 1:
            own = path.with_name(path.name + ".own")
            shutil.copyfile(path, own)
            os.replace(own, path)


def write_checksums(generation: Path, history: Path, path: Path) -> None:
    """Write name -> SHA-256 of every file of a generation and of the history beside it. O(bytes)."""
    path.write_text(json.dumps(_compute(generation, history), indent=1), encoding="utf-8")


def require_checksums(generation: Path, history: Path, path: Path, backup: Path) -> None:
    """Raise FileFormatError where what was copied differs from the checksums of its backup, if there are any."""
    if not path.exists():
        return  # it was opened as a store since, or comes from elsewhere
    try:
        wanted = json.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:
        raise FileFormatError(f"The backup in {backup} is damaged: {path.name} cannot be read.") from error
    found = _compute(generation, history)
    if found != wanted:
        names = sorted(name for name in {*found, *wanted} if found.get(name) != wanted.get(name))
        raise FileFormatError(
            f"The backup in {backup} is damaged: {names[0]} is not as it was written.", path=str(backup)
        )


def _compute(generation: Path, history: Path) -> dict[str, str]:
    files = [(path.name, path) for path in sorted(generation.iterdir()) if path.is_file()]
    files += [(f"{HISTORY}/{name}", history / name) for name in list_patch_files(history)]
    sums = {}
    for name, path in files:
        if name not in _PASSING:
            with path.open("rb") as handle:
                sums[name] = hashlib.file_digest(handle, "sha256").hexdigest()
    return sums


@contextmanager
def writing_copy(to: Path) -> Iterator[None]:
    """Turn what goes wrong while a copy is written into an error of ours.

    Raises
    ------
    StorageFullError, UnavailableError
        The disk has no room for it, or is broken.
    InputError
        Nothing can be written there.
    """
    try:
        yield
    except (OSError, RuntimeError) as error:  # the engine raises both
        # a tree has a line for each file, and they fail for one reason
        reason = str(error.args[0][0][-1]) if isinstance(error, shutil.Error) else tell_reason(error)
        number = getattr(error, "errno", None)
        kind: type[NewelError] = InputError if number is not None and number not in _BROKEN else UnavailableError
        if number in _FULL or "No space left" in reason:
            kind = StorageFullError
        raise kind(f"{to} cannot be written: {reason}.", path=str(to)) from error
