"""From a column to the control in which a person fills it in.

Nothing else in the pages knows columns: a column that is new in a table is in its form, in the filters of its list and
on the pages of its records.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from api.desk.table_words import tell_label
from loaders.tables.explanations import tell_allowed, tell_default
from ontology.model.columns import LONGEST_ID, Column, Table
from ontology.model.records import ScaleLevel

__all__ = ["Control", "Shape", "build_control", "build_filter"]

Shape = Literal["line", "area", "select", "radio"]

#: More choices than this are a list to open, not buttons beside each other.
MOST_BUTTONS: Final = 4
_YES_NO: Final = (("yes", "yes"), ("no", "no"))
_INPUT_MODES: Final = {"integer": "numeric", "number": "decimal"}
_SEVERAL: Final = ("refs", "texts", "iris")
#: Texts of the framework in which people write what they like: they stay in its history, whoever is erased.
_FREE: Final = ("definition", "remark")
#: Empty means that nothing is told, which needs no word.
_PLAINLY_EMPTY: Final = ("none", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """One control of a form.

    Parameters
    ----------
    name : str
        Of the field that is sent.
    label, hint : str
        What people read: what it is; what is meant, what may stand there and what it means when it stays empty.
    shape : {"line", "area", "select", "radio"}
    type, inputmode : str
        Of a line: text or date; which keys a phone shows.
    choices : pairs of value and words
        Of a select or of radio buttons; the empty value is among them where it may be chosen.
    table : str
        What is typed are ids of records of this table; "" for other texts.
    is_several : bool
        Each line of the area is a value of its own.
    """

    name: str
    label: str
    hint: str
    shape: Shape = "line"
    type: str = "text"
    inputmode: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    table: str = ""
    is_required: bool = False
    is_several: bool = False


def build_control(table: Table, column: Column, *, levels: Sequence[ScaleLevel] = (), name: str = "") -> Control:
    """Return the control of a column in the form of a record.

    Parameters
    ----------
    table, column : the column, of its table
    levels : of the scale that the column's level is of, where that is known
    name : of the field where it is not the column's own
    """
    name, label = name or column.name, tell_label(table.name, column.name)
    empty = _tell_empty(table, column)
    if levels:
        choices = (*_offer_empty(column, empty), *_offer_zero(column), *((str(s.rank), _say(s)) for s in levels))
        return Control(
            name=name, label=label, hint=column.about, shape="select", choices=choices, is_required=column.is_required
        )
    if column.kind in ("choice", "flag"):
        words = _YES_NO if column.kind == "flag" else tuple((word, word.replace("-", " ")) for word in column.choices)
        choices = (*words, *_offer_unsaid(column, empty))
        shape: Shape = "radio" if len(words) <= MOST_BUTTONS else "select"
        return Control(
            name=name, label=label, hint=column.about, shape=shape, choices=choices, is_required=column.is_required
        )
    is_several = column.kind in _SEVERAL
    return Control(
        name=name,
        label=label,
        hint=_build_hint(column, empty, label),
        shape="area" if is_several or column.is_long else "line",
        type="date" if column.kind == "date" else "text",
        # the keys for whole numbers have no minus
        inputmode=_INPUT_MODES.get(column.kind, "") if column.minimum is not None else "",
        table=column.refers_to,
        is_required=column.is_required,
        is_several=is_several,
    )


def build_filter(table: Table, column: Column) -> Control:
    """Return the control that asks a list for the records with a value; empty asks for nothing."""
    words: tuple[tuple[str, str], ...] = ()
    if column.kind in ("choice", "flag"):
        known = ("yes", "no") if column.kind == "flag" else column.choices
        words = (("", "any"), *((word, word.replace("-", " ")) for word in known))
    return Control(
        name=column.name,
        label=tell_label(table.name, column.name),
        hint="",
        shape="select" if words else "line",
        type="date" if column.kind == "date" else "text",
        inputmode=_INPUT_MODES.get(column.kind, ""),
        choices=words,
        table=column.refers_to,
    )


def _tell_empty(table: Table, column: Column) -> str:
    """Return what an empty field means, "" where it must be filled in; a computed default without words is usual."""
    try:
        return tell_default(table, column)
    except KeyError:
        return "as usual"


def _build_hint(column: Column, empty: str, label: str) -> str:
    parts = [column.about] if column.about.rstrip(".") != label else []
    if column.name in _FREE:
        parts.append("No names of people here.")
    if column.kind in ("integer", "number", "id"):
        allowed = tell_allowed(column)
        parts.append(f"{allowed[0].upper()}{allowed[1:]}.")
    elif column.kind in ("texts", "iris", "refs"):
        parts.append("One on a line.")
    if column.kind in ("id", "ref", "refs", "text") and column.is_required:
        parts.append(f"At most {LONGEST_ID} characters." if column.kind == "id" else "")
    if not column.is_required and "empty:" not in column.about and empty not in _PLAINLY_EMPTY:
        parts.append(f"Empty: {empty}.")
    return " ".join(filter(None, parts))


def _say(level: ScaleLevel) -> str:
    return f"{level.rank} {level.label}".strip()


def _offer_empty(column: Column, empty: str) -> tuple[tuple[str, str], ...]:
    """Return the choice of a level that leaves it open: named by what that means."""
    if column.is_required:
        return (("", "choose a level"),)
    words = empty if empty not in _PLAINLY_EMPTY else "any level"
    return (("", f"as usual: {words}"),) if callable(column.default) else (("", words),)


def _offer_zero(column: Column) -> tuple[tuple[str, str], ...]:
    if column.minimum != 0:
        return ()
    # what 0 means stands in the column's own sentence: "0 = none", "0 = assessed, and below level 1"
    told = column.about.partition("0 = ")[2].rstrip(".")
    return (("0", f"0 {told}".strip()),)


def _offer_unsaid(column: Column, empty: str) -> tuple[tuple[str, str], ...]:
    """Return the choice that leaves a word or a yes open; there is none where the default is one of the words."""
    if column.is_required:
        return ()
    if callable(column.default) or column.default is None:
        return (("", f"as usual: {empty}" if empty not in _PLAINLY_EMPTY else "not said"),)
    return (("", "not said"),) if column.default == "" else ()
