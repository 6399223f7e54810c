"""Files that were sent to be loaded, kept for a day: for who sent them alone, bounded in number and size.

Each lies in a folder of its own, below the folder of the store, so that a restart loses none. It is whole once its
note is there; what a killed process left without one is removed.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import os
import re
import shutil
import tempfile
import threading
import unicodedata
import weakref
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import IO, Any, Final

from ontology.errors import ConflictError, InputError, LimitError, NotFoundError, StorageFullError

KEPT_FOR: Final = dt.timedelta(hours=24)
SUFFIXES: Final = (".xlsx", ".xlsm", ".csv")
_NOTE: Final = "load.json"
_LAST: Final = "last"
_UNFIT: Final = re.compile(r"[^\w .()+-]")
_LONGEST_NAME: Final = 100
_MOST_FILES: Final = 100


@dataclass(frozen=True, slots=True)
class StoredLoad:
    """What storing a load led to: the revision, how many rows were new, changed a record, and were left out."""

    revision: int
    n_new: int
    n_changed: int
    n_left_out: int


@dataclass(frozen=True, slots=True)
class KeptLoad:
    """A load that is kept: its number, who sent it and when (UTC), its files in order, what was stored of it."""

    n: int
    sender: str
    sent_at: dt.datetime
    files: tuple[str, ...]
    n_bytes: int
    stored: StoredLoad | None = None

    @property
    def ends_at(self) -> dt.datetime:
        """When it is deleted."""
        return self.sent_at + KEPT_FOR


def _get_now() -> dt.datetime:
    return dt.datetime.now(dt.UTC).replace(microsecond=0)


def clean_name(name: str) -> str:
    """Return a file's name as it is kept: without a path, and without what is no part of a plain name.

    Examples
    --------
    >>> clean_name("../../etc/people.CSV"), clean_name("C:\\\\tables\\\\a<b>.xlsx"), clean_name(".csv")
    ('people.csv', 'a_b_.xlsx', 'table.csv')
    """
    last = re.split(r"[/\\\\]", unicodedata.normalize("NFC", name))[-1]
    stem, suffix = os.path.splitext(_UNFIT.sub("_", last).lstrip(". "))
    if not suffix and last.startswith("."):
        stem, suffix = "table", f".{stem}"
    return f"{stem.strip()[:_LONGEST_NAME] or 'table'}{suffix.lower()}"


class KeptLoads:
    """The loads of one application. Safe for many threads.

    Parameters
    ----------
    folder : Path or None
        Where they are kept; None for a folder that goes with this object.
    most, most_bytes : int
        How many are kept at once, and how many bytes together.
    get_now : callable
        The present moment, UTC.
    """

    def __init__(
        self, folder: Path | None, *, most: int, most_bytes: int, get_now: Callable[[], dt.datetime] = _get_now
    ) -> None:
        self._given = folder
        self._most, self._most_bytes = most, most_bytes
        self._get_now = get_now
        self._lock = threading.RLock()
        self._clock: threading.Timer | None = None
        self.sweep(with_broken=True)

    def keep(self, sender: str, files: Sequence[tuple[str, IO[bytes]]]) -> KeptLoad:
        """Keep some files as a new load.

        Raises
        ------
        InputError
            There is none, or one of another kind, or two of the same name.
        LimitError
            They are too many, or there is no room for them.
        StorageFullError
            The disk does not take them.
        """
        names = _check_names([name for name, _ in files])
        with self._lock:
            present = self.sweep()
            if len(present) >= self._most:
                raise LimitError(f"{len(present)} loads are kept already, and no more can be; throw one away first.")
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            n = self._take_number(present)
            place = self._folder / str(n)
            try:
                place.mkdir(mode=0o700)
                room = self._most_bytes - sum(load.n_bytes for load in present)
                for name, (_, stream) in zip(names, files, strict=True):
                    room -= _copy(stream, place / name, room)
                n_bytes = sum((place / name).stat().st_size for name in names)
                load = KeptLoad(n, sender, self._get_now(), names, n_bytes)
                self._write_note(load)
            except OSError as error:
                shutil.rmtree(place, ignore_errors=True)
                raise StorageFullError(f"The files could not be kept: {error.strerror or error}.") from error
            except BaseException:
                shutil.rmtree(place, ignore_errors=True)
                raise
            return load

    def get(self, n: int, sender: str) -> KeptLoad:
        """Return a load; NotFoundError where there is none of this number, or somebody else sent it."""
        for load in self.sweep():
            if load.n == n and load.sender == sender:
                return load
        raise NotFoundError(f"There is no load {n}: loads are kept for a day, for who sent them.")

    def list_of(self, sender: str) -> list[KeptLoad]:
        """Return the loads of a sender, the newest first."""
        return [load for load in reversed(self.sweep()) if load.sender == sender]

    def get_paths(self, load: KeptLoad) -> list[Path]:
        """Return where the files of a load lie."""
        return [self._folder / str(load.n) / name for name in load.files]

    def mark_stored(self, load: KeptLoad, stored: StoredLoad) -> None:
        """Keep what was stored of a load; its files are needed no more and go."""
        with self._lock:
            self._write_note(dataclasses.replace(load, stored=stored, n_bytes=0))
            for path in self.get_paths(load):
                path.unlink(missing_ok=True)

    def remove(self, load: KeptLoad) -> None:
        """Delete a load and its files."""
        with self._lock:
            shutil.rmtree(self._folder / str(load.n), ignore_errors=True)

    def sweep(self, *, with_broken: bool = False) -> list[KeptLoad]:
        """Delete what was kept for long enough and return the rest by number."""
        with self._lock:
            kept, now = [], self._get_now()
            for place in self._iterate_places():
                load = _read_note(place)
                is_over = load is not None and load.ends_at <= now
                if is_over or (load is None and with_broken):
                    shutil.rmtree(place, ignore_errors=True)
                elif load is not None:
                    kept.append(load)
            self._wake_at(min((load.ends_at for load in kept), default=None), now)
            return sorted(kept, key=lambda load: load.n)

    def _wake_at(self, end: dt.datetime | None, now: dt.datetime) -> None:
        """See to it that what is over goes, also where nobody asks any more."""
        is_set = self._clock is not None and self._clock.is_alive() and self._clock is not threading.current_thread()
        if end is None or is_set:
            return
        self._clock = threading.Timer((end - now).total_seconds() + 1, self.sweep)
        self._clock.daemon = True
        self._clock.start()

    @cached_property
    def _folder(self) -> Path:
        if self._given is not None:
            return self._given
        folder = tempfile.mkdtemp(prefix="newel-loads-")
        weakref.finalize(self, shutil.rmtree, folder, ignore_errors=True)
        return Path(folder)

    def _iterate_places(self) -> Iterator[Path]:
        if self._given is None and "_folder" not in vars(self):
            return  # nothing was kept yet
        if self._folder.is_dir():
            yield from (place for place in self._folder.iterdir() if place.name.isdecimal() and place.is_dir())

    def _take_number(self, present: Sequence[KeptLoad]) -> int:
        """Return a number that no load had before, as far as the folder tells."""
        path = self._folder / _LAST
        last = path.read_text("ascii", "replace").strip() if path.is_file() else ""
        n = 1 + max([int(last) if last.isdecimal() else 0, *(load.n for load in present)])
        path.write_text(f"{n}\n", "ascii")
        return n

    def _write_note(self, load: KeptLoad) -> None:
        told: dict[str, Any] = dataclasses.asdict(load) | {"sent_at": load.sent_at.isoformat()}
        path = self._folder / str(load.n) / _NOTE
        beside = path.with_suffix(".new")
        beside.write_text(json.dumps(told), "utf-8")
        os.replace(beside, path)


def _check_names(given: Sequence[str]) -> tuple[str, ...]:
    names = tuple(map(clean_name, filter(None, given)))
    if not names:
        raise InputError("Choose a file: a workbook (.xlsx), or one or more CSV files.")
    if len(names) > _MOST_FILES:
        raise LimitError(f"{len(names)} files were sent; at most {_MOST_FILES} are read together.")
    wrong = next((name for name in names if not name.endswith(SUFFIXES)), "")
    if wrong:
        raise InputError(f"{wrong} cannot be loaded here; send a workbook (.xlsx), or CSV files named like the tables.")
    twice = next((name for name in names if names.count(name) > 1), "")
    if twice:
        raise ConflictError(f"Two of the files are called {twice}; send one of them.")
    return names


def _copy(stream: IO[bytes], to: Path, room: int) -> int:
    """Write a file to its place and return its size; LimitError where there is no room."""
    size = 0
    descriptor = os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with open(descriptor, "wb") as target:
        while block := stream.read(1 << 20):
            size += len(block)
            if size > room:
                raise LimitError("There is no room to keep these files; throw an earlier load away, or send less.")
            target.write(block)
    return size


def _read_note(place: Path) -> KeptLoad | None:
    """Return the load in a folder; None where its note is missing or damaged."""
    try:
        told = json.loads((place / _NOTE).read_text("utf-8"))
        stored = StoredLoad(**told["stored"]) if told["stored"] else None
        sent_at = dt.datetime.fromisoformat(told["sent_at"])
        return KeptLoad(int(told["n"]), told["sender"], sent_at, tuple(told["files"]), told["n_bytes"], stored)
    except (OSError, ValueError, KeyError, TypeError):
        return None
