"""The folder of a store on disk: its generations, the pointer to the present one, and the lock.

``CURRENT`` names the present generation. It is replaced in one step (temporary file, fsync, `os.replace`,
fsync of the folder), so a crash leaves the old generation or the new one, never a mixture.
"""

from __future__ import annotations

import os
import re
import shutil
import stat
import time
from contextlib import suppress
from pathlib import Path
from typing import IO, Final

from ontology.errors import FileFormatError, StorageFullError, StoreLockedError
from ontology.store.bulk_history import FOLDER as HISTORY
from ontology.store.bulk_history import sync_folder
from ontology.store.copies import CHECKSUMS

try:
    import fcntl
except ImportError:  # pragma: no cover - not on this platform; the engine's own lock still guards a generation
    fcntl = None  # type: ignore[assignment]

#: Of the folder of a store, and of a copy of one.
PRIVATE_MODE: Final = 0o700
#: Kept free on the disk: an engine that runs out of room in the middle stops taking writes until it is opened again.
RESERVE_BYTES: Final = 16 * 1024 * 1024
#: A compiled Snapshot kept beside the generations: it may go at any time.
CACHE_FILE: Final = "snapshot-cache.npz"
#: Copies that queries are answered from: they may go at any time.
QUERIES: Final = "queries"
#: Left by a process that serves the store: where it can be asked. Nothing of the store, and in no backup.
SERVED_NOTE: Final = "served.json"
_CURRENT: Final = "CURRENT"
_LOCK: Final = "LOCK"
_PREFIX: Final = "generation-"
_NAME: Final = re.compile(_PREFIX + "[0-9]{1,12}")
_LONGEST_POINTER: Final = 100
#: What a folder may hold that is to become a store: a process may have been killed while it made one.
_OWN: Final = (_LOCK, f"{_CURRENT}.new", SERVED_NOTE)
#: Of a history that waits for the generation it belongs to: it becomes the store's own with it.
_WAITING: Final = f"{HISTORY}-"
_REMOVALS: Final = 40
_BETWEEN_REMOVALS_S: Final = 0.05


class StoreFolder:
    """A folder that holds generations of an engine's files, at most one of them present."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock_file: IO[str] | None = None
        self._begun: Path | None = None

    def exists(self) -> bool:
        """Whether the folder holds a store."""
        return (self.path / _CURRENT).is_file()

    def create(self) -> None:
        """Make the folder, or see that one that is there may become a store; `begin` makes its first generation.

        Raises
        ------
        FileFormatError
            The folder is a file, or holds other things already.
        """
        if self.path.exists() and not self.path.is_dir():
            raise FileFormatError(f"{self.path} is a file, not a store folder.", path=str(self.path))
        if self.path.is_dir() and not all(map(_is_own, self.path.iterdir())):
            raise FileFormatError(
                f"{self.path} holds other files; a store needs a folder of its own.", path=str(self.path)
            )
        # who can read the files reads everything about everyone
        self.path.mkdir(mode=PRIVATE_MODE, parents=True, exist_ok=True)

    def begin(self) -> Path:
        """Return the generation that a store without a pointer begins with: what a killed making of it left, or none.

        Nothing points to it before it is whole (`switch_to`).

        Raises
        ------
        FileFormatError
            There are several generations: the pointer to the present one was lost.
        """
        generations = [path for path in self.path.iterdir() if _is_generation(path)]
        if len(generations) > 1:
            reason = f"{_CURRENT} is missing and {len(generations)} generations are there; restore a backup"
            raise FileFormatError(f"The store in {self.path} is damaged: {reason}.", path=str(self.path))
        if generations:
            self.settle_history(generations[0])  # a restore that was killed leaves both
            return generations[0]
        self._begun = self.path / f"{_PREFIX}1"
        self._begun.mkdir()
        return self._begun

    def abandon(self) -> None:
        """Let go of the lock after an opening that failed, without what it began and nothing points to."""
        if self._begun is not None and not self.exists():
            shutil.rmtree(self._begun, ignore_errors=True)
        self.release()

    def acquire(self) -> None:
        """Lock the folder for this process until `release` (a killed process lets go by itself).

        Raises
        ------
        StoreLockedError
            Somebody else holds it.
        """
        handle = (self.path / _LOCK).open("a+", encoding="utf-8")
        if fcntl is not None:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError as error:
                handle.close()
                raise StoreLockedError(
                    f"Another process has the store in {self.path} open.", path=str(self.path)
                ) from error
        self._lock_file = handle

    def release(self) -> None:
        """Let go of the lock."""
        if self._lock_file is not None:
            self._lock_file.close()
            self._lock_file = None

    def get_current(self) -> Path:
        """Return the present generation.

        Raises
        ------
        FileFormatError
            The pointer is damaged or names a generation that is not there.
        """
        with (self.path / _CURRENT).open(encoding="utf-8", errors="replace") as handle:
            name = handle.read(_LONGEST_POINTER).strip()
        current = self.path / name
        if not _NAME.fullmatch(name) or not current.is_dir():
            raise FileFormatError(f"The store in {self.path} is damaged: it points to {name!r}.", path=str(self.path))
        return current

    def clean_up(self) -> Path:
        """Remove what a killed load or swap left behind and return the present generation."""
        current = self.get_current()
        self.settle_history(current)
        self.remove_others(current)
        shutil.rmtree(self.path / QUERIES, ignore_errors=True)
        # a killed bulk load leaves files that the engine never removes by itself
        for leftover in current.glob("bulk-*.sst"):
            leftover.unlink()
        # from now on the files change, and whoever left a note that they serve them is gone
        for name in (f"{_CURRENT}.new", CHECKSUMS, SERVED_NOTE, f"{SERVED_NOTE}.new"):
            (self.path / name).unlink(missing_ok=True)
        for pattern in ("backup-request-*", "backup-answer-*"):
            for request in self.path.glob(pattern):
                request.unlink(missing_ok=True)
        return current

    def get_history(self, generation: Path | None = None) -> Path:
        """Return where the files of bulk commits are; of a generation to come: where they wait for it."""
        return self.path / (HISTORY if generation is None else f"{_WAITING}{generation.name}")

    def settle_history(self, current: Path) -> None:
        """Put the history that came with the present generation in its place, and let go of any other that waits.

        Done again where a process was killed in the middle: what waits is there until it has its place.
        """
        waiting = self.get_history(current)
        if waiting.is_dir():
            shutil.rmtree(self.get_history(), ignore_errors=True)
            os.replace(waiting, self.get_history())
            sync_folder(self.path)
        for left in self.path.glob(f"{_WAITING}*"):
            shutil.rmtree(left, ignore_errors=True)

    def drop_cache(self) -> None:
        """Remove the kept Snapshot: after a restore its revision number may come again with other content."""
        (self.path / CACHE_FILE).unlink(missing_ok=True)

    def next_generation(self) -> Path:
        """Return the path of a generation that does not exist yet."""
        numbers = [int(path.name.removeprefix(_PREFIX)) for path in self.path.iterdir() if _is_generation(path)]
        with suppress(OSError, FileFormatError):  # a store that is to be replaced may be damaged or new
            numbers = [int(self.get_current().name.removeprefix(_PREFIX))]
        path = self.path / f"{_PREFIX}{max(numbers, default=0) + 1}"
        self.remove_generation(path)
        return path

    def remove_generation(self, path: Path) -> None:
        """Remove a generation that failed; the engine's threads may still be writing a last file into it.

        What is left in spite of that is removed at the next start.
        """
        for _ in range(_REMOVALS):
            shutil.rmtree(path, ignore_errors=True)
            if not path.exists():
                return
            time.sleep(_BETWEEN_REMOVALS_S)

    def remove_others(self, current: Path) -> None:
        """Remove every generation but one."""
        for path in self.path.iterdir():
            if _is_generation(path) and path != current:
                self.remove_generation(path)

    def require_free(self, n_bytes: int) -> None:
        """Raise when the disk has less room than a change will take.

        Raises
        ------
        StorageFullError
            Less than `n_bytes` and a reserve are free.
        """
        free = shutil.disk_usage(self.path).free
        if free < n_bytes + RESERVE_BYTES:
            raise StorageFullError(
                f"The disk of {self.path} has {free / 1e6:,.0f} MB free; this change needs "
                f"{(n_bytes + RESERVE_BYTES) / 1e6:,.0f} MB.",
                path=str(self.path),
            )

    def switch_to(self, generation: Path) -> None:
        """Make a generation the present one, in one step that survives a crash."""
        temporary = self.path / f"{_CURRENT}.new"
        with temporary.open("w", encoding="utf-8") as handle:
            handle.write(generation.name + "\n")
            handle.flush()
            os.fsync(handle.fileno())
        os.replace(temporary, self.path / _CURRENT)
        sync_folder(self.path)


def is_open_to_others(path: Path) -> bool:
    """Whether other users of this machine could read in a folder."""
    return bool(stat.S_IMODE(path.stat().st_mode) & ~PRIVATE_MODE)


def _is_generation(path: Path) -> bool:
    return _NAME.fullmatch(path.name) is not None and path.is_dir()


def _is_own(path: Path) -> bool:
    return path.name in _OWN or _is_generation(path) or path.name.startswith(_WAITING)
