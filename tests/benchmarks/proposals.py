"""How often proposals of mappings are right: names taken from ESCO's own concepts, and pairs that two readers judged.

Run: ``python tests/benchmarks/proposals.py`` from the project's folder. ESCO 1.1.1 (Decision 2011/833/EU) stands beside
it; without it the tables say so.

The second table: 155 proposals of the demonstration to ESCO, drawn by score in five bands, each read by two readers and
judged for the very relation proposed (`tests/reference/judged_proposals.csv`). Scores are computed anew.
Interval: E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212, 95 %.
"""

from __future__ import annotations

import csv
import math
import sys
import time
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

from scenario import load_scenario
from small_company import NO_REFERENCE, REFERENCE
from taken_names import measure_taken_names

from loaders.pipeline import load_state
from ontology.analysis.likeness.proposals import find_proposals
from ontology.snapshot.snapshot import Snapshot

JUDGED = Path(__file__).resolve().parents[1] / "reference" / "judged_proposals.csv"
CONCEPTS = 600
GOALS = (0.79, 0.93)
BANDS = ((0.0, "under 0.4"), (0.4, "0.4 to 0.5"), (0.5, "0.5 to 0.6"), (0.6, "0.6 to 0.7"), (0.7, "0.7 and more"))
_Z = 1.959964


def main() -> None:
    """Print both tables."""
    folder = REFERENCE / "esco"
    if not folder.is_dir():
        print(NO_REFERENCE)
        return
    esco, _, _ = load_state(folder)
    begun = time.process_time()
    told = measure_taken_names(esco, CONCEPTS, seed=1)
    spent = time.process_time() - begun
    print(f"Concepts asked for by a name taken from them: {told.of}, {spent:.1f} s of processor time, index included")
    for name, n, goal in (("first", told.first, GOALS[0]), ("among ten", told.among_ten, GOALS[1])):
        print(f"  right one {name}: {n / told.of:.3f} (goal {goal})")
    print_judged(esco)


def print_judged(esco: Snapshot) -> None:
    """Print how many judged pairs of each band of scores both readers called right, with the interval."""
    with JUDGED.open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    ours = load_scenario()
    scores = {
        (one.competency, one.concept): one.score
        for one in find_proposals(ours, esco, "esco", {row["competency"] for row in rows}, limit=50, least=0.0)
    }
    split = sum(row["first_reader"] != row["second_reader"] for row in rows)
    print(f"\nProposals judged: {len(rows)}; the readers disagreed on {split}")
    print("score          judged  both right  precision  95 % interval")
    for n, (least, name) in enumerate(BANDS):
        below = BANDS[n + 1][0] if n + 1 < len(BANDS) else math.inf
        inside = [row for row in rows if least <= scores[row["competency"], row["concept"]] < below]
        right = sum(row["first_reader"] == row["second_reader"] == "yes" for row in inside)
        low, high = compute_wilson(right, len(inside))
        print(f"{name:<13} {len(inside):>7} {right:>11} {right / len(inside):>10.2f}  {low:.2f} to {high:.2f}")


def compute_wilson(right: int, of: int) -> tuple[float, float]:
    """Return the 95 % interval of a share."""
    share, squared = right / of, _Z * _Z
    middle = (share + squared / (2 * of)) / (1 + squared / of)
    half = _Z * math.sqrt(share * (1 - share) / of + squared / (4 * of * of)) / (1 + squared / of)
    return max(0.0, middle - half), min(1.0, middle + half)


if __name__ == "__main__":
    main()
