"""Records found by what they are called: case and accents make no difference, words may be begun. Imports names.

A text finds a name when every word of the text begins a word of the name. The closest come first: the whole name, its
beginning, whole words in it, words begun inside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Annotated, Final

from ontology.model.folding import fold, split_words
from ontology.snapshot.names import get_name, get_place_name
from ontology.snapshot.snapshot import Snapshot

#: The tables whose records are found by name, and what one record is called, in the order of `find_records`.
FOUND: Final = {"competencies": "competency", "courses": "course", "people": "person", "roles": "role", "teams": "team"}
FITS: Final = ("whole", "beginning", "word", "inside")
_MOST_NEAR: Final = 5


@dataclass(frozen=True, slots=True)
class Match:
    """A record that a text finds: its kind, id and label, the name found (perhaps another one), and how closely."""

    kind: Annotated[str, "What it is: competency, course, person, role or team."]
    id: Annotated[str, "Its id."]
    label: Annotated[str, "What it is called."]
    name: Annotated[str, "The name that was found, perhaps another one."]
    fit: Annotated[str, "How closely: whole, beginning, word or inside."]


def find_records(snapshot: Snapshot, text: str, tables: Sequence[str] = tuple(FOUND)) -> tuple[Match, ...]:
    """Return the records that a text finds: the closest first, then by kind, label and id.

    Parameters
    ----------
    snapshot : Snapshot
    text : str
        Begun words of a name, in any order; an id finds its record too.
    tables : tables to look in: of `FOUND`, "shifts" or "places"

    Notes
    -----
    O(names). A text without words finds nothing.
    """
    found = []
    for table in tables:
        kind = FOUND.get(table, table.removesuffix("s"))
        for record_id, names in _iterate_names(snapshot, table):
            fits = [(FITS.index(fit), name) for name in (*names, record_id) if (fit := find_fit(text, name))]
            if fits:
                closest, name = min(fits, key=lambda entry: entry[0])
                found.append(Match(kind, record_id, names[0], name, FITS[closest]))
    return tuple(sorted(found, key=lambda m: (FITS.index(m.fit), m.kind, fold(m.label), m.id)))


def find_near(snapshot: Snapshot, text: str, table: str) -> tuple[str, ...]:
    """Return the ids of a table that are spelt nearly so, or whose names are; the nearest first, at most five."""
    spelt: dict[str, str] = {}
    for record_id, names in _iterate_names(snapshot, table):
        for name in (*names, record_id):
            spelt.setdefault(fold(name), record_id)
    near = get_close_matches(fold(text), spelt, n=_MOST_NEAR, cutoff=0.7)
    return tuple(dict.fromkeys(spelt[name] for name in near))


def find_fit(text: str, name: str) -> str:
    """Return how closely a text fits a name, or the empty string.

    Examples
    --------
    >>> [find_fit(text, "Leak location") for text in ("leak  LOCATION", "leak loc", "location", "loc", "cation")]
    ['whole', 'beginning', 'word', 'inside', '']
    """
    wanted, words = split_words(text), split_words(name)
    if not wanted or not all(any(word.startswith(part) for word in words) for part in wanted):
        return ""
    if wanted == words:
        return "whole"
    if wanted[:-1] == words[: len(wanted) - 1] and words[len(wanted) - 1 : len(wanted)][0].startswith(wanted[-1]):
        return "beginning"
    return "word" if set(wanted) <= set(words) else "inside"


def _iterate_names(snapshot: Snapshot, table: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield each id of a table with what the record is called, what people read first."""
    index = getattr(snapshot, table)
    for record_id, record in index.items():
        label = get_place_name(snapshot, record_id) if table == "places" else get_name(index, record_id)
        yield record_id, (label, *getattr(record, "alt_labels", ()))
