"""Backups of a store, in use or not, and putting one back. Imports store, store_folder, errors.

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
from pathlib import Path
from typing import Any, Final

from ontology.errors import FileFormatError, NewelError, NotFoundError, StoreLockedError
from ontology.store import Store
from ontology.store_folder import StoreFolder

_REQUEST: Final = "backup-request-"
_ANSWER: Final = "backup-answer-"
_POLL_S: Final = 0.2


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

    Raises
    ------
    FileFormatError
        `to` exists and is not an empty folder.
    """
    if to.exists() and (not to.is_dir() or any(to.iterdir())):
        raise FileFormatError(f"{to} exists already; a backup needs a new folder.", path=str(to))
    target = StoreFolder(to)
    to.mkdir(parents=True, exist_ok=True)
    generation = to / "generation-1"
    revision = store.copy_generation(generation)
    target.switch_to(generation)
    return revision


def restore_store(backup_path: Path, path: Path) -> int:
    """Make the store in `path` what a backup holds, in one step, and return its revision.

    The backup is copied and opened before anything is switched; the store must not be in use.

    Raises
    ------
    NotFoundError
        `backup_path` holds no store.
    FileFormatError
        The backup is damaged; the store stays as it was.
    StoreLockedError
        The store is in use.
    """
    source, target = StoreFolder(backup_path), StoreFolder(path)
    if not source.exists():
        raise NotFoundError(f"There is no backup in {backup_path}.", path=str(backup_path))
    if not target.exists():
        target.create()
    target.acquire()
    try:
        generation = target.next_generation()
        try:
            shutil.copytree(source.get_current(), generation, ignore=shutil.ignore_patterns("LOCK"))
            revision = Store.read_revision_of(generation)
        except BaseException:
            shutil.rmtree(generation, ignore_errors=True)
            raise
        target.drop_cache()
        target.switch_to(generation)
        target.clean_up()
        return revision
    finally:
        target.release()


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
    _write(request, {"to": str(to.absolute())})
    deadline = time.monotonic() + timeout_s
    try:
        while time.monotonic() < deadline:
            if answer.exists():
                said: dict[str, Any] = json.loads(answer.read_text(encoding="utf-8"))
                if "error" in said:
                    raise FileFormatError(said["error"], path=str(to))
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
        answer = {"error": error.detail}
    except (OSError, ValueError, KeyError, TypeError) as error:
        answer = {"error": f"The backup could not be written: {error}"}
    request.unlink(missing_ok=True)
    _write(folder / f"{_ANSWER}{request.name.removeprefix(_REQUEST)}", answer)


def _write(path: Path, content: dict[str, Any]) -> None:
    temporary = path.with_name(path.name + ".new")
    temporary.write_text(json.dumps(content), encoding="utf-8")
    os.replace(temporary, path)
