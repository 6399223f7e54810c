"""A kept Snapshot whose arrays do not fit each other is not used, whatever is wrong with them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from companies import build_company

from ontology.live.cache import load_snapshot, save_snapshot
from ontology.snapshot.snapshot import Snapshot


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    return Snapshot(build_company(3, size=6), revision=5, store_id="s")


@pytest.mark.parametrize("how", ["shorter", "larger", "negative", "texts", "missing", "another shape"])
def test_no_array_may_be_other_than_it_was_kept(how: str, snapshot: Snapshot, tmp_path: Path) -> None:
    path = tmp_path / "cache.npz"
    save_snapshot(snapshot, path)
    assert load_snapshot(path, "s", 5) is not None
    with np.load(path) as kept:
        arrays = {name: kept[name] for name in kept.files}
    n_tried = 0
    for name, array in list(arrays.items())[:: 2 if how == "shorter" else 4]:
        if name == "about" or (how == "shorter" and not array.ndim):
            continue
        if how in ("shorter", "larger", "negative") and not array.size:
            continue  # nothing is as it was
        changed = dict(arrays)
        if how == "shorter":
            changed[name] = array[:-1]
        elif how == "larger":
            changed[name] = array.astype(np.float64) + 1e7
        elif how == "negative":
            changed[name] = -array.astype(np.int64) - 5
        elif how == "texts":
            changed[name] = np.array(["x"] * max(1, array.size))
        elif how == "missing":
            del changed[name]
        else:
            changed[name] = array.reshape((1, *array.shape))
        with path.open("wb") as handle:
            np.savez(handle, **changed)
        assert load_snapshot(path, "s", 5) is None, name
        n_tried += 1
    assert n_tried > 30
