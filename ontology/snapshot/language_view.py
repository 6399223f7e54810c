"""A Snapshot in another language: other texts, and the same ids, order and numbers.

A text without a translation stays as it is in the main language.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from ontology.model.columns import Key
from ontology.model.translated import TRANSLATED, parse_key_text
from ontology.snapshot.languages import get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["tell_languages_of_names", "tell_languages_of_texts", "view_in"]

#: Languages in which a Snapshot is kept at once.
KEPT: Final = 4
#: The tables whose records are found by their names in any language.
_NAMED: Final = ("competencies", "courses", "roles", "shifts", "teams")
_OF_NAMES: Final = frozenset({"label", "alt_labels", "family"})
_GROUPS: Final = "translations by language"
#: Table -> key -> attribute -> what is said.
Said = Mapping[str, Mapping[Key, Mapping[str, Any]]]


def view_in(snapshot: Snapshot, language: str) -> Snapshot:
    """Return a Snapshot with the texts of another language where there are any; this one stays as it is.

    Parameters
    ----------
    snapshot : Snapshot
        In the main language.
    language : str
        One of `list_languages`; for any other the Snapshot itself is returned.

    Notes
    -----
    O(records of the tables that have translations) for the first view; tables and indexes that hold no text of it are
    shared. The four views made last are kept with the Snapshot.
    """
    if language == get_main_language(snapshot) or language not in list_languages(snapshot):
        return snapshot
    views: dict[str, Snapshot] = snapshot.keep("views in other languages", dict)
    view = views.get(language)
    if view is None:
        groups = _group(snapshot)
        view = views[language] = snapshot.with_texts(dict(_replace_texts(snapshot, groups.get(language, {}))))
        view.names_in_other_languages = snapshot.names_in_other_languages.with_main(
            {name: getattr(snapshot, f"names_of_{name}") for name in groups.get(language, {}) if name in _NAMED},
            get_main_language(snapshot),
        )
        view.keep(_GROUPS, lambda: groups)
        while len(views) > KEPT:
            views.pop(next(iter(views)), None)
    return view


def tell_languages_of_texts(view: Snapshot, language: str) -> Mapping[str, str]:
    """Return each text of a view that can be translated -> the language it is in: the one asked, or the main one.

    A text that stands in both counts as one of the language asked. O(records).
    """
    return _tell_languages(view, language, frozenset())


def tell_languages_of_names(view: Snapshot, language: str) -> Mapping[str, str]:
    """Return what records and families are called -> the language it is in; as `tell_languages_of_texts`."""
    return _tell_languages(view, language, _OF_NAMES)


def _tell_languages(view: Snapshot, language: str, only: Collection[str]) -> dict[str, str]:
    translated = _group(view).get(language, {})
    own: dict[str, str] = {}
    found: dict[str, str] = {}
    main = get_main_language(view)
    for name, columns in TRANSLATED.items():
        of_table = translated.get(name, {})
        wanted = [column for column in columns if not only or column.name in only]
        for key, record in view.get_all(name).items():
            there = of_table.get(key, {})
            for column in wanted:
                value = getattr(record, column.attribute)
                texts, told = (found, language) if column.attribute in there else (own, main)
                texts.update((text, told) for text in ((value,) if isinstance(value, str) else value) if text)
    return own | found


def _replace_texts(snapshot: Snapshot, said: Said) -> Iterator[tuple[str, dict[Key, Any]]]:
    """Yield for each table the records that are said otherwise, by key."""
    for name, texts in said.items():
        records = snapshot.get_all(name)
        yield name, {key: replace(records[key], **own) for key, own in texts.items() if key in records}


def _group(snapshot: Snapshot) -> Mapping[str, Said]:
    """Return for each language what is said in it. O(translations), once."""
    return snapshot.keep(_GROUPS, lambda: _build_groups(snapshot))


def _build_groups(snapshot: Snapshot) -> Mapping[str, Said]:
    groups: dict[str, dict[str, dict[Key, dict[str, Any]]]] = {}
    attributes = {name: {column.name: column.attribute for column in columns} for name, columns in TRANSLATED.items()}
    for row in snapshot.get_all("translations").values():
        key = parse_key_text(row.table, row.id)
        attribute = attributes.get(row.table, {}).get(row.column)
        if key is not None and attribute is not None:
            groups.setdefault(row.language, {}).setdefault(row.table, {}).setdefault(key, {})[attribute] = row.text
    return groups
