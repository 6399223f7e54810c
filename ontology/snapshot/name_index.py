"""The names of a table's records as a sorted index of words: what a text finds, without reading every name.

A name is whatever a record is called: its label or name, its other names. Names stand in the order of their folded
text, so that all that begin so lie side by side; words stand in their order, each with the names it occurs in, so that
all words that begin so lie side by side too. An id finds its record where it is the whole of the text: it is no name,
and what it begins with says nothing to people.
"""

from __future__ import annotations

from array import array
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from itertools import accumulate
from typing import Any, Final

from ontology.model.folding import fold, split_words
from ontology.snapshot.indexes import MOST_EDITS, Index

__all__ = ["FITS", "N_CLOSEST", "ByName", "NameIndex", "SortKey", "find_fit", "fit_words", "list_names"]

#: How closely a text fits a name, the closest first.
FITS: Final = ("whole", "beginning", "word", "inside")
#: Those that are told by where a name stands in the order of all, without its other words.
N_CLOSEST: Final = 2
#: Behind every text that begins so.
_END: Final = chr(0x10FFFF)
#: Share of letters in common from which a word is spelt nearly so (common practice, no source).
_NEARLY: Final = 0.75

#: Folded label and id: the order of records that a text fits alike.
SortKey = tuple[str, str]


def list_names(record: Any) -> tuple[str, ...]:
    """Return what a record is called, what people read first; without its id unless that is all it has."""
    label = getattr(record, "label", None) or getattr(record, "name", None) or record.id
    return (str(label), *getattr(record, "alt_labels", ()))


def find_fit(text: str, name: str) -> str:
    """Return how closely a text fits a name, or the empty string.

    Examples
    --------
    >>> [find_fit(text, "Leak location") for text in ("leak  LOCATION", "leak loc", "location", "loc", "cation")]
    ['whole', 'beginning', 'word', 'inside', '']
    """
    return fit_words(split_words(text), split_words(name))


def fit_words(wanted: Sequence[str], words: Sequence[str]) -> str:
    """Return how closely folded words that are wanted fit those of a name, or the empty string."""
    if not wanted or not all(any(word.startswith(part) for word in words) for part in wanted):
        return ""
    if wanted == words:
        return "whole"
    if " ".join(words).startswith(" ".join(wanted)):
        return "beginning"
    return "word" if set(wanted) <= set(words) else "inside"


class _Names:
    """The names of some records, sorted; never changed.

    Notes
    -----
    O(w log w) time to build for w words in all names, O(w) memory.
    """

    def __init__(self, named: Mapping[str, Sequence[str]], *, with_ids: bool = True) -> None:
        self.keys: list[SortKey] = sorted((fold(names[0]), record_id) for record_id, names in named.items())
        spelt = sorted(
            (" ".join(split_words(name)), place)
            for place, (_, record_id) in enumerate(self.keys)
            for name in named[record_id]
        )
        #: Made where it is asked for first: what is in one language alone does without.
        self._places: dict[str, int] | None = None
        #: The words of an id -> the records that have it.
        self.ids: defaultdict[str, set[int]] = defaultdict(set)
        for place, (_, record_id) in enumerate(self.keys if with_ids else ()):
            self.ids[" ".join(split_words(record_id))].add(place)
        #: Of each name its words, and which record's it is.
        self.texts = [text for text, _ in spelt]
        self.owners = array("I", [place for _, place in spelt])
        occurs: defaultdict[str, array[int]] = defaultdict(lambda: array("I"))
        for position, text in enumerate(self.texts):
            for word in set(text.split()):
                occurs[word].append(position)
        #: Each word, and the names it occurs in: those of word i from starts[i] to starts[i + 1].
        self.words = sorted(occurs)
        self.starts = array("I", accumulate((len(occurs[word]) for word in self.words), initial=0))
        self.positions = array("I")
        for word in self.words:
            self.positions.extend(occurs[word])

    @property
    def places(self) -> Mapping[str, int]:
        """The place of each record by its id."""
        if self._places is None:
            self._places = {record_id: place for place, (_, record_id) in enumerate(self.keys)}
        return self._places

    def find(
        self, wanted: Sequence[str], more: Sequence[Iterable[str]] = (), n_fits: int = len(FITS)
    ) -> tuple[list[SortKey], ...]:
        """Return for each of the first of `FITS` the records that fit so and no closer, in their order.

        `more`: for each of `FITS` the ids of records of which a name that is not here fits so.
        """
        fits = self._find_places(wanted, n_fits)
        for fit, ids in zip(fits, more, strict=False):
            known = self.places
            fit.update([known[one] for one in ids if one in known])
        return tuple([self.keys[place] for place in sorted(fit)] for fit in _take_once(fits))

    def find_ids(self, wanted: Sequence[str], n_fits: int) -> tuple[list[str], ...]:
        """Return for each of the first of `FITS` the ids of the records that fit so and no closer, in no order."""
        return tuple([self.keys[place][1] for place in fit] for fit in _take_once(self._find_places(wanted, n_fits)))

    def _find_places(self, wanted: Sequence[str], n_fits: int) -> tuple[set[int], ...]:
        """Return the places of the records that fit as each of the first of `FITS` says, or so and closer."""
        text = " ".join(wanted)
        first, last = bisect_left(self.texts, text), bisect_left(self.texts, text + _END)
        whole = self._own(range(first, bisect_right(self.texts, text, first))) | self.ids.get(text, set())
        beginning = self._own(range(first, last))
        if n_fits <= N_CLOSEST:
            return (whole, beginning)[:n_fits]
        begun = [self._find_words(word) for word in wanted]
        word = self._own(_intersect([self._get_positions(i, i + same) for i, _, same in begun]))
        inside = self._own(_intersect([self._get_positions(i, end) for i, end, _ in begun]))
        return whole, beginning, word, inside

    def _find_words(self, beginning: str) -> tuple[int, int, bool]:
        """Return from where to where the words begin so, and whether the first of them is the whole of it."""
        first = bisect_left(self.words, beginning)
        end = bisect_left(self.words, beginning + _END, first)
        return first, end, first < end and self.words[first] == beginning

    def _get_positions(self, first: int, end: int) -> array[int]:
        return self.positions[self.starts[first] : self.starts[end]]

    def _own(self, positions: Iterable[int]) -> set[int]:
        return set(map(self.owners.__getitem__, positions))

    def find_near(self, wanted: Sequence[str]) -> dict[SortKey, float]:
        """Return the records of which a name has, for each word wanted, one that is spelt nearly so; and how nearly.

        Each word is compared, letter by letter, with those of similar length.
        """
        shares: dict[int, float] = {}
        for number, word in enumerate(wanted):
            near: dict[int, float] = {}
            for index, share in self._find_near_words(word):
                for position in self._get_positions(index, index + 1):
                    near[position] = max(share, near.get(position, 0.0))
            shares = {p: shares[p] + near[p] for p in shares.keys() & near} if number else near
        found: dict[SortKey, float] = {}
        for position, share in shares.items():
            key = self.keys[self.owners[position]]
            found[key] = max(share / len(wanted), found.get(key, 0.0))
        return found

    def _find_near_words(self, word: str) -> Iterator[tuple[int, float]]:
        first, end, _ = self._find_words(word)
        yield from ((index, 1.0) for index in range(first, end))
        # two texts share at most the letters of the shorter one
        least, most = _NEARLY / (2 - _NEARLY) * len(word), (2 - _NEARLY) / _NEARLY * len(word)
        matcher = SequenceMatcher(None, b=word, autojunk=False)
        for index, other in enumerate(self.words):
            if least <= len(other) <= most and not first <= index < end:
                matcher.set_seq1(other)
                if matcher.quick_ratio() >= _NEARLY and (share := matcher.ratio()) >= _NEARLY:
                    yield index, share


def _take_once(fits: Iterable[set[int]]) -> Iterator[set[int]]:
    """Yield each set without what a set before it holds."""
    placed: set[int] = set()
    for fit in fits:
        yield fit - placed
        placed |= fit


def _intersect(groups: Sequence[Sequence[int]]) -> Collection[int]:
    """Return what all groups hold; at least one is given."""
    smallest, *others = sorted(groups, key=len)
    kept: Collection[int] = smallest
    for group in others:
        kept = set(kept).intersection(group) if kept else ()
    return kept


class NameIndex:
    """The names of a table, found by the words they begin with; never changed.

    `named` holds for each id its names, the one that people read first in front; `with_ids` says whether an id, too,
    finds its record.

    Notes
    -----
    Building takes O(w log w) time for w words in all names.
    """

    def __init__(self, named: Mapping[str, Sequence[str]], *, with_ids: bool = True) -> None:
        self._named = named
        self._with_ids = with_ids
        self._names = _Names(named, with_ids=with_ids)
        #: Records that were changed since `_names` was built, None for those that are gone, and the names of the rest.
        self._changed: Mapping[str, Sequence[str] | None] = {}
        self._changed_names = _Names({})

    def get_names(self, record_id: str) -> Sequence[str]:
        """Return the names of a record, none where there is none."""
        return self._changed.get(record_id, self._named.get(record_id)) or ()

    def find(
        self, wanted: Sequence[str], more: Sequence[Collection[str]] = (), n_fits: int = len(FITS)
    ) -> tuple[list[SortKey], ...]:
        """Return for each of `FITS` the folded labels and ids of the records that fit so and no closer, in order.

        Parameters
        ----------
        wanted : sequence of str
            Folded words; without one nothing is found.
        more : for each of `FITS` the ids of records of which another name fits so, as `find_ids` tells them
        n_fits : of how many of them, the closest first

        Notes
        -----
        O(log n + k log k) for k names that hold words which begin like one of those wanted; of the two closest, for
        k names that begin so.
        """
        if not wanted:
            return tuple([] for _ in range(n_fits))
        found = self._names.find(wanted, more, n_fits)
        if not self._changed:
            return found
        both = zip(found, self._changed_names.find(wanted, more, n_fits), strict=True)
        return tuple([sorted([*filter(self._is_kept, old), *new]) for old, new in both])

    def find_ids(self, wanted: Sequence[str], n_fits: int = len(FITS)) -> tuple[list[str], ...]:
        """Return for each of the first of `FITS` the ids of the records that fit so and no closer, in no order."""
        if not wanted:
            return tuple([] for _ in range(n_fits))
        found = self._names.find_ids(wanted, n_fits)
        if not self._changed:
            return found
        both = zip(found, self._changed_names.find_ids(wanted, n_fits), strict=True)
        return tuple([*(one for one in old if one not in self._changed), *new] for old, new in both)

    def get_key(self, record_id: str) -> SortKey | None:
        """Return by what a record stands in the order of all; None where there is none."""
        names = self._changed_names if record_id in self._changed else self._names
        place = names.places.get(record_id)
        return None if place is None else names.keys[place]

    def find_near(self, wanted: Sequence[str]) -> list[tuple[float, SortKey]]:
        """Return the records of which every word wanted is nearly one of a name, the nearest first.

        A share from 0 to 1 of letters in common, folded label and id. O(n) for n different words.
        """
        if not wanted:
            return []
        near = self._names.find_near(wanted).items()
        kept = [(share, key) for key, share in near if self._is_kept(key)]
        kept += [(share, key) for key, share in self._changed_names.find_near(wanted).items()]
        return sorted(kept, key=lambda entry: (-entry[0], entry[1]))

    def list_ids(self) -> list[str]:
        """Return the ids of all records in the order of their folded labels, then ids. O(n)."""
        if not self._changed:
            return [record_id for _, record_id in self._names.keys]
        kept = filter(self._is_kept, self._names.keys)
        return [record_id for _, record_id in sorted([*kept, *self._changed_names.keys])]

    def _is_kept(self, key: SortKey) -> bool:
        return key[1] not in self._changed

    def with_changes(self, changed: Mapping[str, Sequence[str] | None]) -> NameIndex:
        """Return the index after some records were changed, None: are gone.

        O(changes since it was built) until these are many, then it is built anew.
        """
        everything = {**self._changed, **changed}
        if len(everything) > MOST_EDITS:
            named = {**self._named, **everything}
            left = {record_id: names for record_id, names in named.items() if names is not None}
            return NameIndex(left, with_ids=self._with_ids)
        after = NameIndex.__new__(NameIndex)
        after._named, after._names, after._with_ids = self._named, self._names, self._with_ids
        after._changed = everything
        left = {record_id: names for record_id, names in everything.items() if names is not None}
        after._changed_names = _Names(left, with_ids=self._with_ids)
        return after


class ByName(Index[NameIndex]):
    """The names of a table's records, to be searched by words."""

    def build(self, records: Iterable[Any]) -> NameIndex:
        """Return the index of all records."""
        return NameIndex({record.id: list_names(record) for record in records})

    def patch(self, index: NameIndex, edits: Iterable[tuple[Any, Any]]) -> NameIndex:
        """Return the index after some edits."""
        changed: dict[str, Sequence[str] | None] = {}
        for old, new in edits:
            if new is not None:
                changed[new.id] = list_names(new)
            elif old is not None:
                changed[old.id] = None
        return index.with_changes(changed)
