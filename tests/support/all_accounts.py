"""A company with accounts: one account of each kind, and clients that have signed in as them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from access_parts import quicken
from flask import Flask
from flask.testing import FlaskClient

from api.access.access import Access
from api.access.accounts import Grant
from api.access.actor import Role
from api.access.purposes import REASONS
from api.app import create_app
from api.settings import Settings
from ontology.live.live_graph import LiveGraph

__all__ = ["Accounts", "People", "build_accounts"]


@dataclass(frozen=True)
class People:
    """Of whom and of which teams the accounts of a company are."""

    employee: str
    lead: str
    team: str
    other_team: str
    competency: str


@dataclass(frozen=True)
class Accounts:
    """An application with accounts, and the number of each by its name."""

    app: Flask
    access: Access
    numbers: dict[str, int]

    def sign_in(self, name: str) -> FlaskClient:
        """Return a client that has signed in under a name; "nobody": one that has not."""
        client = self.app.test_client()
        if name != "nobody":
            client.set_cookie("newel", self.access.sessions.open(self.numbers[name]))
        return client


def build_accounts(graph: LiveGraph, people: People, settings: Settings | None = None) -> Accounts:
    """Return an application with an account of every kind."""
    access = Access(None)
    quicken(access.passwords)
    numbers: dict[str, int] = {}

    def make(name: str, grants: Iterable[Grant] = (), person: str = "") -> None:
        numbers[name] = access.accounts.make(name, grants).number
        if person:
            access.accounts.tie(numbers[name], person)

    make("reader")
    make("employee", person=people.employee)
    make("lead", [Grant(Role.LEAD, people.team)], people.lead)
    make("other lead", [Grant(Role.LEAD, people.other_team)])
    make("assessor", [Grant(Role.ASSESSOR, people.team, people.competency)])
    make("architect", [Grant(Role.ARCHITECT)])
    make("architect with purpose", [Grant(Role.ARCHITECT)])
    make("administrator", [Grant(Role.ADMINISTRATOR)])
    access.purposes.state(numbers["architect with purpose"], REASONS[0], "the yearly audit", team=people.team)
    # a test asks in a minute what nobody asks in a day
    settings = replace(settings or Settings(), requests_a_minute=1_000_000)
    return Accounts(create_app(graph, settings, access), access, numbers)
