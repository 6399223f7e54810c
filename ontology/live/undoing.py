"""What takes a commit back: its patch the other way round, but for what is about people."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ontology.errors import ConflictError, InputError
from ontology.live.ground import keep_stated
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import DRAFT_GRAPHS, Pair
from ontology.store.history import read_patches

if TYPE_CHECKING:
    from ontology.live.as_of import PastStates
    from ontology.store.engine import Store

__all__ = ["read_undone"]


def read_undone(store: Store, past: PastStates, text: str, present: Snapshot) -> tuple[int, Pair]:
    """Return the revision that a number or a release made from a draft means, and what takes its commit back.

    Raises
    ------
    InputError
        There is no such commit, or what it changed was not kept.
    ConflictError
        It changed nothing but what is about people.
    """
    revision = _find_revision(past, text, present)
    commit = past.list_commits(present.revision)[revision - 1]
    if not commit.has_patch:
        raise _refuse(text, f"names revision {revision}, of which was not kept what it changed")
    ((_, patch),) = read_patches(store, [commit], DRAFT_GRAPHS)
    pair = Pair(frozenset(keep_stated(patch.removed)), frozenset(keep_stated(patch.added)))
    if not pair.added and not pair.removed:
        detail = f"Revision {revision} changed nothing that a draft can take back: nothing of the framework or teams."
        raise ConflictError(detail, revision=revision)
    return revision, pair


def _find_revision(past: PastStates, text: str, present: Snapshot) -> int:
    if text.isascii() and text.isdigit():
        if not 0 < int(text) <= present.revision:
            raise _refuse(text, f"must be a revision from 1 to {present.revision}, or a release made from a draft")
        return int(text)
    found = next((release for release in past.list_releases() if release.version == text), None)
    if found is None:
        raise _refuse(text, "must be a revision (a number) or a release made from a draft")
    if not found.from_draft:
        raise _refuse(text, f"only names revision {found.revision}, it was not made from a draft; give the revision")
    return found.revision


def _refuse(text: str, reason: str) -> InputError:
    detail = f"undo_of {reason} (given: {text!r})."
    return InputError(detail, parameter="undo_of", value=text, reason=reason)
