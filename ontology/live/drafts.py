"""The drafts of a live graph: begun, edited, brought to the present, withdrawn, opened again, deleted.

A draft changes nobody's answers. Each change of it is one guarded step, and the store's revision stays.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, Literal, Protocol

from ontology.errors import ConflictError, InputError, StaleError, refuse
from ontology.live.draft_edits import edit_pair, find_quads, settle
from ontology.live.draft_state import Choose, DraftState, lead_draft
from ontology.live.kept_drafts import KeptDrafts
from ontology.live.undoing import read_undone
from ontology.model.columns import ID_PATTERN, LONGEST_ID, Key
from ontology.model.tables import PERSONAL_TABLES
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.commit_text import get_revision_quad
from ontology.store.drafts import (
    Draft,
    DraftEdit,
    Pair,
    change_draft,
    read_drafts,
    read_edit_quads,
    read_pair,
)

if TYPE_CHECKING:
    pass

__all__ = ["Drafts"]

_LONGEST_TITLE: Final = 200
State = Literal["open", "published", "withdrawn"]
Side = Literal["draft", "published"]


class ChangeOfRecords(Protocol):
    """Records to put and keys to remove, each with its table's name."""

    @property
    def put(self) -> tuple[tuple[str, Any], ...]: ...

    @property
    def remove(self) -> tuple[tuple[str, Key], ...]: ...


class Drafts(KeptDrafts):
    """The drafts of one open store. Safe for many threads; changes wait for each other."""

    def start(
        self, draft_id: str, title: str, *, who: str, base: str | None = None, undo_of: str | None = None
    ) -> Draft:
        """Begin a draft.

        Parameters
        ----------
        who : as the history would name them
        base : str, optional
            The state it is made for: a revision, a day, a release; the present one when left out.
        undo_of : str, optional
            The revision, or the release made from a draft, whose change it is to take back: that is its base.

        Raises
        ------
        InputError
            The id is no id, the title is empty, or there is no such state.
        ConflictError
            There is a draft of this id, or what is to be taken back holds nothing that a draft may hold.
        """
        if not ID_PATTERN.fullmatch(draft_id) or len(draft_id) > LONGEST_ID:
            raise refuse("id", draft_id, "is not a valid id: letters, digits and . _ - after a letter or digit")
        if not title.strip() or len(title) > _LONGEST_TITLE:
            raise refuse("title", title, f"must have 1 to {_LONGEST_TITLE} characters")
        if base is not None and undo_of is not None:
            raise refuse("base", base, "cannot go with undo_of: the base is what is taken back")
        with self._graph.store.lock:
            if read_drafts(self._graph.store, draft_id):
                raise ConflictError(f"There is a draft {draft_id!r} already.", table="drafts", id=draft_id)
            present = self._graph.get_snapshot()
            revision, pair, undone = self._choose_base(base, undo_of, present)
            draft = Draft(draft_id, title.strip(), who, self._now(), revision, 0, "open", uuid.uuid4().hex, undone)
            self._write(None, draft, (Pair(), pair), self._tell(draft, who, "began it", pair), present.revision)
        return self._name(draft)

    def edit(
        self,
        draft_id: str,
        change: ChangeOfRecords,
        *,
        who: str,
        why: str,
        require: Callable[[Snapshot], None] | None = None,
        expected_number: int | None = None,
    ) -> Draft:
        """Change records in a draft, as it is seen on the present; what changes nothing is no edit.

        `require` is called inside the lock with the Snapshot of the draft and may raise.

        Raises
        ------
        UnknownIdError
            There is no such draft, or no such record to be removed.
        InputError
            A record belongs to a table about people.
        StaleError
            `expected_number` is not the draft's number.
        ConflictError
            The draft is not open, or the edit hangs on a conflict that must be decided first.
        """
        personal = sorted({name for name, _ in (*change.put, *change.remove)} & set(PERSONAL_TABLES))
        if personal:
            raise refuse("draft", draft_id, f"cannot hold {personal[0].replace('_', ' ')}: it is not about people")
        with self._graph.store.lock:
            draft = self.require(draft_id, "open", expected_number)
            state = self.get_state(draft_id)
            if require is not None:
                require(state.snapshot)
            plus, minus = find_quads(self._graph.store, state, change.put, change.remove)
            if not plus and not minus:
                return self._name(draft)
            base, pair = edit_pair(state, plus, minus)
            settled = draft.settled if base == draft.base else frozenset()
            after = replace(draft, base=base, number=draft.number + 1, settled=settled)
            edit = DraftEdit(after.number, who, self._now(), why, len(plus), len(minus))
            self._write(draft, after, (state.pair, pair), edit.describe(after))
        return self._name(after)

    def rebase(
        self,
        draft_id: str,
        take: Side | Mapping[tuple[str, str, str | None], Side],
        *,
        who: str,
        expected_number: int | None = None,
    ) -> DraftState:
        """Bring a draft to the present, deciding conflicts; return it as it is then.

        `take` is the side that wins everywhere, or that of each (table, id, column); column None: the whole record.
        Where a conflict is left the base stays, and what was decided stays decided.

        Raises
        ------
        InputError
            Something named is no conflict of the draft.
        UnknownIdError, StaleError, ConflictError
            As `edit`.
        """
        with self._graph.store.lock:
            draft = self.require(draft_id, "open", expected_number)
            before = self.get_state(draft_id)
            choose = _read_choice(before, take)
            state = lead_draft(draft, before.pair, before.ground, choose)
            present = before.ground.present.revision
            if state.clashes:
                after, pair = settle(draft, before, choose)
            else:
                after, pair = replace(draft, base=present, settled=frozenset()), state.net
            if (after, pair) != (draft, before.pair):
                after = replace(after, number=draft.number + 1)
                edit = DraftEdit(after.number, who, self._now(), f"brought to revision {present}")
                self._write(draft, after, (before.pair, pair), edit.describe(after))
            return self.get_state(draft_id)

    def withdraw(self, draft_id: str, *, who: str, expected_number: int | None = None) -> Draft:
        """Close a draft without publishing it; errors as `edit`."""
        return self._turn(draft_id, "open", "withdrawn", who, expected_number)

    def open(self, draft_id: str, *, who: str, expected_number: int | None = None) -> Draft:
        """Open a draft again that was withdrawn; errors as `edit`."""
        return self._turn(draft_id, "withdrawn", "open", who, expected_number)

    def delete(self, draft_id: str, *, expected_number: int | None = None) -> None:
        """Remove a draft that was withdrawn, and all that is kept of it; errors as `edit`."""
        with self._graph.store.lock:
            draft = self.require(draft_id, "withdrawn", expected_number)
            edits = read_edit_quads(self._graph.store, draft)
            self._write(draft, None, (read_pair(self._graph.store, draft_id), Pair()), edits)

    def _turn(self, draft_id: str, before: State, after: State, who: str, expected_number: int | None) -> Draft:
        with self._graph.store.lock:
            draft = self.require(draft_id, before, expected_number)
            turned = replace(draft, state=after)
            pair = read_pair(self._graph.store, draft_id)
            told = "withdrew it" if after == "withdrawn" else "opened it again"
            self._write(draft, turned, (pair, pair), self._tell(turned, who, told))
        return self._name(turned)

    def _choose_base(self, base: str | None, undo_of: str | None, present: Snapshot) -> tuple[int, Pair, int | None]:
        """Return the revision a draft begins on, what it holds at first, and what it takes back."""
        past, today = self._graph.past, self._graph.store.get_today()
        if undo_of is not None:
            revision, pair = read_undone(self._graph.store, past, undo_of, present)
            return revision, pair, revision
        if base is None:
            return present.revision, Pair(), None
        try:
            return past.find_moment(base, present, today).revision, Pair(), None
        except InputError as error:
            raise refuse("base", base, error.context["reason"]) from None

    def require(self, draft_id: str, state: State, expected_number: int | None) -> Draft:
        """Return a draft that is in a state and has the number expected; the caller holds the store's lock."""
        draft = self._read(draft_id)
        if expected_number is not None and expected_number != draft.number:
            detail = f"The draft {draft_id} is at number {draft.number}, not {expected_number}."
            raise StaleError(detail, expected=expected_number, present=draft.number)
        if draft.state != state:
            detail = f"The draft {draft_id} is {draft.state}; only one that is {state} can be changed so."
            raise ConflictError(detail, table="drafts", id=draft_id, state=draft.state)
        return draft

    def _write(
        self,
        before: Draft | None,
        after: Draft | None,
        pairs: tuple[Pair, Pair],
        told: Iterable[Quad],
        revision: int | None = None,
    ) -> None:
        guard = before.guard() if before is not None else []
        if revision is not None:
            guard.append(get_revision_quad(revision))
        try:
            self._graph.store.write_beside(change_draft(before, after, pairs, told), guard)
        finally:
            self.n_written += 1

    def _tell(self, draft: Draft, who: str, told: str, pair: Pair | None = None) -> list[Quad]:
        counts = (len(pair.added), len(pair.removed)) if pair is not None else (0, 0)
        return DraftEdit(draft.number, who, self._now(), told, *counts).describe(draft)

    def _now(self) -> datetime:
        return self._graph.store.get_now()


def _read_choice(state: DraftState, take: Side | Mapping[tuple[str, str, str | None], Side]) -> Choose:
    """Return what says of a clash which side is taken."""
    if not isinstance(take, Mapping):
        everywhere = take
        return lambda clash: everywhere
    marks: dict[str, Side] = {}
    left = dict(take)
    for table, key, column, clash in state.named_clashes:
        name = (table.name if table else "", "~".join(map(str, key)), column)
        if name in left:
            marks[clash.mark] = left.pop(name)
    for table_name, record_id, column in left:
        what = f"{table_name}/{record_id}" + (f" {column}" if column else "")
        raise refuse("take", what, "is no conflict of this draft")
    return lambda clash: marks.get(clash.mark)
