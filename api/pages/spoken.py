"""What a record is called in other languages than the one its page is read in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.desk.language_words import name_language
from api.desk.plain_cells import line_up
from api.desk.record_words import get_record_id
from api.desk.table_words import tell_label
from api.pages.addresses import build_record_address
from api.pages.page import Link
from ontology.model.columns import Table
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.snapshot.languages import get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SPOKEN", "Spoken", "SpokenIn", "build_spoken"]

#: Under which name the frame of all pages finds what a record is called in other languages.
SPOKEN: Final = "spoken"


@dataclass(frozen=True, slots=True)
class SpokenIn:
    """The texts of a record in one language: what each is, and the text, None where it is not translated yet."""

    tag: str
    language: str
    texts: tuple[tuple[str, str | None], ...]


@dataclass(frozen=True, slots=True)
class Spoken:
    """A record in the other languages there are, and the form in which they are written."""

    languages: tuple[SpokenIn, ...]
    edit: Link


def build_spoken(main: Snapshot, table: Table, record: Any, read: str) -> Spoken | None:
    """Return what is said of a record in the languages it is not read in; None where there is no other language.

    Parameters
    ----------
    main : Snapshot
        The state in its main language.
    table : Table
    record : Any
        Of it, in the main language; of scales the tuple of their levels.
    read : str
        The language that the page is read in.
    """
    others = list_languages(main)
    if table.name not in TRANSLATED or not others:
        return None
    parts: tuple[Any, ...] = record if table.name == "scales" else (record,)
    texts = [text for part in parts for text in _iterate_texts(main, table, part)]
    own = get_main_language(main)
    languages = [
        SpokenIn(tag, name_language(tag), tuple((name, said.get(tag)) for name, said in texts))
        for tag in (own, *others)
        if tag != read
    ]
    address = f"/edit{build_record_address(table.name, get_record_id(table, record))}"
    return Spoken(tuple(languages), Link("Edit these texts, or begin another language", address))


def _iterate_texts(main: Snapshot, table: Table, part: Any) -> Iterator[tuple[str, Mapping[str, str]]]:
    """Yield for each column that is filled what it is, and language -> its text."""
    said: dict[str, dict[str, str]] = {column.name: {} for column in TRANSLATED[table.name]}
    for row in main.get_translations((table.name, get_key_text(table.get_key(part)))):
        said[row.column][row.language] = line_up(row.texts)
    for column in TRANSLATED[table.name]:
        value = getattr(part, column.attribute)
        text = value if isinstance(value, str) else line_up(value)
        own = {get_main_language(main): text} if text else {}
        if own or said[column.name]:
            name = tell_label(table.name, column.name)
            yield f"{part.rank}: {name}" if table.name == "scales" else name, {**said[column.name], **own}
