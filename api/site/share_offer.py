"""On a page that somebody looks at for themselves alone: the button that shows it to their lead."""

from __future__ import annotations

import dataclasses
import datetime as dt
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from api.access.accounts import Account
from api.access.rights import Kind
from api.access.shares import LONGEST_DAYS
from api.http.access_context import get_access, require_access
from api.http.context import get_desk, get_request
from api.http.route_rights import find_right
from api.http.signed_in import find_session, require_account
from api.pages.page import Page

__all__ = ["ShareOffer", "add_offer"]

#: Days that are suggested: common practice, no source.
_USUAL_DAYS: Final = 28


@dataclass(frozen=True, slots=True)
class ShareOffer:
    """What would be shown, between which days; `until` where it is shown already."""

    address: str
    suggested: dt.date
    first: dt.date
    last: dt.date
    until: dt.date | None


def add_offer(page: Page) -> Page:
    """Return a page with the offer to show it, where it is one that its reader alone sees."""
    if get_access() is None or not _is_exploration():
        return page
    account = require_account() if find_session() is not None else None
    person = (get_request().view_args or {}).get("id")
    if account is None or not account.person or account.person != person:
        return page
    return dataclasses.replace(page, values={**page.values, "share": _build_offer(account)})


def _is_exploration() -> bool:
    request = get_request()
    rule = request.url_rule
    right = find_right(rule.rule, "GET") if rule is not None and request.method == "GET" else None
    if right is None or right.kind is not Kind.EXPLORATION or right.table != "people":
        return False
    # of the role one holds the lead knows anyway
    return not right.hangs_on_role or bool(request.args.get("role"))


def _build_offer(account: Account) -> ShareOffer:
    request, today = get_request(), get_desk().get_state().today
    query = request.query_string.decode("ascii", "replace")
    address = quote(request.path) + (f"?{query}" if query else "")
    shown = require_access().shares.list(account.person, today)
    until = next((one.share.until for one in shown if one.share.address == address), None)
    usual, last = today + dt.timedelta(days=_USUAL_DAYS), today + dt.timedelta(days=LONGEST_DAYS)
    return ShareOffer(address, usual, today, last, until)
