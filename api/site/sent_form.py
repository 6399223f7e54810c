"""A form as it was sent: its own fields apart from those of the record, and the state of the record it was read at."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final
from urllib.parse import quote

from api.desk.states import READ_ASIDE
from api.errors import FieldError, FieldsError, ParameterError, WrongParameter
from api.http.collection import Collection
from api.http.context import get_graph, get_request
from api.http.etags import require_state
from api.http.record_services import Precondition
from api.http.responses import compute_item_etag
from api.pages.forms.language_fields import list_said
from api.pages.record_form import get_own_name, has_reason
from api.reason_text import check_reason
from ontology.errors import PreconditionMissingError
from ontology.model.columns import Table

__all__ = [
    "SAID",
    "Sent",
    "build_check",
    "check_sent",
    "get_here",
    "list_hidden",
    "read_filled",
    "read_sent",
    "require_state_told",
]

#: Beside the columns of a record as it was read, its texts in other languages.
SAID: Final = "said"


@dataclass(frozen=True, slots=True)
class Sent:
    """A form as it was sent: the tag and the members of the record as it was read, why it is changed, the fields."""

    state: str | None
    read: Mapping[str, Any] | None
    note: str
    note_name: str
    typed: dict[str, str]
    twice: tuple[str, ...]


def get_here() -> str:
    """Return the address that a form on this page is sent to: this one, percent-encoded."""
    return quote(get_request().path, safe="/~")


def read_filled(collection: Collection, also: Mapping[str, str] = MappingProxyType({})) -> dict[str, str]:
    """Return the texts that the address fills into a form; `also` are other names of columns.

    Raises
    ------
    ParameterError
        It names what is no column.
    """
    known = {column.name for column in collection.table.columns} if collection.table.name != "scales" else {"id"}
    asked = ((name, text) for name, text in get_request().args.items() if name in known or name not in READ_ASIDE)
    given = {also.get(name, name): text for name, text in asked}
    wrong = [WrongParameter(name, text, "is not known here") for name, text in given.items() if name not in known]
    if wrong:
        raise ParameterError(*wrong)
    return given


def read_sent(table: Table | None) -> Sent:
    """Return the form that a request holds, its own fields apart from those of the record.

    None: of a form of several records, whose fields have a number in front, so that none is called as one of its own.
    """
    form = get_request().form
    typed = form.to_dict()
    own = {name: get_own_name(table, name) if table is not None else name for name in ("state", "read", "why")}
    state, read = typed.pop(own["state"], None), typed.pop(own["read"], None)
    note = typed.pop(own["why"], "").strip() if table is None or has_reason(table) else ""
    twice = tuple(name for name, values in form.lists() if len(values) > 1)
    return Sent(state, read_version(read), note, own["why"], typed, twice)


def read_version(text: str | None) -> Mapping[str, Any] | None:
    """Return the record as it was read, which only its reader is shown again; None where the form does not tell."""
    try:
        version = json.loads(text or "null")
    except ValueError:
        return None
    return version if isinstance(version, dict) else None


def check_sent(sent: Sent, *, is_removal: bool = False) -> None:
    """Raise FieldsError where a form holds what no form sends, or a reason that the history cannot keep."""
    wrong = [FieldError(f"/{name}", None, "is given twice") for name in sent.twice]
    wrong += [FieldError(f"/{name}", text, "is not known here") for name, text in sent.typed.items() if is_removal]
    reason = check_reason(sent.note, may_be_empty=True)
    if reason:
        wrong.append(FieldError(f"/{sent.note_name}", sent.note, reason))
    if wrong:
        raise FieldsError("The form cannot be read.", wrong)


def require_state_told(sent: Sent) -> str:
    """Return the tag of what a form showed; PreconditionMissingError where it does not tell."""
    if sent.state is None:
        raise PreconditionMissingError("The form does not say which state of the record it was read at; open it again.")
    return sent.state


def build_check(collection: Collection, sent: Sent) -> Precondition:
    """Return what compares the record with the one the form showed, as If-Match does.

    Raises
    ------
    PreconditionMissingError
        The form does not say which state it is for.
    """
    state = require_state_told(sent)

    def check(present: Any | None) -> None:
        require_state(state, None if present is None else compute_item_etag(collection, present, "json"))

    return check


def list_hidden(collection: Collection, item: Any) -> tuple[tuple[str, str], ...]:
    """Return the form's own fields that nobody sees: the tag of a record, and the record as it is read."""
    table = collection.table
    state = compute_item_etag(collection, item, "json")
    said = list_said(get_graph().get_snapshot(), table, item)
    shown = collection.dump_item(item) | ({SAID: said} if said else {})
    read = json.dumps(shown, ensure_ascii=False, separators=(",", ":"))
    return (get_own_name(table, "state"), state), (get_own_name(table, "read"), read)
