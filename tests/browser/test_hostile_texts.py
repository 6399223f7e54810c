"""Stored script in texts that stand beside records runs nowhere: one server, one Chromium, every page that tells them.

OWASP ASVS 5.0.0, V1.2.1. What the policy of content would have stopped is heard, too: it must have nothing to stop.
"""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from access_parts import GOOD, Clock
from loopback import serve
from rest_company import ROWS, build_company
from said_beside import say_beside
from signed_in import House
from visitors import visit

from api.access.rights import Kind, Verb
from api.access.tokens import Scope
from api.desk.record_words import get_record_id
from api.pages.addresses import build_record_address
from api.settings import Settings
from api.site.kept import get_kept
from ontology.live.live_graph import Change
from ontology.model.tables import TABLES

if TYPE_CHECKING:
    from playwright.sync_api import Browser

MARKUP = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'"
#: Account -> the pages that tell such a text to it.
PAGES: dict[str, tuple[str, ...]] = {
    "Admin": ("/accounts", "/accounts/events"),
    "Architect": (
        *("/", "/account", "/account/purpose", "/drafts", "/drafts/marked", "/drafts/marked/effect", "/releases"),
        *("/roles/operator?language=fr", "/history/roles/operator", "/compare?from=outside:marked", "/framework"),
        build_record_address(
            "mappings", get_record_id(TABLES["mappings"], TABLES["mappings"].build(**ROWS["mappings"][0]))
        ),
    ),
    "Employee": ("/my-data", "/me/kept"),
}


@pytest.fixture(scope="module")
def house() -> Iterator[House]:
    """The small company with such a text behind whatever is said beside its records."""
    graph = build_company()
    say_beside(graph, MARKUP, "operator")
    snapshot = graph.get_snapshot()
    notes = [replace(row, note=MARKUP) for row in snapshot.get_table("mappings").values()]
    texts = TABLES["translations"].build(
        table="roles", id="operator", column="definition", language="fr", joined=MARKUP
    )
    graph.apply(Change((*(("mappings", row) for row in notes), ("translations", texts))), who=MARKUP, why=MARKUP)
    made = House(graph, Settings(company=MARKUP), clock=Clock(time.time()))
    access, architect = made.access, made.number("Architect")
    access.accounts.make(MARKUP)
    access.tokens.make(architect, MARKUP, Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE})))
    access.purposes.reasons = (MARKUP,)
    access.purposes.state(architect, MARKUP, MARKUP, team="works")
    (purpose,) = access.purposes.list(architect)
    access.looks.write(architect, MARKUP, "levels", ["p2"], purpose=purpose.number)
    with made.app.test_request_context():
        get_kept().keep("p2", "/people/p2/routes?to=chief", MARKUP, dt.date(2026, 11, 24), 1)
    yield made
    graph.close()


def test_texts_beside_records_run_nowhere(browser: Browser, house: House) -> None:
    dialogs: list[str] = []
    heard: list[str] = []
    silent: list[str] = []
    with serve(house.app, threads=8) as port:
        base = f"http://127.0.0.1:{port}"
        for name, addresses in PAGES.items():
            with visit(browser, base) as visitor:
                page = visitor.page
                page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
                page.goto(f"{base}/sign-in?to=/account")
                page.fill("#name", name)
                page.fill("#password", GOOD)
                page.click("button.first")
                for address in addresses:
                    status = visitor.go(address)
                    heard += [f"{address}: {told}" for told in visitor.take_heard() if "[DOM]" not in told]
                    if status != 200 or "<script>alert(1)" not in page.inner_text("body"):
                        silent.append(f"{name} {address}: {status}")
    assert (dialogs, heard) == ([], [])
    assert silent == [], "a page that does not tell the text shows nothing"
