"""Texts in other languages, whatever is edited: kept, told and taken back as their records are."""

from __future__ import annotations

import dataclasses
from typing import Any

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.checks.changes import check_everything
from ontology.errors import Finding
from ontology.history.rows import build_rows
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.publishing import publish_draft
from ontology.mapping.foreign import count_foreign
from ontology.model.keeping_records import Translation
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED

IDS = ("a", "b")
COLUMNS = tuple(column.name for column in TRANSLATED["competencies"])
#: Tags that differ in their case alone are one (RDF 1.1 Concepts, section 3.3); de and de-AT are two (RFC 5646).
TAGS = ("de", "DE", "de-AT", "fr")
WORDS = st.sampled_from(("Pumpe", 'a "b"', "x|y", "\\\\", "=1", "ÿ 😀"))


def build(name: str, **values: Any) -> Any:
    return TABLES[name].build(**values)


def make_graph() -> LiveGraph:
    graph = LiveGraph.in_memory()
    competencies = [build("competencies", id=one, label=one, scale="s", alt_labels=("other",)) for one in IDS]
    scale = [build("scales", scale="s", rank=1, label="Able")]
    graph.load({"scales": scale, "competencies": competencies}, who="t", why="t")
    return graph


@st.composite
def draw_step(draw: st.DrawFn) -> tuple[Any, ...]:
    kind = draw(st.sampled_from(("say", "say", "say", "silence", "replace", "remove", "make")))
    text = draw(WORDS)
    return (kind, draw(st.sampled_from(IDS)), draw(st.sampled_from(COLUMNS)), draw(st.sampled_from(TAGS)), text)


def make_change(state: Any, step: tuple[Any, ...]) -> Change | None:
    """Return the change of a step on a state, None where it has none to make."""
    kind, one, column, tag, text = step
    record = state.competencies.get(one)
    key = ("competencies", one, column, tag.lower())
    if kind == "make":
        return None if record else Change(put=(("competencies", build("competencies", id=one, label=one, scale="s")),))
    if record is None:
        return None
    if kind == "say":
        # a label is none of the other names (SKOS S13)
        said = f"{text} {column}" if column != "alt_labels" else text
        return Change(put=(("translations", Translation("competencies", one, column, tag, said)),))
    if kind == "silence":
        return Change(remove=(("translations", key),)) if key in state.get_table("translations") else None
    if kind == "replace":
        return Change(put=(("competencies", dataclasses.replace(record, label=f"{one} {text}", definition=text)),))
    return Change(remove=(("competencies", (one,)),))


def list_texts(state: Any, one: str = "") -> list[Translation]:
    return [row for row in state.get_table("translations").values() if one in ("", row.id)]


def list_errors(graph: LiveGraph) -> list[Finding]:
    found = check_everything(graph.store, graph.get_snapshot(), is_full=False)
    return [finding for finding in found if finding.severity == "error"]


@settings(max_examples=draws(25), deadline=None)
@given(st.lists(draw_step(), min_size=1, max_size=8))
def test_texts_stay_with_their_records_in_every_state(steps: list[tuple[Any, ...]]) -> None:
    graph = make_graph()
    kept = {graph.store.revision: graph.get_snapshot()}
    for step in steps:
        before = graph.get_snapshot()
        change = make_change(before, step)
        if change is None:
            continue
        graph.apply(change, who="t", why="t")
        after = graph.get_snapshot()
        kept[after.revision] = after
        if step[0] == "replace":
            assert list_texts(after) == list_texts(before)
        if step[0] == "remove":
            assert list_texts(after, step[1]) == []
    present = graph.get_snapshot()
    assert compile_snapshot(graph.store) == present
    assert count_foreign(graph.store, present) == 0
    assert list_errors(graph) == []
    for revision, state in kept.items():
        assert graph.past.get_snapshot(revision, present) == state


@settings(max_examples=draws(25), deadline=None)
@given(st.lists(draw_step(), min_size=1, max_size=8))
def test_what_is_drafted_and_published_is_what_is_done_at_once(steps: list[tuple[Any, ...]]) -> None:
    direct, drafted = make_graph(), make_graph()
    drafted.drafts.start("d", "D", who="t")
    for step in steps:
        for graph, state in ((direct, direct.get_snapshot()), (drafted, drafted.drafts.get_state("d").snapshot)):
            change = make_change(state, step)
            if change is not None and graph is direct:
                graph.apply(change, who="t", why="t")
            elif change is not None:
                graph.drafts.edit("d", change, who="t", why="t")
    state = drafted.drafts.get_state("d")
    assert state.snapshot == direct.get_snapshot()
    if state.net.added or state.net.removed:
        before = drafted.get_snapshot()
        rows = build_rows(before, sorted(state.net.added), sorted(state.net.removed))
        told = {(row.id, column.column) for row in rows for column in row.columns if "@" in column.column}
        there = {(row.id, f"{row.column}@{row.language}") for row in list_texts(state.snapshot)}
        assert told == there  # at first there were none
        publish_draft(drafted, "d", "v1", who="t", reason="r")
    assert drafted.get_snapshot() == direct.get_snapshot() == compile_snapshot(drafted.store)
