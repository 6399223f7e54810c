"""Eight callers write and eight read at once for a while: nothing is lost, nothing is mixed, all history is there."""

from __future__ import annotations

import pytest
from crowd import require_nothing_lost, run_crowd

from ontology.live.live_graph import LiveGraph

DURATION_S = 8


@pytest.mark.long
def test_no_update_is_lost_and_no_answer_mixes_revisions(graph: LiveGraph) -> None:
    require_nothing_lost(run_crowd(graph, DURATION_S))
