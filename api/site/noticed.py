"""What stands below the record of a page, of whatever kind: its texts in other languages, what our own rules find."""

from __future__ import annotations

from dataclasses import replace

from api.desk.question import COMPANY, Subject
from api.http.actors import get_actor
from api.http.collection import COLLECTIONS
from api.http.context import get_desk
from api.pages.page import Page
from api.pages.records import NOTICED, list_findings
from api.pages.spoken import SPOKEN, build_spoken
from api.questions import load_question

__all__ = ["add_below", "add_findings", "add_languages"]


def add_below(page: Page, table: str, record_id: str) -> Page:
    """Return the page of a record with all that stands below it."""
    return add_findings(add_languages(page, table, record_id), table, record_id)


def add_languages(page: Page, table: str, record_id: str) -> Page:
    """Return the page of a record with its texts in other languages; as it is where there are none."""
    collection, state = COLLECTIONS[table], get_desk().get_state()
    main = state.in_main().snapshot
    item = collection.get_item(main, record_id)
    read = state.reading.language if state.reading is not None else ""
    spoken = build_spoken(main, collection.table, item, read)
    return replace(page, values={**page.values, SPOKEN: spoken}) if spoken is not None else page


def add_findings(page: Page, table: str, record_id: str) -> Page:
    """Return the page of a record with the findings on it below; as it is where there are none."""
    collection, state = COLLECTIONS[table], get_desk().get_state()
    if not get_desk().may_ask(get_actor(), state, load_question("findings"), Subject(COMPANY)):
        return page
    main = state.in_main().snapshot  # a rule may judge texts
    item = collection.get_item(main, record_id)
    found = list_findings(main, collection.table, item, state.today)
    return replace(page, values={**page.values, NOTICED: found}) if found else page
