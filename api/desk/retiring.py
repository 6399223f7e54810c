"""What is retired in a draft, and what took the place of what: by the state that it leads to, as one edit of it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from typing import TYPE_CHECKING, Final

from ontology.analysis.compare.pairs import find_pairs
from ontology.analysis.compare.same import find_likely
from ontology.errors import StaleError
from ontology.model.keeping_records import Replacement
from ontology.model.retirable import RETIRABLE
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # brings the store
    from ontology.live.drafts import ChangeOfRecords
    from ontology.live.live_graph import LiveGraph
    from ontology.live.retiring import Taker

#: By what records of a draft are the same as those that are published.
MATCHES: Final = ("known", "suggested")
#: How often it is worked out anew where others publish meanwhile.
_TRIES: Final = 3


def retire(
    graph: LiveGraph,
    draft_id: str,
    table: str,
    old: str,
    replaced_by: Sequence[Taker],
    reason: str,
    *,
    who: str,
    expected_number: int | None = None,
) -> None:
    """Retire a competency, role or course in a draft.

    Raises
    ------
    InputError
        As `plan_retirement`.
    UnknownIdError, StaleError, ConflictError
        As `Drafts.edit`.
    """
    from ontology.live.retiring import plan_retirement  # brings the store

    def plan(snapshot: Snapshot) -> ChangeOfRecords:
        return plan_retirement(snapshot, table, old, replaced_by, reason, graph.store.get_today())

    told = f"retired {table}/{old}" + (f": {reason}" if reason else "")
    edit_by_plan(graph, draft_id, plan, who, told, expected_number)


def write_replacements(
    graph: LiveGraph,
    draft_id: str,
    match: str,
    left_out: Collection[str],
    *,
    who: str,
    expected_number: int | None = None,
) -> None:
    """Write into a draft which of its records took the place of which published one, so that old addresses lead on.

    `match`, known or suggested, is by what they are the same, as two states are compared; nothing is written of the
    published records `left_out`, each table/id.

    Raises
    ------
    UnknownIdError, StaleError, ConflictError
        As `Drafts.edit`.
    """
    from ontology.live.live_graph import Change  # brings the store

    def plan(snapshot: Snapshot) -> ChangeOfRecords:
        rows = _list_replacements(graph.get_snapshot(), snapshot, match)
        return Change(put=tuple(("replacements", row) for row in rows if f"{row.table}/{row.old}" not in left_out))

    edit_by_plan(graph, draft_id, plan, who, f"replacements by what is {match}", expected_number)


def _list_replacements(before: Snapshot, after: Snapshot, match: str) -> Iterator[Replacement]:
    """Yield what took the place of what is not in use in the second state, but for what is said there already."""
    pairs = find_pairs(before, after, "known")
    if match == "suggested":
        find_likely(before, after, pairs)
    for table in RETIRABLE:
        for old, new in sorted(pairs.forward[table].items()):
            is_gone = old != new and (old,) not in after.get_table(table)
            if is_gone and not after.get_replacements((table, old)):
                yield Replacement(table, old, new, "same", "")


def edit_by_plan(
    graph: LiveGraph,
    draft_id: str,
    plan: Callable[[Snapshot], ChangeOfRecords],
    who: str,
    told: str,
    expected_number: int | None,
) -> None:
    """Edit a draft by the state it leads to, worked out anew where that has changed meanwhile."""
    drafts = graph.drafts
    for left in reversed(range(_TRIES)):
        snapshot = drafts.get_state(draft_id).snapshot
        change = plan(snapshot)

        def require(present: object, seen: object = snapshot) -> None:
            if present is not seen:
                raise StaleError("The draft leads to another state by now; repeat this.")

        try:
            drafts.edit(draft_id, change, who=who, why=told, require=require, expected_number=expected_number)
        except StaleError:
            if not left or expected_number not in (None, drafts.get(draft_id).number):
                raise
        else:
            return
