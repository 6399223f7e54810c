"""What our own rules find on the record that a page shows: added to pages of every kind. Imports Flask."""

from __future__ import annotations

from dataclasses import replace

from api.desk.question import COMPANY, Subject
from api.http.actors import get_actor
from api.http.collection import COLLECTIONS
from api.http.context import get_desk
from api.pages.page import Page
from api.pages.records import NOTICED, list_findings
from api.questions import load_question

__all__ = ["add_findings"]


def add_findings(page: Page, table: str, record_id: str) -> Page:
    """Return the page of a record with the findings on it below; as it is where there are none."""
    collection, state = COLLECTIONS[table], get_desk().get_state()
    if not get_desk().may_ask(get_actor(), state, load_question("findings"), Subject(COMPANY)):
        return page
    item = collection.get_item(state.snapshot, record_id)
    found = list_findings(state.snapshot, collection.table, item, state.today)
    return replace(page, values={**page.values, NOTICED: found}) if found else page
