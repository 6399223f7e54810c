"""Several ask the same address at once: each is told what they may see, whoever was told before."""

from __future__ import annotations

import re
import threading
import time
from concurrent.futures import ThreadPoolExecutor

from canary_company import OTHER_TEAM, TEAM, open_canaries

#: The issue of a minute is that of a benchmark; a few seconds see some thousand answers, kept ones and new ones.
SECONDS = 6.0
THREADS = 8
ACTORS = ("lead", "other lead", "architect with purpose", "reader", "administrator")
ADDRESSES = (
    *("/api/people?page_size=1000", "/people", "/", "/api/competencies/cert-first-aid/holders", "/search?q=zqanna"),
    *(f"/api/teams/{TEAM}/coverage", f"/api/teams/{OTHER_TEAM}/coverage", f"/teams/{TEAM}/coverage"),
    f"/api/teams/{TEAM}/coverage/diagram?format=dot",
)


def list_seen(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"zqp\d+x|Zqbird\d+", text))


def test_eight_threads_are_each_told_what_is_theirs() -> None:
    accounts = open_canaries().accounts
    alone = {
        (actor, address): list_seen(accounts.sign_in(actor).get(address).text)
        for actor in ACTORS
        for address in ADDRESSES
    }
    assert len({seen for (_, address), seen in alone.items() if address == ADDRESSES[0]}) >= 4
    end, wrong, lock = time.monotonic() + SECONDS, [], threading.Lock()

    def ask(n: int) -> int:
        clients = {actor: accounts.sign_in(actor) for actor in ACTORS}
        turn = n
        while time.monotonic() < end:
            turn += 1
            actor, address = ACTORS[turn % len(ACTORS)], ADDRESSES[(turn // len(ACTORS)) % len(ADDRESSES)]
            tag = {"If-None-Match": '"of another"'} if turn % 2 else {}
            seen = list_seen(clients[actor].get(address, headers=tag).text)
            if seen != alone[actor, address]:
                with lock:
                    wrong.append((actor, address, sorted(seen ^ alone[actor, address])[:3]))
        return turn - n

    with ThreadPoolExecutor(THREADS) as pool:
        asked = sum(pool.map(ask, range(THREADS)))
    assert wrong == []
    assert asked > 100
