"""Several ask the same address at once: each is told what they may see, whoever was told before."""

from __future__ import annotations

import os

from many_askers import ADDRESSES, ask_in_turns, list_seen_alone

#: Some hundred answers, kept ones and new ones; a whole minute of it is a benchmark, and what NEWEL_LONG=1 runs here.
SECONDS = 60.0 if os.environ.get("NEWEL_LONG") else 4.0


def test_eight_threads_are_each_told_what_is_theirs() -> None:
    alone = list_seen_alone()
    assert len({seen for (_, address), seen in alone.items() if address == ADDRESSES[0]}) >= 4
    asked, wrong = ask_in_turns(SECONDS)
    assert wrong == []
    assert asked > 100
