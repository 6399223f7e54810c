"""The merge rule: what a node says when a draft of it and what was published meanwhile come together.

Per node three sets of facts: B at the draft's base, D in the draft, N now. Of a property that holds one value the side
that changed it wins, and where both did and differ, that is a conflict; several values are joined.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final, Literal

from ontology.rdf.terms import get_language

__all__ = ["WHOLE", "Choice", "Clash", "Facts", "Node", "Property", "Sides", "change_node", "group_facts", "merge_node"]

#: Graph and subject (N-Triples text).
Node = tuple[str, str]
#: Predicate and object (N-Triples text).
Facts = frozenset[tuple[str, str]]
#: Predicate, and the language of its values, "" where they are plain.
Property = tuple[str, str]
#: Of a clash: which side is taken, None where nobody has said.
Choice = Literal["draft", "published"] | None
#: Instead of a property: the whole record.
WHOLE: Final[Property] = ("", "")


@dataclass(frozen=True, slots=True)
class Sides:
    """What a node says at the base of a draft, in the draft, and now."""

    node: Node
    base: Facts
    draft: Facts
    now: Facts


@dataclass(frozen=True, slots=True)
class Clash:
    """A property of a node, or all of it (`WHOLE`), that a draft and others changed differently.

    `mark` stands for it and for what is said now: whoever decides it, decides it for that.
    """

    sides: Sides
    of: Property

    def holds(self, predicate: str, term: str) -> bool:
        """Whether a fact of the node is what clashes, or a part of it."""
        return self.of in (WHOLE, (predicate, get_language(term)))

    @property
    def mark(self) -> str:
        now = sorted(self.sides.now if self.of == WHOLE else _pick(self.sides.now, self.of))
        whole = json.dumps([*self.sides.node, *self.of, now])
        return hashlib.sha256(whole.encode()).hexdigest()


def merge_node(
    sides: Sides, is_single: Callable[[str], bool], choose: Callable[[Clash], Choice]
) -> tuple[Facts, list[Clash]]:
    """Return what a node says after the merge, and the clashes that nobody decided: in them the draft's values win.

    Parameters
    ----------
    sides : Sides
        Of a node that the draft changes.
    is_single : callable
        Whether a predicate holds one value.

    Notes
    -----
    O(facts of the node).
    """
    base, draft, now = sides.base, sides.draft, sides.now
    if not draft:
        return _merge_whole(sides, choose) if now and now != base else (frozenset(), [])
    if base and not now:
        return _merge_whole(sides, choose)
    if base == now:
        return draft, []
    merged: set[tuple[str, str]] = set()
    clashes = []
    properties = dict.fromkeys((p, get_language(o)) for p, o in sorted(base | draft | now))
    for of in properties:
        b, d, n = (_pick(facts, of) for facts in (base, draft, now))
        if d == b:
            merged |= n
        elif n in (b, d):
            merged |= d
        elif not is_single(of[0]):
            merged |= (n - (b - d)) | (d - b)
        else:
            clash = Clash(sides, of)
            chosen = choose(clash)
            merged |= n if chosen == "published" else d
            clashes += [] if chosen else [clash]
    return frozenset(merged), clashes


def change_node(sides: Sides, before: Facts, after: Facts, is_single: Callable[[str], bool]) -> Facts:
    """Return what the draft itself says of a node when, as it is seen on the present, it is to go from one to another.

    The merge rule brings it there again, unless what is asked is what the base says: then the draft says nothing.
    """
    if not after or not sides.draft:
        return after
    draft = set(sides.draft)
    for of in {(p, get_language(o)) for p, o in before ^ after}:
        old, new = _pick(before, of), _pick(after, of)
        if is_single(of[0]):
            draft -= _pick(sides.draft, of)
            draft |= new
        else:
            draft = (draft - (old - new)) | (new - old)
    return frozenset(draft)


def group_facts(quads: Iterable[tuple[str, str, str, str]]) -> dict[Node, set[tuple[str, str]]]:
    """Return node -> its facts, of quads."""
    groups: defaultdict[Node, set[tuple[str, str]]] = defaultdict(set)
    for graph, subject, predicate, term in quads:
        groups[graph, subject].add((predicate, term))
    return dict(groups)


def _merge_whole(sides: Sides, choose: Callable[[Clash], Choice]) -> tuple[Facts, list[Clash]]:
    clash = Clash(sides, WHOLE)
    chosen = choose(clash)
    return sides.now if chosen == "published" else sides.draft, [] if chosen else [clash]


def _pick(facts: Facts, of: Property) -> frozenset[tuple[str, str]]:
    return frozenset((p, o) for p, o in facts if p == of[0] and get_language(o) == of[1])
