"""The texts of a record in other languages, as fields of its form: `label@de`; and those of a language to begin with.

A text is stored where it was changed in the form; one that someone else changed meanwhile is not overwritten.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from api.desk.language_words import name_language
from api.errors import FieldError, FieldsError
from api.pages.forms.controls import Control, build_control
from api.pages.forms.faults import Fault
from api.pages.forms.form import Field
from ontology.live.live_graph import Change
from ontology.model.columns import Table
from ontology.model.keeping_records import SEVERAL, Translation
from ontology.model.several import join_values
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.rdf.literals import is_language_tag
from ontology.snapshot.languages import get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["TAG", "FieldsIn", "build_language_fields", "has_languages", "list_said", "read_said", "split_said"]

#: Between a column and its language.
_AT: Final = "@"
#: Stands for the language to begin with, and the field that names it.
_NEW: Final = "+"
TAG: Final = "@language"
_HINT: Final = "Left empty, the text in the main language is read."


@dataclass(frozen=True, slots=True)
class FieldsIn:
    """The fields of one language; of one to begin with the first names it."""

    tag: str
    heading: str
    fields: tuple[Field, ...]


def has_languages(table: Table) -> bool:
    """Whether records of a table are said in other languages in their form; levels of scales are in their own table."""
    return table.name in TRANSLATED and table.name != "scales"


def list_said(snapshot: Snapshot, table: Table, item: Any) -> dict[str, str]:
    """Return the texts of a record in other languages, by field; several names stand one on a line."""
    if item is None or not has_languages(table):
        return {}
    rows = snapshot.get_translations((table.name, get_key_text(table.get_key(item))))
    return {f"{row.column}{_AT}{row.language}": "\n".join(row.texts) for row in rows}


def split_said(typed: dict[str, str]) -> dict[str, str]:
    """Take the texts in other languages out of what was typed, and return them by field, without blanks around."""
    return {name: typed.pop(name).replace("\r\n", "\n").strip() for name in [*typed] if _AT in name}


def build_language_fields(
    snapshot: Snapshot, table: Table, said: Mapping[str, str], faults: Sequence[Fault]
) -> tuple[FieldsIn, ...]:
    """Return the fields of every language in use, and of one to begin with, with what stands in them."""
    if not has_languages(table):
        return ()

    def build(tag: str) -> tuple[Field, ...]:
        named = ((column, f"{column.name}{_AT}{tag}") for column in TRANSLATED[table.name])
        controls = [
            replace(build_control(table, column, name=name), is_required=False, hint=_HINT) for column, name in named
        ]
        return tuple(_build_field(control, said, faults) for control in controls)

    known = [FieldsIn(tag, name_language(tag), build(tag)) for tag in list_languages(snapshot)]
    about = f"Its tag, like de or pt-br; not {get_main_language(snapshot)}, in which the fields above are written."
    tag_field = _build_field(Control(name=TAG, label="Language", hint=about), said, faults)
    return (*known, FieldsIn(_NEW, "Another language", (tag_field, *build(_NEW))))


def _build_field(control: Control, said: Mapping[str, str], faults: Sequence[Fault]) -> Field:
    told = tuple(fault.reason for fault in faults if fault.field == control.name)
    return Field(control, said.get(control.name, ""), told)


def read_said(snapshot: Snapshot, table: Table, item: Any, said: Mapping[str, str], shown: Mapping[str, str]) -> Change:
    """Return what of a record's texts in other languages is to be put and removed.

    Parameters
    ----------
    snapshot, table : the state in its main language, and of what
    item : the record as it will stand
    said, shown : texts as they were sent, and as the form showed them, by field

    Raises
    ------
    FieldsError
        What is typed is of no language, or someone else changed it meanwhile.
    """
    present, key = list_said(snapshot, table, item), get_key_text(table.get_key(item))
    wrong: list[FieldError] = []
    new = said.get(TAG, "").lower()
    is_begun = any(text for name, text in said.items() if name.endswith(_AT + _NEW))
    if new and not is_language_tag(new):
        wrong.append(FieldError(f"/{TAG}", new, "must be a language tag (RFC 5646), like de or pt-br"))
    elif is_begun and not new:
        wrong.append(FieldError(f"/{TAG}", "", "must name the language of the texts below"))
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, Any]] = []
    columns = {column.name for column in TRANSLATED[table.name]}
    for name, text in said.items():
        column, _, tag = name.partition(_AT)
        if name == TAG or text == shown.get(name, ""):
            continue
        if column not in columns:
            wrong.append(FieldError(f"/{name}", text, "is not known here"))
            continue
        language = new if tag == _NEW else tag
        now = present.get(f"{column}{_AT}{language}", "")
        if now not in (shown.get(name, ""), text):
            told = f"was changed meanwhile to {now!r}" if now else "was removed meanwhile"
            wrong.append(FieldError(f"/{name}", text, f"{told}: open the form again"))
        elif text:
            joined = join_values(filter(None, map(str.strip, text.split("\n")))) if column in SEVERAL else text
            put.append(("translations", Translation(table.name, key, column, language, joined)))
        elif now:
            remove.append(("translations", (table.name, key, column, language)))
    if wrong:
        raise FieldsError("Texts in other languages are wrong; nothing was stored.", wrong)
    return Change(put=tuple(put), remove=tuple(remove))
