"""How long it takes does not tell whether there is an account (OWASP ASVS 5.0.0, V6.3.8), or somebody of an id."""

from __future__ import annotations

import random
import time

import pytest
from access_parts import OTHER
from argon2 import PasswordHasher
from canary_company import OTHER as OTHER_PERSON
from canary_company import TEAM, find_seen, open_canaries
from scipy.stats import mannwhitneyu

from api.access.access import Access
from api.access.passwords import Passwords

#: Tries of each kind, in an order drawn by lot. With 200 each, normal noise and a level of 1 in 1,000 a difference of
#: half a standard deviation is found with a chance of about 0.95 (the rank test has 0.955 of the power of Student's t;
#: worked out by hand: z = 0.5 x sqrt(200 / 2) x sqrt(0.955) - 3.29 = 1.6). Half a standard deviation of what a busy
#: machine does to one password is a few hundredths of it; without the work for nobody all of it is missing.
TRIES = 200
LEVEL = 1e-3


def make_access() -> Access:
    """Accounts whose passwords take a few milliseconds: long beside all else that signing in does."""
    access = Access(None)
    access.passwords._hasher = PasswordHasher(time_cost=1, memory_cost=4096, parallelism=1)
    access.passwords._nobodys = access.passwords.hash("nobody has this password")
    for name in ("known", "waiting", "ended"):
        access.accounts.set_password(access.accounts.make(name).number, "forty quiet herons over the weir")
    access.accounts.make("invited")
    ended = access.accounts.find("ended")
    assert ended is not None
    access.accounts.end(ended.number)
    return access


def measure(access: Access, names: tuple[str, str]) -> tuple[list[float], list[float]]:
    """Return the seconds of tries under two names, the order drawn by lot."""
    taken: tuple[list[float], list[float]] = ([], [])
    order = [0, 1] * TRIES
    random.Random(7).shuffle(order)
    known = access.accounts.find("known")
    assert known is not None
    for which in order:
        access.accounts.free(known.number)  # who waits is looked at by another test
        begun = time.perf_counter()
        access.accounts.check_password(names[which], OTHER)
        taken[which].append(time.perf_counter() - begun)
    return taken


def is_told_apart(taken: tuple[list[float], list[float]]) -> bool:
    """Whether a rank test tells two kinds of tries apart (Mann and Whitney 1947)."""
    return bool(mannwhitneyu(*taken).pvalue < LEVEL)


@pytest.mark.parametrize("other", ["nobody", "ended", "invited"])
def test_a_name_without_an_account_takes_as_long(other: str) -> None:
    access = make_access()
    measure(access, ("known", other))  # the first tries are slower
    # a machine that is busy with something else for a moment is no difference: it would have to be there each time
    assert not all(is_told_apart(measure(access, ("known", other))) for _ in range(3))


def test_the_test_would_see_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the work for nobody the two are told apart: the guard is what the test above tests."""
    access = make_access()
    is_right = Passwords.is_right
    monkeypatch.setattr(
        Passwords,
        "is_right",
        lambda self, kept, password: is_right(self, kept, password) if kept is not None else False,
    )
    assert all(is_told_apart(measure(access, ("known", "nobody"))) for _ in range(3))


def test_half_a_standard_deviation_would_be_found() -> None:
    """The power that is stated above, tried on drawn numbers."""
    drawn = random.Random(3)

    def draw(shift: float) -> list[float]:
        return [drawn.gauss(shift, 1) for _ in range(TRIES)]

    found = sum(is_told_apart((draw(0), draw(0.5))) for _ in range(200))
    assert found > 0.9 * 200
    false = sum(is_told_apart((draw(0), draw(0))) for _ in range(200))
    assert false <= 3


@pytest.mark.parametrize("address", ["/api/people/{}", f"/api/teams/{TEAM}/coverage?away={{}}"])
def test_who_is_unseen_takes_as_long_as_nobody(address: str) -> None:
    """In the path and in what is asked; with the same power as above."""
    client, draw = open_canaries().accounts.sign_in("lead"), random.Random(11)
    unseen = sorted(open_canaries().names.keys() - find_seen("lead"))
    nobodys = [f"zqp{n}x" for n in range(200, 200 + len(unseen))]  # what was asked before is quicker, of both alike
    assert client.get(address.format(OTHER_PERSON)).status_code == client.get(address.format("zqp999x")).status_code

    def take() -> tuple[list[float], list[float]]:
        taken: tuple[list[float], list[float]] = ([], [])
        order = [0, 1] * TRIES
        draw.shuffle(order)
        for which in order:
            one = address.format(draw.choice((unseen, nobodys)[which]))
            begun = time.perf_counter()
            client.get(one)
            taken[which].append(time.perf_counter() - begun)
        return taken

    take()
    assert not all(is_told_apart(take()) for _ in range(3))
