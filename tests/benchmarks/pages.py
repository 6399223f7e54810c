"""How many pages a server sends per second, as a ratio to a bare Flask page of the same size; and many at once.

Run: ``python tests/benchmarks/pages.py [--seconds S] [--clients N] [--many S]`` from the project's folder.

Both servers, clients and rounds are those of `server_throughput.py`. A page is new where each is another one; asked
again, the browser shows the tag it has and gets 304. The ratio of processor time is that of the page to its JSON at
the same address with /api before it. At the end fifty clients leaf through the pages for a minute.
"""

from __future__ import annotations

import argparse
import http.client
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(Path(__file__).resolve().parent)]

from server_throughput import (  # noqa: E402
    DAY,
    ROUNDS,
    SERVE_BARE,
    SERVE_SCENARIO,
    Server,
    measure_rate,
    read_ids,
    start,
)
from socket_client import Caller, ask_once  # noqa: E402

from api.settings import Settings  # noqa: E402

MANY = 50
#: Pages asked for before the first figure.
DRAWN = 30
#: The goal for new pages and for those asked again; suggestions have one of their own.
GOAL_NEW, GOAL_AGAIN, GOAL_SUGGESTION = 0.30, 0.60, 0.35
#: A page takes at most so many times the processor time of its JSON.
GOAL_TO_JSON = 2.5
SUGGESTION = "suggestion"
_WORDS = ("chl", "tre", "wat", "pum", "lab", "ope", "saf", "net", "sam", "con", "ele", "mai")


@dataclass(frozen=True)
class Site:
    """What the pages are about: ids, sorted."""

    people: tuple[str, ...]
    roles: tuple[str, ...]
    assessments: tuple[str, ...]

    def get_day(self, n: int) -> str:
        """Return the n-th day: another one when all people have had theirs."""
        return str(DAY + timedelta(n // len(self.people) % 2000))

    def get_person(self, n: int) -> str:
        """Return the n-th person."""
        return self.people[n % len(self.people)]


#: Kind of page -> the address of its n-th.
PAGES: dict[str, Callable[[Site, int], str]] = {
    "record": lambda site, n: f"/assessments/{site.assessments[n % len(site.assessments)]}",
    "list": lambda site, n: f"/assessments?page={1 + n % 4}",
    "where I stand": lambda site, n: f"/people/{site.get_person(n)}?on={site.get_day(n)}",
    "team cover": lambda site, n: f"/teams/treatment/coverage?away={site.get_person(n)}&on={site.get_day(n)}",
    "role": lambda site, n: f"/roles/{site.roles[n % len(site.roles)]}",
    SUGGESTION: lambda site, n: f"/search?q={_WORDS[n % len(_WORDS)]}",
}
#: What a script asks for is one part of a page; the rest of a page has the same answer at /api.
_HEADERS = {SUGGESTION: "Newel-Part: suggestions\r\n"}
_WITH_JSON = ("record", "list", "team cover")


@dataclass(frozen=True)
class Row:
    """One line of the table: size in bytes, pages a second, ratios to the bare page, processor time to the JSON's.

    `cpu_ratio` is that of the processor time the servers take for a bare page and for a new one.
    """

    size: int
    rate: float
    new_ratio: float
    again_ratio: float
    cpu_ratio: float
    to_json: float | None


def read_tag(server: Server, address: str) -> str:
    """Return the header line by which a browser asks whether what it has is still right; "" without a tag."""
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=60)
    connection.request("GET", address)
    response = connection.getresponse()
    response.read()
    tag = response.getheader("ETag")
    connection.close()
    return f"If-None-Match: {tag}\r\n" if tag else ""


def measure_row(server: Server, bare: Server, name: str, site: Site, clients: int, seconds: float) -> Row:
    """Return medians over some rounds."""
    page, headers, each_s = partial(PAGES[name], site), _HEADERS.get(name, ""), seconds / ROUNDS
    status, size = ask_once(server.port, page(0), headers)
    if status != 200:
        raise SystemExit(f"{page(0)} answers with status {status}")
    for n in range(DRAWN):  # a picture is drawn once and kept
        ask_once(server.port, page(n), headers)
    tag = read_tag(server, page(0))
    asked, rates, new, again = DRAWN, [], [], []
    page_s = json_s = bare_s = 0.0
    pages = answers = bares = 0
    for _ in range(ROUNDS):
        first = asked
        rate, cpu_s, n = measure_rate(server, lambda n, first=first: page(first + n), clients, each_s, headers=headers)  # type: ignore[misc]
        asked, page_s, pages = asked + n + clients, page_s + cpu_s, pages + n
        bare_rate, cpu_s, n = measure_rate(bare, lambda n: f"/bytes/{size}", clients, each_s)
        bare_s, bares = bare_s + cpu_s, bares + n
        rates.append(rate)
        new.append(rate / bare_rate)
        if tag:
            repeated, _, _ = measure_rate(server, lambda n: page(0), clients, each_s, headers=tag, status=304)
            again.append(repeated / bare_rate)
        if name in _WITH_JSON:
            _, cpu_s, n = measure_rate(server, lambda n, first=first: "/api" + page(first + n), clients, each_s)  # type: ignore[misc]
            json_s, answers = json_s + cpu_s, answers + n
    each_page_s, median = page_s / pages, statistics.median
    to_json = each_page_s / (json_s / answers) if json_s else None
    cpu_ratio = (bare_s / bares) / each_page_s
    return Row(size, median(rates), median(new), median(again) if again else 0.0, cpu_ratio, to_json)


def leaf_through(server: Server, site: Site, seconds: float) -> tuple[int, list[str], float, float]:
    """Return what fifty clients saw in this time: how many pages, which errors, the median and the 95th percentile.

    Times are in milliseconds, each client's own work included.
    """
    times: list[float] = []
    errors: list[str] = []
    end = time.monotonic() + seconds

    def run(client: int) -> None:
        caller, n = Caller(server.port), client * 997
        while time.monotonic() < end:
            name = tuple(PAGES)[n % len(PAGES)]
            begun = time.monotonic()
            address = PAGES[name](site, n)
            status, _ = caller.ask(address, _HEADERS.get(name, ""))
            times.append((time.monotonic() - begun) * 1000)
            if status != 200:
                errors.append(f"{address}: {status}")
            n += 1
        caller.close()

    threads = [threading.Thread(target=run, args=(client,)) for client in range(MANY)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    times.sort()
    return len(times), errors, statistics.median(times), times[int(len(times) * 0.95)]


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seconds", type=float, default=2.0, help="for each figure")
    parser.add_argument("--clients", type=int, default=4)
    parser.add_argument("--many", type=float, default=60.0, help=f"seconds that {MANY} clients leaf through")
    parser.add_argument("--only", choices=list(PAGES), nargs="*", help="these rows")
    options = parser.parse_args(arguments)
    with (
        tempfile.TemporaryDirectory() as folder,
        start(SERVE_SCENARIO, str(Path(folder) / "store")) as server,
        start(SERVE_BARE, str(Settings().threads)) as bare,
    ):
        site = Site(*(read_ids(server, table) for table in ("people", "roles", "assessments")))
        print(f"{options.clients} clients, {server.threads} threads; a bare Flask page of the same size is 1")
        print(f"{'page':<15}{'bytes':>8}{'new, per s':>12}{'ratio':>8}{'again':>8}{'cpu':>8}{'cpu to JSON':>13}")
        for name in options.only or PAGES:
            row = measure_row(server, bare, name, site, options.clients, options.seconds)
            goal = GOAL_SUGGESTION if name == SUGGESTION else f"{GOAL_NEW} new, {GOAL_AGAIN} again"
            to_json = "" if row.to_json is None else f"{row.to_json:.2f}"
            print(
                f"{name:<15}{row.size:>8,}{row.rate:>12,.1f}{row.new_ratio:>8.3f}{row.again_ratio:>8.3f}"
                f"{row.cpu_ratio:>8.3f}{to_json:>13}"
                f"   goal {goal}{f', at most {GOAL_TO_JSON} times the JSON' if to_json else ''}",
                flush=True,
            )
        if options.many:
            count, errors, middle, p95 = leaf_through(server, site, options.many)
            print(
                f"{MANY} clients for {options.many:g} s: {count:,} pages, {len(errors)} errors, "
                f"median {middle:.0f} ms, 95 % within {p95:.0f} ms; peak {server.read_peak_mb():.0f} MB"
            )
            print("\n".join(errors[:5]))


if __name__ == "__main__":
    main()
