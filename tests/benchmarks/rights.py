"""What sign-in and rights cost a request: the same addresses asked of an open application and as the lead of a team.

Run: ``python -m tests.benchmarks rights`` from the project's folder. Answers are kept from before and of the same size
for both; both are asked with the headers a program sends, the lead with a cookie too; accounts lie in a file, as they
do where they are used. First the processor time of the application by itself (WSGI, without sockets): medians of rounds
in turns, and the median of their ratios. Then, as `served`, the ratio of all the processor time that two servers take
for an answer, each in a process of its own, over a socket. Goal: at most a tenth more than a quick answer costs where
nobody signs in.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

from scenario import SCENARIO
from server_throughput import Server, measure_rate, start
from werkzeug.test import EnvironBuilder

from api.access.access import Access
from api.access.accounts import Grant
from api.access.actor import Role
from api.app import create_app
from api.memory import collect_seldom
from api.settings import Settings
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

ADDRESSES: Final = (
    "/api/teams/treatment/coverage",
    "/api/people/p008/levels",
    "/api/roles/treatment-operator",
    "/teams/treatment/coverage",
    "/roles/treatment-operator",
)
ROUNDS: Final = 15
EACH: Final = 100
SERVED_ROUNDS: Final = 7
SERVED_S: Final = 0.4
#: Nobody asks as often as a benchmark.
SETTINGS: Final = replace(Settings(), requests_a_minute=1_000_000)
HEADERS: Final = {
    "Accept": "*/*",
    "Accept-Encoding": "gzip, deflate",
    "User-Agent": "a program",
    "Connection": "keep-alive",
}
DATABASE: Final = "access.sqlite"
#: Serves the scenario, to the accounts that lie in a folder where there are any.
SERVE: Final = """
import sys
from pathlib import Path
sys.path[:0] = ["tests/benchmarks", "tests/support"]
import rights
import waitress
app, threads = rights.build_app(Path(sys.argv[1])), 4
"""


def build_app(folder: Path) -> Any:
    """Return an application that serves the scenario; open where the folder holds no accounts."""
    collect_seldom()  # as `newel serve` does
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    path = folder / DATABASE
    return create_app(graph, SETTINGS, Access(path) if path.exists() else None)


def make_lead(folder: Path) -> str:
    """Make an account that leads a team, in a folder; return the cookie of its session."""
    access = Access(folder / DATABASE)
    number = access.accounts.make("Lead", [Grant(Role.LEAD, "treatment")]).number
    access.accounts.tie(number, "p002")
    return f"newel={access.sessions.open(number)}"


def main() -> int:
    """Print the table."""
    with tempfile.TemporaryDirectory() as nobodys, tempfile.TemporaryDirectory() as leads:
        cookie = make_lead(Path(leads))
        sides = [(build_app(Path(folder)), sent) for folder, sent in ((nobodys, ""), (leads, cookie))]
        with start(SERVE, nobodys) as is_open, start(SERVE, leads) as signed_in:
            print("| address | bytes | open, us | as a lead, us | more, us | ratio | served |\n" + 7 * "|---" + "|")
            for address in ADDRESSES:
                print_row(address, sides, ((is_open, ""), (signed_in, cookie)))
    return 0


def print_row(address: str, sides: list[tuple[Any, str]], servers: tuple[tuple[Server, str], ...]) -> None:
    """Print the row of an address."""
    sizes = [ask(application, address, cookie, 1)[1] for application, cookie in sides]
    rounds = [[ask(application, address, cookie)[0] for application, cookie in sides] for _ in range(ROUNDS)]
    times = [statistics.median(column) for column in zip(*rounds, strict=True)]
    ratio = statistics.median(signed_in / is_open for is_open, signed_in in rounds)
    size = f"{sizes[0]:,}" if sizes[0] == sizes[1] else f"{sizes[0]:,} and {sizes[1]:,}"
    figures = f"{times[0]:.0f} | {times[1]:.0f} | {times[1] - times[0]:.0f} | {ratio:.2f}"
    print(f"| {address} | {size} | {figures} | {measure_served(address, servers):.2f} |", flush=True)


def ask(application: Any, address: str, cookie: str, times: int = EACH) -> tuple[float, int]:
    """Return the processor time of a request in microseconds, and the size of the last answer."""

    def start_response(status: str, *_: Any) -> None:
        assert status.startswith("200"), (address, status)

    headers = HEADERS | ({"Cookie": cookie} if cookie else {})
    builders = [EnvironBuilder(path=address, base_url="http://localhost/", headers=headers) for _ in range(times)]
    environments = [builder.get_environ() for builder in builders]
    begun = time.process_time()
    for environ in environments:
        content = b"".join(application(environ, start_response))
    return 1e6 * (time.process_time() - begun) / times, len(content)


def measure_served(address: str, servers: tuple[tuple[Server, str], ...]) -> float:
    """Return the ratio of what an answer takes of its server: of the last to the first."""
    spent, answered = [0.0, 0.0], [0, 0]
    for _ in range(SERVED_ROUNDS):
        for n, (server, cookie) in enumerate(servers):
            named = HEADERS | ({"Cookie": cookie} if cookie else {})
            headers = "".join(f"{name}: {text}\r\n" for name, text in named.items())
            _, cpu_s, count = measure_rate(server, lambda _: address, 1, SERVED_S, headers=headers)
            spent[n], answered[n] = spent[n] + cpu_s, answered[n] + count
    return (spent[1] / answered[1]) / (spent[0] / answered[0])


if __name__ == "__main__":
    sys.exit(main())
