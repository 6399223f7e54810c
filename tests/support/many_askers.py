"""Several ask the same addresses in turns from many threads: what each was told that they are told by themselves."""

from __future__ import annotations

import re
import threading
import time
from concurrent.futures import ThreadPoolExecutor

from canary_company import OTHER_TEAM, TEAM, open_canaries

__all__ = ["ADDRESSES", "ASKERS", "THREADS", "ask_in_turns", "list_seen_alone"]

THREADS = 8
ASKERS = ("lead", "other lead", "architect with purpose", "reader", "administrator")
ADDRESSES = (
    *("/api/people?page_size=1000", "/people", "/", "/api/competencies/cert-first-aid/holders", "/search?q=zqanna"),
    *(f"/api/teams/{TEAM}/coverage", f"/api/teams/{OTHER_TEAM}/coverage", f"/teams/{TEAM}/coverage"),
    f"/api/teams/{TEAM}/coverage/diagram?format=dot",
)


def _list_seen(text: str) -> frozenset[str]:
    return frozenset(re.findall(r"zqp\d+x|Zqbird\d+", text))


def list_seen_alone() -> dict[tuple[str, str], frozenset[str]]:
    """Return who is told of by each address to each who asks, one after the other."""
    accounts = open_canaries().accounts
    clients = {actor: accounts.sign_in(actor) for actor in ASKERS}
    return {(actor, address): _list_seen(clients[actor].get(address).text) for actor in ASKERS for address in ADDRESSES}


def ask_in_turns(seconds: float) -> tuple[int, list[tuple[str, str, list[str]]]]:
    """Return how many answers were given, and of which others than one's own they told."""
    accounts, alone = open_canaries().accounts, list_seen_alone()
    end, wrong, lock = time.monotonic() + seconds, [], threading.Lock()

    def ask(n: int) -> int:
        clients = {actor: accounts.sign_in(actor) for actor in ASKERS}
        turn = n
        while time.monotonic() < end:
            turn += 1
            actor, address = ASKERS[turn % len(ASKERS)], ADDRESSES[(turn // len(ASKERS)) % len(ADDRESSES)]
            tag = {"If-None-Match": '"of another"'} if turn % 2 else {}
            seen = _list_seen(clients[actor].get(address, headers=tag).text)
            if seen != alone[actor, address]:
                with lock:
                    wrong.append((actor, address, sorted(seen ^ alone[actor, address])[:3]))
        return turn - n

    with ThreadPoolExecutor(THREADS) as pool:
        asked = sum(pool.map(ask, range(THREADS)))
    return asked, wrong
