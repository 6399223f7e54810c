"""Sessions, tokens, purposes and looks: what opens, for how long, and what is written down."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from access_parts import GOOD, Clock, Parts
from rest_company import build_company
from sqlalchemy import select

from api.access.accounts import Accounts, Grant
from api.access.actor import Role, Scope
from api.access.building import build_actor
from api.access.database import Database
from api.access.purposes import LONGEST_S as LONGEST_PURPOSE_S
from api.access.rights import Kind, Verb
from api.access.secrets import digest_secret
from api.access.sessions import CONFIRMED_S, IDLE_S, LONGEST_S, Sessions
from api.access.tables import SESSIONS, TOKENS
from ontology.errors import InputError

SCOPE = Scope(frozenset({Kind.FRAMEWORK, Kind.TEAM_ANSWERS}), frozenset({Verb.SEE}), frozenset({"works"}))
ON = dt.date(2026, 11, 24)


@pytest.fixture
def parts() -> Parts:
    parts = Parts()
    number = parts.accounts.make("Lead", [Grant(Role.LEAD, "works")]).number
    parts.accounts.set_password(number, GOOD)
    return parts


def test_a_session_ends_after_an_hour_without_a_request_and_twelve_in_all(parts: Parts) -> None:
    secret = parts.sessions.open(1, "Chromium on Linux")
    begun = parts.clock.now
    while parts.clock.now - begun < LONGEST_S - IDLE_S / 2:
        parts.clock.now += IDLE_S / 2
        if parts.clock.now - begun < LONGEST_S:
            assert parts.sessions.find(secret) is not None
    parts.clock.now = begun + LONGEST_S
    assert parts.sessions.find(secret) is None
    idle = parts.sessions.open(1)
    parts.clock.now += IDLE_S
    assert parts.sessions.find(idle) is None
    assert parts.sessions.list(1) == ()


def test_only_what_cannot_be_turned_back_is_kept_of_a_secret(parts: Parts) -> None:
    first, second = parts.sessions.open(1), parts.sessions.open(1)
    assert first != second
    assert len(first) >= 43
    kept = {row.digest for row in parts.database.ask(select(SESSIONS))}
    assert kept == {digest_secret(first), digest_secret(second)}
    for wrong in ("", "x", first[:-1], digest_secret(first)):
        assert parts.sessions.find(wrong) is None


def test_a_password_given_again_makes_a_new_secret_and_opens_more_for_ten_minutes(parts: Parts) -> None:
    secret = parts.sessions.open(1)
    parts.clock.now += CONFIRMED_S + 1
    session = parts.sessions.find(secret)
    assert session is not None
    assert not parts.sessions.is_confirmed(session)
    new = parts.sessions.confirm(secret)
    assert new is not None
    assert parts.sessions.find(secret) is None, "the old one is of no use any more"
    renewed = parts.sessions.find(new)
    assert renewed is not None
    assert (renewed.number, parts.sessions.is_confirmed(renewed)) == (session.number, True)
    assert parts.sessions.confirm(secret) is None


def test_sessions_are_seen_and_ended_by_their_own_account(parts: Parts) -> None:
    other = parts.accounts.make("Other").number
    first, second = parts.sessions.open(1, "a"), parts.sessions.open(1, "b")
    numbers = [session.number for session in parts.sessions.list(1)]
    assert [session.about for session in parts.sessions.list(1)] == ["b", "a"]
    assert not parts.sessions.end_number(other, numbers[0])
    assert parts.sessions.end_number(1, numbers[0])
    assert parts.sessions.find(second) is None
    parts.sessions.end(first)
    assert parts.sessions.list(1) == ()


def test_a_token_is_shown_once_and_ends(parts: Parts) -> None:
    secret = parts.tokens.make(1, "Nightly export", SCOPE, days=30)
    assert secret.startswith("nwl_")
    assert parts.database.ask(select(TOKENS))[0].digest == digest_secret(secret)
    token = parts.tokens.find(secret)
    assert token is not None
    assert (token.account, token.name, token.scope, token.used_at) == (1, "Nightly export", SCOPE, None)
    (listed,) = parts.tokens.list(1)
    assert listed.used_at == parts.clock.now
    parts.clock.now += 30 * 86_400
    assert parts.tokens.find(secret) is None
    assert parts.tokens.end(1, token.number)
    assert not parts.tokens.end(1, token.number)
    for wrong in ({"days": 0}, {"days": 366}, {"name": " "}, {"scope": Scope(frozenset(), frozenset({Verb.SEE}))}):
        with pytest.raises(InputError):
            parts.tokens.make(**({"account": 1, "name": "x", "scope": SCOPE} | wrong))


def test_who_asks_is_built_of_what_is_so_now(parts: Parts) -> None:
    snapshot = build_company().get_snapshot()

    def build(scope: Scope | None = None):  # type: ignore[no-untyped-def]
        return build_actor(parts.accounts.get(1), snapshot, ON, parts.purposes.list(1), scope)

    assert (build().leads, build().roles, build().person) == ({"works"}, {Role.LEAD}, "")
    parts.accounts.tie(1, "p1")
    assert (build().person, build().belongs_to) == ("p1", {"works"})
    assert Role.EMPLOYEE in build().roles
    parts.accounts.tie(1, "who-left")
    assert build().person == ""
    parts.accounts.grant(1, [Grant(Role.LEAD, "a-team-that-was")])
    assert build(SCOPE).leads == frozenset()
    assert build(SCOPE).scope == SCOPE
    parts.accounts.end(1)
    assert not build().is_signed_in


def test_a_purpose_is_an_architects_and_ends_by_itself(parts: Parts) -> None:
    snapshot = build_company().get_snapshot()
    parts.purposes.state(1, "audit", "Yearly audit of permits", team="works")
    lead = build_actor(parts.accounts.get(1), snapshot, ON, parts.purposes.list(1))
    assert lead.purposes == ()
    parts.accounts.grant(1, [Grant(Role.ARCHITECT)])
    architect = build_actor(parts.accounts.get(1), snapshot, ON, parts.purposes.list(1))
    assert [(purpose.team, purpose.reason) for purpose in architect.purposes] == [("works", "audit")]
    parts.clock.now += LONGEST_PURPOSE_S
    assert parts.purposes.list(1) == ()
    parts.purposes.state(1, "audit", "again", person="p1")
    parts.purposes.end(1)
    assert parts.purposes.list(1) == ()
    for wrong in (
        {"reason": "curiosity", "words": "x", "team": "works"},
        {"reason": "audit", "words": " ", "team": "works"},
        {"reason": "audit", "words": "x"},
        {"reason": "audit", "words": "x", "team": "works", "person": "p1"},
    ):
        with pytest.raises(InputError):
            parts.purposes.state(1, **wrong)


def test_each_person_reads_who_was_told_of_them_once_an_hour(parts: Parts) -> None:
    assert parts.looks.write(1, "Lead", "team answers", {"p1", "p2"}) == 2
    assert parts.looks.write(1, "Lead", "team answers", {"p1", "p3"}) == 1, "p1 within the hour"
    assert parts.looks.write(1, "Lead", "assessments", {"p1"}) == 1, "another kind"
    assert parts.looks.write(2, "Other", "team answers", {"p1"}) == 1, "another account"
    assert parts.looks.write(2, "Other", "team answers", {"p9"}, own="p9") == 0, "one's own"
    assert parts.looks.write(2, "Other", "team answers", set()) == 0
    parts.clock.now += 3601
    assert parts.looks.write(1, "Lead", "team answers", {"p1"}) == 1
    told = parts.looks.list("p1")
    assert [(look.by, look.kind) for look in told] == [
        ("Lead", "team answers"),
        ("Other", "team answers"),
        ("Lead", "assessments"),
        ("Lead", "team answers"),
    ]
    assert told[0].when - told[-1].when == dt.timedelta(seconds=3601)
    assert [look.kind for look in parts.looks.list("p3")] == ["team answers"]
    assert parts.looks.list("p9") == ()


def test_a_purpose_stands_in_the_log_of_whom_it_names(parts: Parts) -> None:
    parts.purposes.state(1, "audit", "Permits", team="works")
    parts.looks.write(1, "Lead", "standing", {"p1"}, purpose=1)
    assert parts.looks.list("p1")[0].reason == "audit"


def test_looks_are_forgotten_after_a_time_and_of_who_is_erased(parts: Parts) -> None:
    parts.looks.write(1, "Lead", "standing", {"p1", "p2"})
    parts.clock.now += 7200
    parts.looks.write(1, "Lead", "standing", {"p1", "p2"})
    assert parts.looks.forget(parts.clock.now - 3600) == 1
    assert len(parts.looks.list("p1")) == 1
    assert parts.looks.erase("p1") == 1
    assert (parts.looks.list("p1"), len(parts.looks.list("p2"))) == ((), 1)


def test_many_people_are_written_at_once(parts: Parts) -> None:
    everyone = {f"p{n}" for n in range(2345)}
    assert parts.looks.write(1, "Lead", "company cover", everyone) == 2345
    assert parts.looks.write(1, "Lead", "company cover", everyone) == 0


def test_a_session_found_a_moment_ago_is_gone_with_the_next_change(parts: Parts, tmp_path: Path) -> None:
    database = Database(tmp_path / "access.sqlite")
    clock, elsewhere = Clock(), Database(tmp_path / "access.sqlite")
    accounts, here = Accounts(database, parts.passwords, clock), Sessions(database, clock)
    number = accounts.make("Reader").number
    first, second = here.open(number), here.open(number)
    assert [here.find(secret) for secret in (first, second)] == [here.find(secret) for secret in (first, second)]
    Sessions(elsewhere, clock).end(first)  # as another process does
    assert here.find(first) is None
    assert here.find(second) is not None
    Accounts(elsewhere, parts.passwords, clock).end(number)
    assert here.find(second) is None
