"""Past states of a live graph's store: which revision a word, a number or a day means, and the Snapshot of it."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from ontology.errors import InputError
from ontology.live.joined import Joined, join_states
from ontology.rdf.namespaces import DATA_GRAPHS, Quad
from ontology.snapshot.keeper import Keeper
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store
from ontology.store.erasures import Erasures, read_erasures
from ontology.store.history import Commit, Patch, read_commits, read_patches
from ontology.store.releases import Release, read_releases

__all__ = ["Moment", "PastStates"]

#: Snapshots of past states that are kept.
KEPT: Final = 4
_NUMBER: Final = re.compile(r"[0-9]{1,12}")
_DAY: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_RELEASES_NAMED: Final = 5


@dataclass(frozen=True, slots=True)
class Moment:
    """A state that was asked for.

    `as_of` is how, `day` the day it is judged on unless another is asked, `time` that of its commit (None: revision 0),
    `release` the name of its revision, "" where it has none.
    """

    as_of: str
    revision: int
    day: date
    time: datetime | None
    release: str


class PastStates(Keeper):
    """The history of one open store, and the Snapshots of the states asked for last. Safe for many threads."""

    def __init__(self, store: Store, tell_author: Callable[[str], str] = str) -> None:
        super().__init__()
        self._store = store
        self._tell_author = tell_author
        self._commits: list[Commit] = []
        self._lock = threading.Lock()
        self._snapshots: OrderedDict[int, Snapshot] = OrderedDict()
        self._joined: OrderedDict[tuple[int, int], Joined] = OrderedDict()

    def list_commits(self, revision: int) -> Sequence[Commit]:
        """Return the commits up to a revision that has been made, oldest first; what was read before is kept."""
        with self._lock:
            commits = self._list_commits(revision)
        return self.name_authors(commits)

    def name_authors(self, commits: Iterable[Commit]) -> list[Commit]:
        """Return commits with their authors as they are called now."""
        listed = list(commits)
        called = {who: self._tell_author(who) for who in {one.who for one in listed}}
        return [one if called[one.who] == one.who else replace(one, who=called[one.who]) for one in listed]

    def get_erasures(self) -> Erasures:
        """Return what is known of people who were erased; it is read once, since each erasure begins this anew."""
        return self.keep("erasures", lambda: read_erasures(self._store))

    def list_releases(self) -> list[Release]:
        """Return the releases, by revision, with their authors as they are called now."""
        releases = read_releases(self._store)
        return [replace(release, author=self._tell_author(release.author)) for release in releases]

    def find_moment(self, text: str, present: Snapshot, today: date) -> Moment:
        """Return the state that a revision's number, a day or a release means.

        Raises
        ------
        InputError
            There is none: its context names the parameter `as_of`.
        """
        commits = self.list_commits(present.revision)
        releases = self.list_releases()
        day: date | None = None
        if _NUMBER.fullmatch(text):
            revision = int(text)
            if revision > present.revision:
                raise _refuse(text, f"is above the present revision, {present.revision}")
        elif _DAY.fullmatch(text):
            day, revision = _find_day(text, commits, today)
        else:
            found = {release.version: release.revision for release in releases}
            if text not in found:
                raise _refuse(text, _tell_unknown(releases))
            revision = found[text]
        self._require_kept(revision, commits, text)
        time = commits[revision - 1].when if revision else None
        names = [release.version for release in releases if release.revision == revision]
        release = text if text in names else names[-1] if names else ""
        return Moment(text, revision, day or (time.date() if time else _get_first_day(commits, today)), time, release)

    def get_snapshot(self, revision: int, present: Snapshot) -> Snapshot:
        """Return the Snapshot of a revision up to the present one that can be shown; the last ones are kept.

        From the nearest state that is at hand: O(quads of the patches between + records they touch).
        """
        if revision == present.revision:
            return present
        with self._lock:
            found = self._snapshots.get(revision)
            if found is None:
                nearest = min((present, *self._snapshots.values()), key=lambda kept: abs(kept.revision - revision))
                found = self._lead(nearest, revision, self._list_commits(present.revision))
                self._snapshots[revision] = found
            self._snapshots.move_to_end(revision)
            while len(self._snapshots) > KEPT:
                self._snapshots.popitem(last=False)
            return found

    def get_joined(self, revision: int, present: Snapshot) -> Joined:
        """Return the framework and offers of a revision with the teams and people of the present."""
        past = self.get_snapshot(revision, present)
        key = (revision, present.revision)
        with self._lock:
            joined = self._joined.get(key)
            if joined is None:
                self._joined[key] = joined = join_states(past, present)
            self._joined.move_to_end(key)
            while len(self._joined) > KEPT:
                self._joined.popitem(last=False)
            return joined

    def _lead(self, start: Snapshot, revision: int, commits: Sequence[Commit]) -> Snapshot:
        # brings an RDF library: only who looks back needs it
        from ontology.live.patch import patch_snapshot

        if revision < start.revision:
            between = list(reversed(commits[revision : start.revision]))
            patches: Iterable[Patch] = (
                Patch(patch.removed, patch.added) for _, patch in read_patches(self._store, between, DATA_GRAPHS)
            )
        else:
            between = list(commits[start.revision : revision])
            patches = (patch for _, patch in read_patches(self._store, between, DATA_GRAPHS))
        net = add_up(patches)
        return patch_snapshot(start, net.added, net.removed, revision=revision)

    def _list_commits(self, revision: int) -> Sequence[Commit]:
        if len(self._commits) < revision:
            self._commits += read_commits(self._store, len(self._commits))
        return self._commits[:revision]

    def _require_kept(self, revision: int, commits: Sequence[Commit], text: str) -> None:
        first = max((commit.revision for commit in commits if not commit.has_patch), default=0)
        if revision < first:
            reason = f"cannot be shown: what revision {first} changed was not kept; the first that can be is {first}"
            raise _refuse(text, reason, first_revision=first)


def add_up(patches: Iterable[Patch]) -> Patch:
    """Return the net of patches that follow each other: what comes and goes again is in neither part. O(quads)."""
    plus: dict[Quad, None] = {}
    minus: dict[Quad, None] = {}
    for patch in patches:
        for quads, here, there in ((patch.removed, plus, minus), (patch.added, minus, plus)):
            for quad in quads:
                if quad in here:
                    del here[quad]
                else:
                    there[quad] = None
    return Patch(list(plus), list(minus))


def _find_day(text: str, commits: Sequence[Commit], today: date) -> tuple[date, int]:
    """Return a day and the last revision made before its end, UTC."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise _refuse(text, "is not a valid date") from None
    if day > today:
        raise _refuse(text, f"is after today, {today.isoformat()}")
    made = [commit for commit in commits if commit.when.date() <= day]
    if not made:
        first = f"the first change was stored on {commits[0].when.date()}" if commits else "nothing is stored yet"
        raise _refuse(text, f"is before the first change: {first}")
    return day, max(commit.revision for commit in made)


def _get_first_day(commits: Sequence[Commit], today: date) -> date:
    return commits[0].when.date() if commits else today


def _tell_unknown(releases: Sequence[Release]) -> str:
    named = ", ".join(release.version for release in releases[-_RELEASES_NAMED:])
    known = f"releases are: {named}" if named else "there are no releases"
    return f"must be a revision (a number), a day like 2026-11-24 or a release; {known}"


def _refuse(text: str, reason: str, **context: object) -> InputError:
    detail = f"The parameter 'as_of' {reason} (given: {text!r})."
    return InputError(detail, parameter="as_of", value=text, reason=reason, **context)
