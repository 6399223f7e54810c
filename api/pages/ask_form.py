"""The form below an answer that asks the same question differently: a field for each parameter."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.naming import say_ids
from api.desk.parameters import Asks, Parameter, list_parameters
from api.pages.asked_words import tell_about, tell_choice, tell_label
from api.pages.named import list_choices
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Field", "list_fields", "tell_asked"]

_INPUT_MODES: Final = {"whole": "numeric", "number": "decimal"}
#: What a heading says, or only how long it may take.
_UNSAID: Final = frozenset({"on", "time_limit"})
_NO_CHOICE: Final = ("", "–")


@dataclass(frozen=True, slots=True)
class Field:
    """One field: `text` is what it holds, `choices` pairs of value and words where there are only some.

    `table` is that of the records it names, for suggestions while one types.
    """

    name: str
    words: str
    about: str
    unit: str
    text: str
    type: str
    inputmode: str
    table: str
    is_required: bool
    choices: tuple[tuple[str, str], ...]


def list_fields(asks: type[Asks], texts: Mapping[str, str], snapshot: Snapshot) -> tuple[Field, ...]:
    """Return the fields of a question's form, filled with what is asked; records by their names."""
    # what must be said comes first, how long it may take last
    parameters = sorted(list_parameters(asks), key=lambda one: (not one.is_required, one.name == "time_limit"))
    return tuple(_build_field(parameter, texts, snapshot) for parameter in parameters)


def tell_asked(fields: Sequence[Field], texts: Mapping[str, str]) -> str:
    """Return in a sentence what was asked beside what must be given; "" where nothing was."""
    asked = [field for field in fields if field.name in texts and field.name not in _UNSAID and not field.is_required]
    told = [f"{field.words[:1].lower()}{field.words[1:]}: {_say_text(field)}" for field in asked]
    return f"Asked with {'; '.join(told)}." if told else ""


def _say_text(field: Field) -> str:
    text = dict(field.choices).get(field.text, field.text)
    return f"{text} {field.unit}".strip()


def _build_field(parameter: Parameter, texts: Mapping[str, str], snapshot: Snapshot) -> Field:
    kind = parameter.kind
    text = texts.get(parameter.name, parameter.default_text or "")
    return Field(
        name=parameter.name,
        words=parameter.label or tell_label(parameter.name),
        about=tell_about(parameter.about),
        unit=parameter.unit,
        text=say_ids(snapshot, parameter, text),
        type="date" if kind.name == "date" and _is_day(text) else "text",
        inputmode=_INPUT_MODES.get(kind.name, ""),
        table=kind.table,
        is_required=parameter.is_required,
        choices=_list_choices(parameter, snapshot, text),
    )


def _is_day(text: str) -> bool:
    """Whether a field for days can show a text: it shows nothing of one that is no day, and what was typed is lost."""
    try:
        return not text or bool(dt.date.fromisoformat(text))
    except ValueError:
        return False


def _list_choices(parameter: Parameter, snapshot: Snapshot, text: str) -> tuple[tuple[str, str], ...]:
    """Return what can be chosen; while the text is none of it, no record stands chosen that nobody chose."""
    kind = parameter.kind
    if kind.name == "id":
        records = list_choices(snapshot, kind.table)
        is_chosen = any(value == text for value, _ in records)
        return records if not records or (is_chosen and parameter.is_required) else (_NO_CHOICE, *records)
    words = ("no", "yes") if kind.name == "flag" else kind.choices
    pairs = tuple((word, tell_choice(parameter.name, word)) for word in words)
    return (_NO_CHOICE, *pairs) if pairs and parameter.default is None else pairs
