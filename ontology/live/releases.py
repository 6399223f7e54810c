"""Giving a revision a name: what a release may be called, and the present state named by itself."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Protocol

from ontology.errors import ConflictError, NewelError, UnknownIdError, raise_together, refuse
from ontology.model.columns import ID_PATTERN, LONGEST_ID
from ontology.snapshot.snapshot import Snapshot
from ontology.store.commit_text import Beside, get_revision_quad
from ontology.store.releases import Release, read_releases

if TYPE_CHECKING:
    from ontology.live.as_of import PastStates
    from ontology.store.engine import Store

__all__ = ["NO_FAULTS", "Releases", "check_release", "make_release"]

#: Nothing is known to be wrong yet: parameter -> what is.
NO_FAULTS: Final[Mapping[str, NewelError]] = MappingProxyType({})

_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
#: Longest reason that is taken, in characters.
LONGEST_REASON: Final = 500
_LONGEST_AUTHOR: Final = 200
_PARTS: Final = ("version", "reason", "author", "date")


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
        self,
        version: str,
        *,
        who: str,
        reason: str,
        author: str = "",
        issued: date | None = None,
        faults: Mapping[str, NewelError] = NO_FAULTS,
    ) -> Release:
        """Give the present state a name. Errors as `make_release`, and ConflictError where nothing is stored yet."""
        with self._graph.store.lock:
            revision = self._graph.get_snapshot().revision
            if not revision:
                raise ConflictError("Nothing is stored yet: there is no state to name.", table="releases", id=version)
            release = make_release(
                self._graph.store,
                version,
                revision,
                author=author or who,
                reason=reason,
                issued=issued,
                faults=faults,
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
    faults: Mapping[str, NewelError] = NO_FAULTS,
) -> Release:
    """Return a release that may be written; dated today where no day is given; raises what `check_release` finds."""
    raise_together(check_release(store, version, author=author, reason=reason, issued=issued, faults=faults))
    return Release(version, revision, issued or store.get_today(), author, reason.strip(), from_draft)


def check_release(
    store: Store,
    version: str,
    *,
    author: str,
    reason: str,
    issued: date | None = None,
    faults: Mapping[str, NewelError] = NO_FAULTS,
) -> list[NewelError]:
    """Return all that is wrong with a release; `faults` are known already, by parameter.

    InputError: the version could be taken for another state, the reason is missing or too long, the author too long, or
    the day is after today. ConflictError: there is a release of this version.
    """
    found: list[NewelError] = []
    if not ID_PATTERN.fullmatch(version) or len(version) > LONGEST_ID:
        found.append(refuse("version", version, "must be an id: letters, digits and . _ - after a letter or digit"))
    elif version.isdigit() or _DAY.fullmatch(version) or version == "now":
        told = "would be taken for a revision, a day or the present state; add a letter"
        found.append(refuse("version", version, told))
    elif any(release.version == version for release in read_releases(store)):
        detail = f"There is a release {version!r} already."
        found.append(ConflictError(detail, table="releases", id=version, parameter="version", value=version))
    if not reason.strip() or len(reason) > LONGEST_REASON:
        found.append(refuse("reason", reason, f"must have 1 to {LONGEST_REASON} characters"))
    if len(author) > _LONGEST_AUTHOR:
        found.append(refuse("author", author, f"must have at most {_LONGEST_AUTHOR} characters"))
    today = store.get_today()
    if issued is not None and issued > today:
        found.append(refuse("date", issued.isoformat(), f"must not be after today, {today.isoformat()}"))
    named = {**{str(one.context["parameter"]): one for one in found}, **faults}
    # in the order in which a release is told; what else a body holds goes before
    order = sorted(named, key=lambda name: _PARTS.index(name) if name in _PARTS else -1)
    return list(dict.fromkeys(named[name] for name in order))
