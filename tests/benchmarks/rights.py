"""What sign-in and rights cost a request: the same addresses asked of an open application and as the lead of a team.

Run: ``python tests/benchmarks/rights.py`` from the project's folder. Processor time of the application by itself (WSGI,
without sockets), the median of many requests in turns, answers kept from before. Goal: at most a tenth more than the
quick answer costs where nobody signs in.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path
from typing import Any, Final

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

from all_accounts import People, build_accounts
from scenario import SCENARIO
from werkzeug.test import EnvironBuilder

from api.app import create_app
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
ROUNDS: Final = 9
EACH: Final = 100


def main() -> int:
    """Print the table."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    settings = Settings(requests_a_minute=1_000_000)
    accounts = build_accounts(graph, People("p008", "p002", "treatment", "networks", "disinfection-control"), settings)
    cookie = f"newel={accounts.access.sessions.open(accounts.numbers['lead'])}"
    applications = ((create_app(graph), ""), (accounts.app, cookie))
    print("| address | open, us | as a lead, us | ratio |\n|---|---|---|---|")
    for address in ADDRESSES:
        times: list[list[float]] = [[], []]
        for _ in range(ROUNDS):
            for n, (application, sent) in enumerate(applications):
                times[n].append(measure_us(application, address, sent))
        is_open, signed_in = map(statistics.median, times)
        print(f"| {address} | {is_open:.0f} | {signed_in:.0f} | {signed_in / is_open:.2f} |")
    return 0


def measure_us(application: Any, address: str, cookie: str) -> float:
    """Return the processor time of a request in microseconds."""

    def start_response(status: str, *_: Any) -> None:
        assert status.startswith("200"), (address, status)

    environments = []
    for _ in range(EACH):
        environ = EnvironBuilder(path=address, base_url="http://localhost/").get_environ()
        environments.append(environ | ({"HTTP_COOKIE": cookie} if cookie else {}))
    begun = time.process_time()
    for environ in environments:
        b"".join(application(environ, start_response))
    return 1e6 * (time.process_time() - begun) / EACH


if __name__ == "__main__":
    sys.exit(main())
