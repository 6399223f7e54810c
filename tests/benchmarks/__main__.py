"""``python -m tests.benchmarks [NAME ...]`` prints the benchmark tables: ratios against peers measured in the same run.

Names: the keys of TABLES below; all of them without a name. Tables that need the official open data say so where those
are not beside the project.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1]), str(HERE.parent / "support"), str(HERE)]

import assessment_round  # noqa: E402
import company_cover  # noqa: E402
import cross_training  # noqa: E402
import keeping  # noqa: E402
import leave_check  # noqa: E402
import many_askers_minute  # noqa: E402
import many_callers  # noqa: E402
import obligations  # noqa: E402
import ordering_milp  # noqa: E402
import pages  # noqa: E402
import proposals  # noqa: E402
import queries  # noqa: E402
import rights  # noqa: E402
import routes  # noqa: E402
import search  # noqa: E402
import server_throughput  # noqa: E402
import session_plan  # noqa: E402
import similar_roles  # noqa: E402
import staffing  # noqa: E402
import start_up  # noqa: E402
import store_load  # noqa: E402

TABLES: dict[str, Callable[[], object]] = {
    "similar-roles": similar_roles.main,
    "search": search.main,
    "learning-path": ordering_milp.main,
    "cross-training": cross_training.main,
    "routes": routes.main,
    "store-load": store_load.main,
    "server": server_throughput.main,
    "pages": pages.main,
    "rights": rights.main,
    "company-cover": company_cover.main,
    "staffing": staffing.main,
    "start-up": start_up.main,
    "obligations": obligations.main,
    "assessment-round": assessment_round.main,
    "session-plan": session_plan.main,
    "leave-check": leave_check.main,
    "keeping": keeping.main,
    "many-callers": many_callers.main,
    "askers": many_askers_minute.main,
    "queries": queries.main,
    "proposals": proposals.main,
}


def main(names: list[str]) -> int:
    """Print the tables of these names and return the exit status."""
    unknown = [name for name in names if name not in TABLES]
    if unknown:
        print(f"no table has the name {unknown[0]}; there are {', '.join(TABLES)}", file=sys.stderr)
        return 2
    del sys.argv[1:]
    for name in names or TABLES:
        print(f"== {name}", flush=True)
        TABLES[name]()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
