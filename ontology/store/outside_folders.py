"""Stores of outside frameworks, each in a folder of its own within the folder of the store they stand beside.

An outside framework is replaced whole: a store is filled beside it and takes its place in one step.
"""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path
from typing import Final

from ontology.errors import StoreLockedError
from ontology.store.engine import Store
from ontology.store.folder import CACHE_FILE, PRIVATE_MODE, StoreFolder

__all__ = ["OUTSIDE", "begin_outside", "list_outside", "open_soon", "remove_outside", "take_place"]

#: The folder of them within a store's.
OUTSIDE: Final = "outside"
#: A store that is being filled; an id does not begin so.
_FILLED: Final = "_"
_PATIENCE_S: Final = 20.0
_POLL_S: Final = 0.05


def list_outside(path: Path | None) -> dict[str, Path]:
    """Return id -> folder of the outside frameworks of a store, by id; none of a store in memory."""
    folder = path / OUTSIDE if path is not None else None
    if folder is None or not folder.is_dir():
        return {}
    return {one.name: one for one in sorted(folder.iterdir()) if StoreFolder(one).exists() and one.name[0] != _FILLED}


def open_soon(folder: Path) -> Store:
    """Open a store that others open for moments only.

    Raises
    ------
    StoreLockedError
        It stays open elsewhere.
    """
    deadline = time.monotonic() + _PATIENCE_S
    while True:
        try:
            return Store.open(folder)
        except StoreLockedError:
            if time.monotonic() > deadline:
                raise
            time.sleep(_POLL_S)


def begin_outside(path: Path, name: str) -> Path:
    """Return an empty folder in which a store can be filled that is to become the outside framework of this name."""
    (path / OUTSIDE).mkdir(mode=PRIVATE_MODE, exist_ok=True)
    filled = path / OUTSIDE / f"{_FILLED}{name}"
    shutil.rmtree(filled, ignore_errors=True)
    return filled


def take_place(path: Path, name: str) -> None:
    """Make what was filled, and is closed, the outside framework of this name, in one step.

    Where the process is killed the old one stays, or the new one is there.

    Raises
    ------
    StoreLockedError
        It stays open elsewhere.
    """
    filled, target = StoreFolder(path / OUTSIDE / f"{_FILLED}{name}"), StoreFolder(path / OUTSIDE / name)
    if not target.exists():
        target.create()
    _acquire_soon(target)
    try:
        generation = target.next_generation()
        shutil.rmtree(target.get_history(generation), ignore_errors=True)
        os.replace(filled.get_current(), generation)
        waiting = target.get_history(generation)
        if filled.get_history().is_dir():
            os.replace(filled.get_history(), waiting)
        else:
            waiting.mkdir()  # the files of what was there go with it
        # kept for another generation of the same revision it would be taken for that of this one
        target.drop_cache()
        target.switch_to(generation)
        target.clean_up()
        if (filled.path / CACHE_FILE).is_file():
            os.replace(filled.path / CACHE_FILE, target.path / CACHE_FILE)
        shutil.rmtree(filled.path, ignore_errors=True)
    finally:
        target.release()


def remove_outside(path: Path, name: str) -> None:
    """Remove an outside framework; without its pointer it is none, so that a killed removal leaves no half one."""
    folder = StoreFolder(path / OUTSIDE / name)
    _acquire_soon(folder)
    try:
        gone = path / OUTSIDE / f"{_FILLED}{name}"
        shutil.rmtree(gone, ignore_errors=True)
        os.replace(folder.path, gone)
        shutil.rmtree(gone, ignore_errors=True)
    finally:
        folder.release()


def _acquire_soon(folder: StoreFolder) -> None:
    deadline = time.monotonic() + _PATIENCE_S
    while True:
        try:
            folder.acquire()
        except StoreLockedError:
            if time.monotonic() > deadline:
                raise
            time.sleep(_POLL_S)
        else:
            return
