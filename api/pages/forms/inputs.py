"""The control of a field as HTML. Written by hand and not by a template: a form holds dozens, a sheet hundreds."""

from __future__ import annotations

from collections.abc import Collection

from markupsafe import Markup

from api.pages.cells import escape_text
from api.pages.forms.form import Field

__all__ = ["write_input"]


def write_input(field: Field, offered: Collection[str] = (), hint: str = "", label: str = "") -> Markup:
    """Return the control of a field, without its label.

    Parameters
    ----------
    field : Field
    offered : collection of str
        Tables whose records the page offers; those of others a script fetches.
    hint : str
        The id of what is said about it.
    label : str
        What it is called where no label stands beside it: in a cell of a sheet, which has an id only where something
        is wrong with it.
    """
    control, text = field.control, escape_text(field.text)
    id = f' id="{escape_text(field.id)}"' if field.faults or not label else ""
    begun, marks = f'{id} name="{escape_text(control.name)}"', _build_marks(field, hint, label)
    match field.shape:
        case "area":
            rows = 3 if control.is_several else 4
            return Markup(f'<textarea{begun} rows="{rows}"{marks}>\n{text}</textarea>')
        case "select":
            options = "".join([_build_option(*choice, chosen=field.text) for choice in control.choices])
            return Markup(f"<select{begun}{marks}>{options}</select>")
    kind = control.type if field.is_typed else "text"
    mode = f' inputmode="{control.inputmode}"' if control.inputmode else ""
    return Markup(f'<input{begun} value="{text}" type="{kind}"{mode}{_build_list(field, offered)}{marks}>')


def _build_option(value: str, words: str, *, chosen: str) -> str:
    selected = " selected" if value == chosen else ""
    return f'<option value="{escape_text(value)}"{selected}>{escape_text(words)}</option>'


def _build_list(field: Field, offered: Collection[str]) -> str:
    """Return where what may be typed is listed."""
    table = escape_text(field.control.table)
    fetched = "" if field.control.table in offered else f' data-table="{table}"'
    return f' list="offered-{table}"{fetched} autocomplete="off"' if table else ""


def _build_marks(field: Field, hint: str, label: str) -> str:
    """Return what is told of a control to who does not see it."""
    return "".join(
        (
            ' aria-required="true"' if field.control.is_required else "",
            ' aria-invalid="true"' if field.faults else "",
            f' aria-label="{escape_text(label)}"' if label else "",
            f' aria-describedby="{escape_text(hint)}"' if hint else "",
        )
    )
