"""Which records of two states are the same: of one id, by the same concept elsewhere, and what references mean then."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from ontology.model.references import get_reference_fields, is_referring
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors

__all__ = ["MATCHED", "FormerId", "Identity", "Match", "Pairs", "find_pairs", "make_translator"]

Match = Literal["ids", "known", "suggested"]


class FormerId(str):
    """An id of the first state that is given to something else in the second: equal to no other text."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FormerId) and str.__eq__(self, other)

    def __hash__(self) -> int:
        return hash(("former", str(self)))

    def __ne__(self, other: object) -> bool:
        return not self == other


#: The tables whose records tell which concept elsewhere they are.
MATCHED: Final = tuple(
    name for name, table in TABLES.items() if any(column.name == "exact_match" for column in table.columns)
)


@dataclass(frozen=True, slots=True)
class Identity:
    """Records of different ids that are the same, and by what."""

    table: str
    before: str
    after: str
    by: Literal["exact-match", "replacement"]


@dataclass(slots=True)
class Pairs:
    """Which records of two states are the same.

    Attributes
    ----------
    forward, back : of each table with ids, id -> id of the other state, of all that are paired
    reused : (table, id) given to something else
    identities : pairs of different ids
    """

    forward: dict[str, dict[str, str]]
    back: dict[str, dict[str, str]]
    reused: set[tuple[str, str]] = field(default_factory=set)
    identities: list[Identity] = field(default_factory=list)

    def add(self, table: str, before: str, after: str) -> None:
        """Pair two records."""
        self.forward[table][before] = after
        self.back[table][after] = before

    def copy(self) -> Pairs:
        """Return a copy that can grow by itself."""
        forward, back = ({name: dict(ids) for name, ids in way.items()} for way in (self.forward, self.back))
        return Pairs(forward, back, set(self.reused), list(self.identities))

    def list_unpaired(self, before: Snapshot, after: Snapshot, table: str) -> tuple[list[str], list[str]]:
        """Return the ids of the records of a table that have no counterpart, in both states, in order."""
        ones = [key[0] for key in before.get_table(table) if key[0] not in self.forward[table]]
        return ones, [key[0] for key in after.get_table(table) if key[0] not in self.back[table]]


def find_pairs(before: Snapshot, after: Snapshot, match: Match) -> Pairs:
    """Return the pairs of two states: records of one table and id, and what else is known to be the same. O(n).

    Unless ids alone are asked, records of one id are not the same where both tell a concept elsewhere and share none;
    and records of different ids are, where the second state says that one took the place of the other with all that
    was held, or else where exactly one record of each state tells such a concept.
    """
    names = [name for name, table in TABLES.items() if table.id_field]
    pairs = Pairs({name: {} for name in names}, {name: {} for name in names})
    for name in names:
        there = after.get_table(name)
        for key, record in before.get_table(name).items():
            other = there.get(key)
            if other is None:
                continue
            if match != "ids" and name in MATCHED and _is_another(record, other):
                pairs.reused.add((name, key[0]))
            else:
                pairs.add(name, key[0], key[0])
    if match != "ids":
        for name in RETIRABLE:
            for one, other in _find_by_replacement(before, after, name, pairs):
                pairs.add(name, one, other)
                pairs.identities.append(Identity(name, one, other, "replacement"))
        for name in MATCHED:
            for one, other in _find_by_concept(before, after, name, pairs):
                pairs.add(name, one, other)
                pairs.identities.append(Identity(name, one, other, "exact-match"))
    return pairs


def _is_another(record: Any, other: Any) -> bool:
    here, there = record.exact_match, other.exact_match
    return bool(here and there) and not set(here) & set(there)


def _find_by_replacement(before: Snapshot, after: Snapshot, table: str, pairs: Pairs) -> Iterator[tuple[str, str]]:
    """Yield (id, id) of unpaired records of which one took the place of the other, each in one pair at most, by id."""
    taken = set(pairs.back[table])
    for (one,) in before.get_table(table) if after.get_table("replacements") else ():
        if one in pairs.forward[table]:
            continue
        same = (found.id for found in find_successors(after, table, one) if found.carry == "same")
        other = next((found for found in same if found not in taken), None)
        if other is not None:
            taken.add(other)
            yield one, other


def _find_by_concept(before: Snapshot, after: Snapshot, table: str, pairs: Pairs) -> Iterator[tuple[str, str]]:
    """Yield (id, id) of unpaired records that alone tell the same concept, each in one pair at most, by id."""
    of_before, of_after = (_group_by_concept(state, table) for state in (before, after))
    found = {
        (ids[0], of_after[iri][0])
        for iri, ids in of_before.items()
        if len(ids) == 1 and len(of_after.get(iri, ())) == 1
    }
    taken_before, taken_after = set(pairs.forward[table]), set(pairs.back[table])
    for one, other in sorted(found):
        if one not in taken_before and other not in taken_after:
            taken_before.add(one)
            taken_after.add(other)
            yield one, other


def _group_by_concept(state: Snapshot, table: str) -> dict[str, list[str]]:
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for key, record in state.get_table(table).items():
        for iri in record.exact_match:
            groups[iri].append(key[0])
    return groups


def make_translator(pairs: Pairs, after: Snapshot, table_name: str) -> Callable[[Any], dict[str, Any]] | None:
    """Return what reads a record of the first state through pairs: the fields that differ; None where none can.

    An id whose record has no counterpart, and that is given to something else, becomes a `FormerId`.
    """
    table = TABLES[table_name]
    renamed = {name: found for name in pairs.forward if (found := _list_renamed(pairs, after, name))}
    if table_name == "replacements":
        # they say of ids what became of them: what was replaced since is meant by its own id there
        for identity in pairs.identities:
            if identity.by == "replacement":
                renamed[identity.table] = {k: v for k, v in renamed[identity.table].items() if k != identity.before}
    own = renamed.get(table_name, {}) if table.id_field else {}
    fields = [(to, attribute, ids) for to, ids in renamed.items() for attribute in get_reference_fields(table_name, to)]
    if not own and not fields:
        return None

    def translate(record: Any) -> dict[str, Any]:
        changed: dict[str, Any] = {}
        if own and (record_id := getattr(record, table.id_field)) in own:
            changed[table.id_field] = own[record_id]
        for to, attribute, ids in fields:
            value = changed.get(attribute, getattr(record, attribute))
            if not value or not is_referring(table_name, record, to, attribute):
                continue
            if isinstance(value, tuple):
                if not ids.keys().isdisjoint(value):
                    changed[attribute] = tuple(ids.get(one, one) for one in value)
            elif value in ids:
                changed[attribute] = ids[value]
        return changed

    return translate


def _list_renamed(pairs: Pairs, after: Snapshot, table: str) -> Mapping[str, str]:
    """Return id -> what stands for it in the second state, of ids that do not mean there what they meant."""
    renamed = {one: other for one, other in pairs.forward[table].items() if one != other}
    there = after.get_table(table)
    for name, one in pairs.reused:
        if name == table and one not in pairs.forward[table] and (one,) in there:
            renamed[one] = FormerId(one)
    return renamed
