"""How well similar roles agree with O*NET's published related occupations: ROC AUC and recall.

Run: ``python tests/benchmarks/similar_roles.py [FOLDER]`` from the project's folder; FOLDER holds the official Excel
files (CC BY 4.0, https://www.onetcenter.org/database.html).

Over all occupations with ratings: AUC = chance that a related occupation is judged more similar than another (ties
count half), recall = share of the related occupations with ratings among the first 20; both averaged over occupations.
"""

from __future__ import annotations

import sys
import time
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

import numpy as np
from python_calamine import CalamineWorkbook
from scipy.stats import rankdata
from small_company import NO_REFERENCE, REFERENCE

from loaders.open_data.onet import load_onet
from ontology.analysis.profiles.similarity import find_similar_roles
from ontology.snapshot.snapshot import Snapshot

FIRST = 20


@dataclass(frozen=True)
class Agreement:
    """Means over `n` occupations."""

    n: int
    auc: float
    recall: float


def read_related(folder: Path) -> dict[str, list[str]]:
    """Return SOC code -> codes of its related occupations, as published."""
    rows = CalamineWorkbook.from_path(folder / "Related Occupations.xlsx").get_sheet_by_index(0).to_python()
    related: defaultdict[str, list[str]] = defaultdict(list)
    for row in rows[1:]:
        related[str(row[0])].append(str(row[2]))
    return dict(related)


def measure_agreement(snapshot: Snapshot, related: dict[str, list[str]]) -> Agreement:
    """Return AUC and recall of `find_similar_roles` over the roles with requirements."""
    rated = [role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id)]
    position = {role_id: i for i, role_id in enumerate(rated)}
    aucs, recalls = [], []
    for role_id in rated:
        hits = {other for other in related.get(role_id, ()) if other in position}
        if not hits:
            continue
        found = find_similar_roles(snapshot, role_id, limit=len(rated)).roles
        similarities = np.zeros(len(rated))
        for other in found:
            similarities[position[other.id]] = other.similarity
        is_related = np.array([other in hits for other in rated])
        is_other = np.array([other != role_id for other in rated])
        aucs.append(compute_auc(similarities[is_other], is_related[is_other]))
        recalls.append(len(hits & {other.id for other in found[:FIRST]}) / len(hits))
    return Agreement(len(aucs), float(np.mean(aucs)), float(np.mean(recalls)))


def compute_auc(scores: np.ndarray, is_positive: np.ndarray) -> float:
    """Return the area under the ROC curve by ranks (Mann-Whitney), ties counted half."""
    positives = int(is_positive.sum())
    negatives = len(scores) - positives
    rank_sum = float(rankdata(scores)[is_positive].sum())
    return (rank_sum - positives * (positives + 1) / 2) / (positives * negatives)


def main() -> int:
    """Print the agreement as a table."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else REFERENCE / "onet"
    if not folder.is_dir():
        print(NO_REFERENCE, file=sys.stderr)
        return 3
    start = time.perf_counter()
    snapshot = Snapshot(load_onet(folder).records)
    loaded = time.perf_counter()
    agreement = measure_agreement(snapshot, read_related(folder))
    print(f"occupations compared      {agreement.n:8d}")
    print(f"ROC AUC (mean)            {agreement.auc:8.4f}   goal 0.945")
    print(f"recall in the first {FIRST}    {agreement.recall:8.4f}   goal 0.465")
    print(f"loading, s                {loaded - start:8.2f}")
    print(f"comparing all, s          {time.perf_counter() - loaded:8.2f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
