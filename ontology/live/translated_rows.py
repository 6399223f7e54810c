"""The texts of a record in other languages go with it, in the same change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.snapshot.snapshot import Snapshot

__all__ = ["follow_translations"]


def follow_translations(
    present: Snapshot, put: Sequence[tuple[str, Any]], remove: Sequence[tuple[str, Key]]
) -> tuple[tuple[str, Key], ...]:
    """Return the keys to remove, with those of the translations of each record that goes. O(records removed).

    A record that is made anew in the same change, and a translation that is put, stay.
    """
    if not remove or not present.get_table(TRANSLATIONS.name):
        return tuple(remove)
    kept = {(name, TABLES[name].get_key(record)) for name, record in put}
    gone = dict.fromkeys(remove)
    for name, key in remove:
        if name in TRANSLATED and (name, key) not in kept:
            rows = present.get_translations((name, get_key_text(key)))
            gone |= dict.fromkeys((TRANSLATIONS.name, TRANSLATIONS.get_key(row)) for row in rows)
    return tuple(pair for pair in gone if pair[0] != TRANSLATIONS.name or pair not in kept)
