"""No answer of a draft changes any answer without it: asked before, between and after, each is the same bytes."""

from __future__ import annotations

import contextlib
import random
from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from rest_company import ANSWERS, build_company, forget_time

from api.app import create_app
from ontology.errors import NewelError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import PERSONAL_TABLES, TABLES

#: What is asked of drafts is another answer as soon as one of them is edited.
_SLOW_OR_OF_DRAFTS = ("/drafts/", "/rotation", "/routes", "/session-plan", "/assessment-round", "/reach-gains")
ADDRESSES = sorted(one for one in ANSWERS if not any(part in one for part in _SLOW_OR_OF_DRAFTS))


def edit_at_random(graph: LiveGraph, rng: random.Random) -> None:
    """Give some records of the framework a value of another one, in a draft; what no draft takes is left out."""
    graph.drafts.start("beside", "Beside", who="t")
    present = [pair for pair in graph.get_snapshot().iterate_records() if pair[0] not in PERSONAL_TABLES]
    for name, record in rng.sample(present, 12):
        table = TABLES[name]
        column = rng.choice([one for one in table.columns if one.attribute not in table.key])
        other: Any = rng.choice([one for of, one in present if of == name])
        changed = replace(record, **{column.attribute: getattr(other, column.attribute)})
        with contextlib.suppress(NewelError):
            graph.drafts.edit("beside", Change(put=((name, changed),)), who="t", why="w")


@settings(max_examples=4, deadline=None)
@given(st.integers(0, 10_000))
def test_no_answer_of_a_draft_changes_one_without_it(seed: int) -> None:
    rng = random.Random(seed)
    graph = build_company()
    client = create_app(graph).test_client()
    asked = rng.sample(ADDRESSES, 12)

    def ask(address: str, draft: str = "") -> tuple[int, bytes]:
        response = client.get(address + (f"{'&' if '?' in address else '?'}{draft}" if draft else ""))
        return response.status_code, forget_time(response.data)

    before = {address: ask(address) for address in asked}
    assert {status for status, _ in before.values()} == {200}
    edit_at_random(graph, rng)
    of_draft = {address: ask(address, "draft=beside") for address in asked}
    assert {address: ask(address) for address in asked} == before
    assert any(of_draft[address] != before[address] for address in asked), "the draft is told apart"
    graph.close()
