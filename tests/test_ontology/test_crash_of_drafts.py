"""kill -9 while drafts are edited and published: each is as it was or as it was to be, whole, with its release."""

from __future__ import annotations

import random
import sys
from pathlib import Path

import pytest
from killed_writer import GRAPH, draft_without_end, kill_once, list_drafted

from ontology.store.drafts import read_drafts, read_pair
from ontology.store.engine import Store
from ontology.store.releases import read_releases


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.parametrize(("phase", "is_bulk"), [("edit", False), ("publish", False), ("edit", True), ("publish", True)])
def test_a_killed_writer_leaves_each_draft_whole(phase: str, is_bulk: bool, tmp_path: Path) -> None:
    rng = random.Random(f"{phase} {is_bulk}")
    inside = 0
    for attempt in range(60):
        path = tmp_path / f"store-{attempt // 5}"
        last = kill_once(path, is_bulk=is_bulk, phase=phase, rng=rng, work=draft_without_end)
        store = Store.open(path)
        there, releases = set(store.read_graph(GRAPH)), {one.from_draft: one for one in read_releases(store)}
        drafts = read_drafts(store)
        assert sum(draft.state == "published" for draft in drafts) == len(releases) == store.revision
        for draft in drafts:
            pair, own = read_pair(store, draft.id), set(list_drafted(draft.id, is_bulk=is_bulk))
            is_published = draft.state == "published"
            assert pair.added == (own if draft.number and not is_published else set())
            assert own & there == (own if is_published else set())
            assert not is_published or releases[draft.id].revision == draft.revision
        store.close()
        inside += last == phase
        if inside == 5:
            break
    assert inside == 5
