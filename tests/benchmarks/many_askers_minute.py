"""Eight threads, five kinds of actors, the same addresses in turns for a minute: whether any is told another's text.

Run: ``python -m tests.benchmarks askers`` from the project's folder. Goal: none.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

from many_askers import ASKERS, THREADS, ask_in_turns

SECONDS: Final = 60.0


def main() -> int:
    """Print the table."""
    asked, wrong = ask_in_turns(SECONDS)
    print("| threads | who ask | seconds | answers | told what is another's |\n|---|---|---|---|---|")
    print(f"| {THREADS} | {len(ASKERS)} | {SECONDS:.0f} | {asked:,} | {len(wrong)} |")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
