"""Giving a revision a name: what a release may be called, and the present state named by itself."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Final, Protocol

from ontology.errors import ConflictError, InputError, UnknownIdError
from ontology.model.columns import ID_PATTERN, LONGEST_ID
from ontology.snapshot.snapshot import Snapshot
from ontology.store.commit_text import Beside, get_revision_quad
from ontology.store.releases import Release, read_releases

if TYPE_CHECKING:
    from ontology.live.as_of import PastStates
    from ontology.store.engine import Store

__all__ = ["Releases", "make_release"]

_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
#: Longest reason that is taken, in characters.
LONGEST_REASON: Final = 500
_LONGEST_AUTHOR: Final = 200


class Graph(Protocol):
    """What is asked of a live graph."""

    store: Store
    past: PastStates
    tell_author: Callable[[str], str]

    def get_snapshot(self) -> Snapshot: ...


class Releases:
    """The releases of one open store."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph

    def list_all(self) -> list[Release]:
        """Return the releases, by revision and day, with their authors as they are called now."""
        return self._graph.past.list_releases()

    def get(self, version: str) -> Release:
        """Return a release; UnknownIdError where there is none."""
        for release in self.list_all():
            if release.version == version:
                return release
        raise UnknownIdError("releases", version)

    def name_present(
        self, version: str, *, who: str, reason: str, author: str = "", issued: date | None = None
    ) -> Release:
        """Give the present state a name. Errors as `make_release`, and ConflictError where nothing is stored yet."""
        with self._graph.store.lock:
            revision = self._graph.get_snapshot().revision
            if not revision:
                raise ConflictError("Nothing is stored yet: there is no state to name.", table="releases", id=version)
            release = make_release(
                self._graph.store, version, revision, author=author or who, reason=reason, issued=issued
            )
            self._graph.store.write_beside(Beside(release.describe()), [get_revision_quad(revision)])
        return replace(release, author=self._graph.tell_author(release.author))


def make_release(
    store: Store,
    version: str,
    revision: int,
    *,
    author: str,
    reason: str,
    issued: date | None = None,
    from_draft: str = "",
) -> Release:
    """Return a release that may be written; it is dated today where no day is given.

    Raises
    ------
    InputError
        The version could be taken for another state, the reason is missing or too long, or the day is after today.
    ConflictError
        There is a release of this version.
    """
    if not ID_PATTERN.fullmatch(version) or len(version) > LONGEST_ID:
        raise _refuse("version", version, "must be an id: letters, digits and . _ - after a letter or digit")
    if version.isdigit() or _DAY.fullmatch(version) or version == "now":
        raise _refuse("version", version, "would be taken for a revision, a day or the present state; add a letter")
    if not reason.strip() or len(reason) > LONGEST_REASON:
        raise _refuse("reason", reason, f"must have 1 to {LONGEST_REASON} characters")
    if len(author) > _LONGEST_AUTHOR:
        raise _refuse("author", author, f"must have at most {_LONGEST_AUTHOR} characters")
    today = store.get_today()
    if issued is not None and issued > today:
        raise _refuse("date", issued.isoformat(), f"must not be after today, {today.isoformat()}")
    if any(release.version == version for release in read_releases(store)):
        raise ConflictError(f"There is a release {version!r} already.", table="releases", id=version)
    return Release(version, revision, issued or today, author, reason.strip(), from_draft)


def _refuse(parameter: str, value: str, reason: str) -> InputError:
    return InputError(f"{parameter} {reason} (given: {value!r}).", parameter=parameter, value=value, reason=reason)
