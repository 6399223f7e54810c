"""What an edit of a draft, made on the present, is on the draft's base; and what a decided conflict leaves of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any, Final

from ontology.errors import DraftConflictsError
from ontology.live.draft_state import Choose, DraftState
from ontology.live.ground import keep_stated, make_single
from ontology.live.matching import follow_mappings
from ontology.live.merge import WHOLE, Clash, Facts, Node, change_node, group_facts, merge_node
from ontology.live.overlay import Overlay
from ontology.live.rescaled import follow_scales
from ontology.live.translated_rows import follow_translations
from ontology.mapping.difference import Difference
from ontology.model.columns import Key
from ontology.plurals import format_count
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_language
from ontology.store.drafts import Draft, Pair
from ontology.store.net_quads import NetQuads
from ontology.store.questions import StoreQuestions

__all__ = ["edit_pair", "find_quads", "settle"]

#: Pieces of more nodes than this read whole graphs.
_NODES_AT_ONCE: Final = 2_000


def find_quads(
    store: StoreQuestions, state: DraftState, put: Sequence[tuple[str, Any]], remove: Sequence[tuple[str, Key]]
) -> tuple[list[Quad], list[Quad]]:
    """Return what a change of records adds to a draft on the present, and what it removes.

    Raises
    ------
    UnknownIdError
        There is no such record to be removed.
    """
    view = state.snapshot
    for name, key in remove:
        view.get_record(name, key)
    put = follow_mappings(view, put, remove)
    (put, remove), _ = follow_scales(view, put, remove, is_draft=True)
    remove = follow_translations(view, put, remove)
    after = view.with_changes(put, remove)
    pieces = Difference(view, after, put, remove).iterate_pieces()
    net = NetQuads(Overlay(store, state.net.added, state.net.removed), pieces, _NODES_AT_ONCE)
    added = [quad for block in net.iterate_added() for quad in block]
    return keep_stated(added), keep_stated(net.removed)


def edit_pair(state: DraftState, plus: Iterable[Quad], minus: Iterable[Quad]) -> tuple[int, Pair]:
    """Return the base and the pair of a draft after an edit that was made on the present.

    Where others changed the same records since, the edit is brought to the base; where the base has no words for it,
    the draft is brought to the present first.

    Raises
    ------
    DraftConflictsError
        It would have to be, and conflicts stand in the way.
    """
    come, gone = group_facts(plus), group_facts(minus)
    ground = state.ground
    moved = [node for node in sorted({*come, *gone}) if ground.has_moved(node)]
    if not moved:
        return state.draft.base, state.pair.edit(plus, minus)
    pair = _bring_back(state, moved, come, gone)
    if pair is not None:
        rest = set(moved)
        return state.draft.base, pair.edit(
            [quad for quad in plus if quad[:2] not in rest], [quad for quad in minus if quad[:2] not in rest]
        )
    if state.clashes:
        told = format_count(len(state.clashes), "conflict")
        detail = f"This was changed by others since; decide the {told} of the draft first."
        raise DraftConflictsError(detail, state.conflicts, table="drafts", id=state.draft.id)
    return ground.present.revision, state.net.edit(plus, minus)


def settle(draft: Draft, state: DraftState, choose: Choose) -> tuple[Draft, Pair]:
    """Return a draft with some of its clashes decided, on the base it has: the others go on to clash."""
    pair, marks = state.pair, set(draft.settled)
    for clash in state.clashes:
        chosen = choose(clash)
        if chosen == "draft":
            marks.add(clash.mark)
        elif chosen == "published":
            base, said = (_keep(facts, clash) for facts in (clash.sides.base, clash.sides.draft))
            node = clash.sides.node
            pair = pair.edit([(*node, *fact) for fact in base - said], [(*node, *fact) for fact in said - base])
    return replace(draft, settled=frozenset(marks)), pair


def _bring_back(
    state: DraftState,
    nodes: Iterable[Node],
    come: dict[Node, set[tuple[str, str]]],
    gone: dict[Node, set[tuple[str, str]]],
) -> Pair | None:
    """Return the pair with an edit of nodes that others changed too; None where the base has no words for it."""
    sides = state.ground.read_sides(state.pair, nodes)
    single = make_single(nodes)
    pair = state.pair
    for node in nodes:
        own, is_single = sides[node], single.get(node, _is_none)
        before = state.merged.get(node, own.now)
        after = (before - gone.get(node, frozenset())) | come.get(node, frozenset())
        if not own.base:
            return None
        draft = change_node(own, before, frozenset(after), is_single)
        merged, _ = merge_node(replace(own, draft=draft), is_single, _decide_nothing)
        if merged != after:
            return None
        pair = pair.edit([(*node, *fact) for fact in draft - own.draft], [(*node, *fact) for fact in own.draft - draft])
    return pair


def _keep(facts: Facts, clash: Clash) -> Facts:
    return frozenset((p, o) for p, o in facts if clash.of in (WHOLE, (p, get_language(o))))


def _decide_nothing(clash: Clash) -> None:
    return None


def _is_none(predicate: str) -> bool:
    return False
