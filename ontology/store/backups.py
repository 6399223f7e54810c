"""Backups of a store, in use or not, and putting one back.

Only the process that holds a store may copy its files safely. Another process leaves a request in the store's folder
and waits for the answer beside it.
"""

from __future__ import annotations

import json
import os
import shutil
import threading
import time
import uuid
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any, Final

from ontology.errors import (
    FileFormatError,
    InputError,
    NewelError,
    NotFoundError,
    StorageFullError,
    StoreLockedError,
    UnavailableError,
)
from ontology.store.bulk_history import PatchFiles
from ontology.store.copies import CHECKSUMS, require_checksums, unshare, write_checksums, writing_copy
from ontology.store.engine import Store
from ontology.store.engine_faults import reading_store
from ontology.store.folder import PRIVATE_MODE, StoreFolder
from ontology.store.outside_folders import OUTSIDE, list_outside, open_soon, remove_outside
from ontology.store.rewriting import Revise

_REQUEST: Final = "backup-request-"
_ANSWER: Final = "backup-answer-"
_POLL_S: Final = 0.2
#: Errors of the process that copies, told by the one that asked as what they are.
_KINDS: Final = {kind.__name__: kind for kind in (InputError, StorageFullError, UnavailableError)}


def backup_store(path: Path, to: Path, *, timeout_s: float = 60.0) -> int:
    """Copy the store in `path` into the new folder `to` and return the revision that was copied.

    Raises
    ------
    FileFormatError
        `to` exists and is not an empty folder.
    NotFoundError
        There is no store in `path`.
    StoreLockedError
        The store is in use by a process that does not answer within `timeout_s` seconds.
    """
    try:
        store = Store.open(path)
    except StoreLockedError:
        return _ask_for_backup(path, to, timeout_s)
    try:
        return copy_store(store, to)
    finally:
        store.close()


def copy_store(store: Store, to: Path) -> int:
    """Copy an open store into a new folder that is a store itself and return the revision copied.

    Beside it stand the checksums of its files, which `restore_store` compares. A copy that fails is removed.

    Raises
    ------
    FileFormatError
        `to` exists and is not an empty folder.
    InputError, StorageFullError, UnavailableError
        `to` lies in the store's own folder, or the copy cannot be written.
    """
    with writing_copy(to):
        if to.exists() and (not to.is_dir() or any(to.iterdir())):
            raise FileFormatError(f"{to} exists already; a backup needs a new folder.", path=str(to))
        if store.path is not None and store.path.resolve() in (to.resolve(), *to.resolve().parents):
            raise InputError(f"{to} lies in the store itself; a backup needs a folder elsewhere.", path=str(to))
        to.mkdir(mode=PRIVATE_MODE, parents=True, exist_ok=True)
        try:
            generation = to / "generation-1"
            folder = StoreFolder(to)
            revision = store.copy_generation(generation)
            unshare(generation)
            store.patches.copy_to(folder.get_history(), revision)
            write_checksums(generation, folder.get_history(), to / CHECKSUMS)
            _copy_outside(store.path, to)
            folder.switch_to(generation)
        except BaseException:
            shutil.rmtree(to, ignore_errors=True)
            raise
    return revision


def restore_store(backup_path: Path, path: Path, revise: Revise | None = None) -> int:
    """Make the store in `path` what a backup holds, in one step, and return its revision.

    `revise` may say how the copy is to be written anew before anything is switched.

    The backup is copied, compared with its checksums and read to its end before anything is switched; neither it nor
    the store may be in use.

    Raises
    ------
    InputError
        The backup is the store itself, or the store's folder cannot be written.
    NotFoundError
        `backup_path` holds no store.
    FileFormatError
        The backup is damaged; the store stays as it was.
    StoreLockedError
        The store, or the backup, is in use.
    StorageFullError, UnavailableError
        The copy cannot be written; the store stays as it was.
    """
    source, target = StoreFolder(backup_path), StoreFolder(path)
    with writing_copy(path):
        if not source.exists():
            raise NotFoundError(f"There is no backup in {backup_path}.", path=str(backup_path))
        if backup_path.resolve() == path.resolve():
            raise InputError(f"{backup_path} is the store itself; name a backup of it.", path=str(path))
        if not target.exists():
            target.create()
        target.acquire()
        with ExitStack() as held:
            held.callback(target.release)
            with suppress(OSError):  # a backup may lie where nothing can be written
                source.acquire()
                held.callback(source.release)
            _require_outside(backup_path)
            revision = _put_back(source, target, revise)
            _put_back_outside(backup_path, path)
            return revision


def _put_back(source: StoreFolder, target: StoreFolder, revise: Revise | None) -> int:
    current, generation = source.get_current(), target.next_generation()
    kept, history = source.get_history(), target.get_history(generation)
    copied = [*current.rglob("*"), *(kept.rglob("*") if kept.is_dir() else ())]
    target.require_free(sum(file.stat().st_size for file in copied if file.is_file()))
    try:
        shutil.copytree(current, generation, ignore=shutil.ignore_patterns("LOCK"))
        shutil.rmtree(history, ignore_errors=True)
        # the history of what was there goes, whether or not the backup has one of its own
        PatchFiles(kept).copy_to(history)
        require_checksums(generation, history, source.path / CHECKSUMS, source.path)
        revision = Store.require_sound(generation, source.path, history)
        if revise is not None:
            anew, history_anew = target.get_history(Path("anew")), target.get_history(Path("anew-files"))
            for left in (anew, history_anew):
                shutil.rmtree(left, ignore_errors=True)
            found = Store.rewrite_copy(generation, history, anew, history_anew, revise)
            if found is not None:
                _take_place(anew, generation)
                _take_place(history_anew, history)
                revision = found
        target.drop_cache()
        target.switch_to(generation)
    except BaseException:
        if not target.exists() or target.get_current() != generation:
            shutil.rmtree(generation, ignore_errors=True)
            shutil.rmtree(history, ignore_errors=True)
        raise
    target.clean_up()
    return revision


def _copy_outside(path: Path | None, to: Path) -> None:
    """Copy the outside frameworks that lie in a store's folder."""
    for name, folder in list_outside(path).items():
        outside = open_soon(folder)
        try:
            copy_store(outside, to / OUTSIDE / name)
        finally:
            outside.close()


def _require_outside(backup: Path) -> None:
    """Raise FileFormatError where an outside framework of a backup is damaged."""
    for folder in map(StoreFolder, list_outside(backup).values()):
        require_checksums(folder.get_current(), folder.get_history(), folder.path / CHECKSUMS, folder.path)


def _put_back_outside(backup: Path, path: Path) -> None:
    """Make the outside frameworks those of a backup, one after the other."""
    wanted = list_outside(backup)
    for name in list_outside(path).keys() - wanted.keys():
        remove_outside(path, name)
    for name, folder in wanted.items():
        restore_store(folder, path / OUTSIDE / name)


def _take_place(anew: Path, place: Path) -> None:
    shutil.rmtree(place)
    os.replace(anew, place)


def answer_backup_requests(store: Store) -> threading.Thread | None:
    """Answer the requests left in the store's folder on a thread of its own, until the process or the folder is gone.

    Returns the thread, None for a store in memory.
    """
    if store.path is None:
        return None
    thread = threading.Thread(target=_answer_without_end, args=(store, store.path), daemon=True)
    thread.start()
    return thread


def _ask_for_backup(path: Path, to: Path, timeout_s: float) -> int:
    name = uuid.uuid4().hex
    request, answer = path / f"{_REQUEST}{name}", path / f"{_ANSWER}{name}"
    with reading_store(path):
        _write(request, {"to": str(to.absolute())})
    deadline = time.monotonic() + timeout_s
    try:
        while time.monotonic() < deadline:
            if answer.exists():
                said: dict[str, Any] = json.loads(answer.read_text(encoding="utf-8"))
                if "error" in said:
                    raise _KINDS.get(said.get("kind", ""), FileFormatError)(said["error"], path=str(to))
                return int(said["revision"])
            time.sleep(_POLL_S)
    finally:
        request.unlink(missing_ok=True)
        answer.unlink(missing_ok=True)
    raise StoreLockedError(
        f"Another process has the store in {path} open and does not answer; stop it, or back up while it serves.",
        path=str(path),
    )


def _answer_without_end(store: Store, folder: Path) -> None:
    while folder.is_dir():
        for request in sorted(folder.glob(f"{_REQUEST}*[0-9a-f]")):
            _answer(store, folder, request)
        time.sleep(_POLL_S)


def _answer(store: Store, folder: Path, request: Path) -> None:
    answer: dict[str, Any]
    try:
        wanted = json.loads(request.read_text(encoding="utf-8"))
        answer = {"revision": copy_store(store, Path(wanted["to"]))}
    except NewelError as error:
        answer = {"error": error.detail, "kind": type(error).__name__}
    except (OSError, ValueError, KeyError, TypeError) as error:
        answer = {"error": f"The backup could not be written: {error}"}
    with suppress(OSError):  # a disk without room for the answer: whoever asked is told that none came
        request.unlink(missing_ok=True)
        _write(folder / f"{_ANSWER}{request.name.removeprefix(_REQUEST)}", answer)


def _write(path: Path, content: dict[str, Any]) -> None:
    temporary = path.with_name(path.name + ".new")
    temporary.write_text(json.dumps(content), encoding="utf-8")
    os.replace(temporary, path)
