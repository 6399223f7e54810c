"""A retired record as it last stood, where its page is asked for with ?retired=yes."""

from __future__ import annotations

import dataclasses
from typing import Final

from flask import redirect
from werkzeug.wrappers import Response

from api.desk.gone import list_places, tell_retired
from api.errors import ParameterError, WrongParameter
from api.http.actors import note_records
from api.http.collection import COLLECTIONS
from api.http.context import get_desk, get_request
from api.pages.addresses import build_record_address
from api.pages.records import build_view, describe_record
from api.site.sending import send_page

__all__ = ["find_retired_page"]

_YES: Final = ("yes", "true", "1")
_NO: Final = ("no", "false", "0", "")


def find_retired_page(table: str, record_id: str) -> Response | None:
    """Return the page of a retired record, where it is asked for; None where the address asks for nothing of the kind.

    Raises
    ------
    ParameterError
        `retired` says neither yes nor no.
    UnknownIdError
        There is no such record.
    """
    asked = get_request().args.get("retired")
    if asked is None:
        return None
    if asked.strip().casefold() not in (*_YES, *_NO):
        raise ParameterError(WrongParameter("retired", asked, "must be yes or no"))
    collection, state = COLLECTIONS[table], get_desk().get_state()
    is_wanted = asked.strip().casefold() in _YES
    item = collection.get_item(state.snapshot, record_id, with_retired=is_wanted)
    if item.retired_on is None:
        return redirect(build_record_address(table, record_id))
    note_records(table, [item])
    told = tell_retired(state.snapshot, table, record_id)
    shown = build_view(state.snapshot, collection.table, item, state.today)
    acts = tuple(
        (f"Go to {place.label}", build_record_address(table, place.id))
        for place in list_places(state.snapshot, table, record_id)
    )
    data = tuple((words, f"{address}&retired=yes") for words, address in shown.data)
    shown = dataclasses.replace(shown, lead=f"{told[0].upper()}{told[1:]}.", acts=acts, data=data)
    return send_page(describe_record(collection.table, shown), is_tagged=True)
