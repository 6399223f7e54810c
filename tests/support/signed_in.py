"""The small company behind sign-in: its accounts, and browsers that have signed in as one of them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from access_parts import GOOD, Clock, quicken
from flask import Flask
from flask.testing import FlaskClient
from html_forms import read_page
from werkzeug.test import TestResponse

from api.access.access import Access
from api.access.accounts import Grant
from api.access.actor import Role
from api.app import create_app
from api.http.access_context import ACCESS_EXTENSION
from api.settings import Settings
from ontology.live.live_graph import LiveGraph

#: Name of an account -> whom it is tied to, what it was made.
ACCOUNTS: dict[str, tuple[str, tuple[Grant, ...]]] = {
    "Admin": ("", (Grant(Role.ADMINISTRATOR),)),
    "Architect": ("", (Grant(Role.ARCHITECT),)),
    "Lead": ("p1", (Grant(Role.LEAD, "works"),)),
    "Employee": ("p2", ()),
    "Reader": ("", ()),
}
FIELD = "form-token"
_MADE: dict[tuple[int, Settings], Flask] = {}


@dataclass
class Browser:
    """A browser: it keeps cookies, follows what it is led to, and sends the forms of pages with all their fields."""

    client: FlaskClient
    page: TestResponse | None = None

    def get(self, address: str, **more: Any) -> TestResponse:
        """Open a page, and what it leads to."""
        self.page = self.client.get(address, follow_redirects=True, **more)
        return self.page

    def send(self, action: str, typed: dict[str, str] | None = None, **more: Any) -> TestResponse:
        """Send the form of the open page that goes to an address, with its own fields and what is typed into it."""
        assert self.page is not None
        forms = [form for form in read_page(self.page.text).forms if form.action == action and form.method == "post"]
        assert forms, f"no form to {action} in {self.page.request.path}"
        fields = next((form.fields for form in forms if (typed or {}).items() <= form.fields.items()), forms[0].fields)
        self.page = self.client.post(action, data=fields | (typed or {}), follow_redirects=True, **more)
        return self.page

    def sign_in(self, name: str, password: str = GOOD, to: str = "/") -> TestResponse:
        """Sign in by the form."""
        self.get(f"/sign-in?to={to}")
        return self.send("/sign-in", {"name": name, "password": password})


@dataclass
class House:
    """An application with accounts, and the clock of its accounts."""

    graph: LiveGraph
    settings: Settings = field(default_factory=Settings)
    clock: Clock = field(default_factory=Clock)

    def __post_init__(self) -> None:
        self.access = Access(None, self.clock)
        quicken(self.access.passwords)
        # to make an application takes a while; each test has accounts of its own
        made = (id(self.graph), self.settings)
        if made not in _MADE:
            _MADE[made] = create_app(self.graph, self.settings, self.access)
        self.app = _MADE[made]
        self.app.extensions[ACCESS_EXTENSION] = self.access
        for name, (person, grants) in ACCOUNTS.items():
            number = self.access.accounts.make(name, grants).number
            self.access.accounts.set_password(number, GOOD)
            if person:
                self.access.accounts.tie(number, person)

    def open(self, name: str = "") -> Browser:
        """Return a browser, signed in under a name where one is given."""
        browser = Browser(self.app.test_client())
        if name:
            assert browser.sign_in(name, to="/account").status_code == 200
        return browser

    def number(self, name: str) -> int:
        """Return the number of an account."""
        account = self.access.accounts.find(name)
        assert account is not None
        return account.number
