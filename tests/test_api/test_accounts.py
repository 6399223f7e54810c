"""Accounts and passwords: made, invited, tried, slowed down, ended; nobody learns whether a name has one."""

from __future__ import annotations

from typing import Any

import pytest
from access_parts import GOOD, OTHER, Parts
from argon2 import PasswordHasher
from sqlalchemy import select

from api.access.accounts import Grant
from api.access.actor import Role
from api.access.invitations import ENDS_AFTER_S
from api.access.passwords import LEAST, MOST, Passwords, require_good
from api.access.secrets import digest_secret
from api.access.tables import ACCOUNTS, INVITATIONS, SESSIONS, TOKENS
from api.access.throttle import STOPS_AT, compute_wait, count_attempt
from api.errors import BusyError
from ontology.errors import ConflictError, InputError, NotFoundError


@pytest.fixture
def parts() -> Parts:
    return Parts()


def make(parts: Parts, name: str = "Lead of Networks", *grants: Grant) -> int:
    number = parts.accounts.make(name, grants).number
    parts.accounts.set_password(number, GOOD)
    return number


def test_an_account_is_known_by_its_name_however_it_is_written(parts: Parts) -> None:
    number = make(parts, "Lead  of Networks ")
    for name in ("Lead of Networks", "lead of NETWORKS"):
        found = parts.accounts.find(name)
        assert found is not None
        assert (found.number, found.name, found.has_password) == (number, "Lead of Networks", True)
        assert parts.accounts.check_password(name, GOOD) is not None
    with pytest.raises(ConflictError):
        parts.accounts.make("LEAD OF NETWORKS")
    for name in ("", "  ", "x" * 101):
        with pytest.raises(InputError):
            parts.accounts.make(name)
    with pytest.raises(NotFoundError):
        parts.accounts.get(99)


@pytest.mark.parametrize(
    ("password", "is_taken"),
    [
        (GOOD, True),
        ("ähnlich wie früher, nur länger", True),
        ("x" * (LEAST - 1), False),
        ("a" * 40, False),
        ("qwertyuiopasdfghjkl", False),
        ("password password", False),
        ("newelnewelnewel", False),
        ("Mirela Tanaka Mirela", False),
        ("Correct-Horse-Battery-Staple " * 8, True),
        ("k7" * MOST, False),
    ],
)
def test_a_password_is_long_and_not_easily_guessed(password: str, is_taken: bool) -> None:
    if is_taken:
        require_good(password, ("Mirela Tanaka",))
        return
    with pytest.raises(InputError) as caught:
        require_good(password, ("Mirela Tanaka",))
    assert caught.value.context["parameter"] == "password"


def test_what_is_kept_is_argon2id_as_the_standard_recommends_and_nothing_of_the_password(parts: Parts) -> None:
    kept = Passwords().hash(GOOD)
    # RFC 9106, section 4, second recommendation: t=3, m=64 MiB, p=4
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    make(parts)
    (row,) = parts.database.ask(select(ACCOUNTS))
    assert row.password.startswith("$argon2id$")
    assert GOOD not in repr(row)


def test_a_password_kept_in_an_older_way_is_kept_anew_when_it_is_given(parts: Parts) -> None:
    make(parts)
    before = parts.database.ask(select(ACCOUNTS.c.password))[0].password
    parts.passwords._hasher = PasswordHasher(time_cost=2, memory_cost=8, parallelism=1)
    assert parts.accounts.check_password("lead of networks", GOOD) is not None
    after = parts.database.ask(select(ACCOUNTS.c.password))[0].password
    assert ("t=1" in before, "t=2" in after) == (True, True)
    assert parts.accounts.check_password("lead of networks", GOOD) is not None


def test_more_than_wait_are_sent_away() -> None:
    passwords = Passwords()
    for _ in range(18):
        assert passwords._inside.acquire(blocking=False)
    with pytest.raises(BusyError):
        passwords.is_right(None, GOOD)


def test_waits_grow_with_wrong_passwords_and_a_right_one_meanwhile_is_refused(parts: Parts) -> None:
    make(parts)

    def check(password: str) -> bool:
        return parts.accounts.check_password("Lead of Networks", password) is not None

    for _ in range(5):
        assert not check(OTHER)
    assert not check(GOOD), "it waits a second"
    parts.clock.now += 1.0
    assert not check(OTHER)
    for _ in range(50):
        assert not check(OTHER), "tries during a wait are not counted"
    parts.clock.now += 2.0
    assert check(GOOD)
    for _ in range(4):
        check(OTHER)
    assert check(GOOD), "a right one begins anew"


def test_a_thousand_tries_take_a_day_and_stop(parts: Parts) -> None:
    make(parts)
    begun, tries = parts.clock.now, 0
    while tries < 1000 and not parts.accounts.get(1).is_stopped:
        before = parts.database.ask(select(ACCOUNTS.c.failures))[0].failures
        assert parts.accounts.check_password("Lead of Networks", OTHER) is None
        after = parts.database.ask(select(ACCOUNTS.c.failures))[0].failures
        tries += 1
        if after == before:
            parts.clock.now = parts.database.ask(select(ACCOUNTS.c.waits_until))[0].waits_until
    failures = parts.database.ask(select(ACCOUNTS.c.failures))[0].failures
    assert failures == STOPS_AT
    assert parts.clock.now - begun >= sum(compute_wait(n) for n in range(STOPS_AT)) - 1
    assert parts.clock.now - begun > 20 * 3600
    parts.clock.now += 10**6
    assert parts.accounts.check_password("Lead of Networks", GOOD) is None, "until an administrator frees it"
    parts.accounts.free(1)
    assert parts.accounts.check_password("Lead of Networks", GOOD) is not None


def test_trying_shuts_nobody_out_of_a_session_that_is_open(parts: Parts) -> None:
    secret = parts.sessions.open(make(parts))
    for _ in range(300):
        parts.accounts.check_password("Lead of Networks", OTHER)
        parts.clock.now += 5
    assert parts.sessions.find(secret) is not None


def test_an_address_may_try_twenty_times_in_five_minutes(parts: Parts) -> None:
    for _ in range(20):
        assert count_attempt(parts.database, "192.0.2.1", parts.clock.now) == 0.0
    parts.clock.now += 100.0
    assert count_attempt(parts.database, "192.0.2.1", parts.clock.now) == 200.0
    assert count_attempt(parts.database, "192.0.2.2", parts.clock.now) == 0.0
    parts.clock.now += 200.0
    assert count_attempt(parts.database, "192.0.2.1", parts.clock.now) == 0.0


def test_an_invitation_sets_a_password_once_within_its_time(parts: Parts) -> None:
    number = parts.accounts.make("Mirela Tanaka").number
    first, second = parts.invitations.make(number), parts.invitations.make(number)
    assert len(second) >= 43  # 256 bits
    assert parts.invitations.find(first) is None, "a new one ends those before"
    with pytest.raises(InputError):
        parts.invitations.redeem(second, "too short")
    assert parts.invitations.redeem(second, GOOD) == number
    with pytest.raises(NotFoundError):
        parts.invitations.redeem(second, OTHER)
    assert parts.accounts.check_password("Mirela Tanaka", GOOD) is not None
    third = parts.invitations.make(number)
    assert parts.database.ask(select(INVITATIONS))[0].digest == digest_secret(third) != third
    parts.clock.now += ENDS_AFTER_S
    with pytest.raises(NotFoundError):
        parts.invitations.redeem(third, OTHER)
    assert parts.invitations.find("") is None


def test_an_account_that_ends_takes_everything_with_it(parts: Parts) -> None:
    number = make(parts, "Lead", Grant(Role.LEAD, "networks"))
    secret = parts.sessions.open(number)
    parts.invitations.make(number)
    parts.accounts.end(number)
    assert parts.accounts.check_password("Lead", GOOD) is None
    assert parts.sessions.find(secret) is None
    for table in (SESSIONS, TOKENS, INVITATIONS):
        assert parts.database.ask(select(table)) == []
    with pytest.raises(NotFoundError):
        parts.invitations.make(number)
    assert parts.accounts.get(number).is_ended


def test_rights_and_passwords_that_change_end_sessions(parts: Parts) -> None:
    number = make(parts)
    grants = {Grant(Role.LEAD, "networks", with_below=True), Grant(Role.ASSESSOR, "works", "pump")}
    for change in (
        lambda: parts.accounts.grant(number, [*grants, *grants]),
        lambda: parts.accounts.tie(number, "p008"),
        lambda: parts.accounts.set_password(number, OTHER),
    ):
        secret = parts.sessions.open(number)
        change()
        assert parts.sessions.find(secret) is None
    account = parts.accounts.get(number)
    assert (set(account.grants), account.person) == (grants, "p008")
    assert parts.accounts.list() == (account,)


def test_there_is_an_administrator_once_one_can_sign_in(parts: Parts) -> None:
    number = parts.accounts.make("Admin", [Grant(Role.ADMINISTRATOR)]).number
    assert not parts.accounts.has_administrator()
    parts.accounts.set_password(number, GOOD)
    assert parts.accounts.has_administrator()
    parts.accounts.end(number)
    assert not parts.accounts.has_administrator()


def test_quotes_are_only_text(parts: Parts) -> None:
    for name in ("'; DROP TABLE accounts; --", '" OR 1=1', "a\x00b", "%", "Ünïcode ☃"):
        number = parts.accounts.make(name).number
        found: Any = parts.accounts.find(name)
        assert found.number == number
    assert parts.accounts.check_password("' OR '1'='1", GOOD) is None
