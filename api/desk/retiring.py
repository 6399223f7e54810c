"""Something is retired in a draft: by the state that the draft leads to, as one edit of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from ontology.errors import StaleError

if TYPE_CHECKING:  # brings the store
    from ontology.live.live_graph import LiveGraph
    from ontology.live.retiring import Taker

__all__ = ["retire"]

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

    drafts = graph.drafts
    for left in reversed(range(_TRIES)):
        snapshot = drafts.get_state(draft_id).snapshot
        change = plan_retirement(snapshot, table, old, replaced_by, reason, graph.store.get_today())

        def require(present: object, seen: object = snapshot) -> None:
            if present is not seen:
                raise StaleError("The draft leads to another state by now; repeat this.")

        told = f"retired {table}/{old}" + (f": {reason}" if reason else "")
        try:
            drafts.edit(draft_id, change, who=who, why=told, require=require, expected_number=expected_number)
        except StaleError:
            if not left or expected_number not in (None, drafts.get(draft_id).number):
                raise
        else:
            return
