"""Existing numbers do not change where none of the new columns is used: held to answers recorded before."""

from __future__ import annotations

import json
from functools import cache

import pytest
from recorded_answers import (
    DEMONSTRATION,
    LABELS,
    LATER_IDS,
    LEVELS,
    RECORDED,
    build_company_of,
    digest,
    digest_levels,
    list_questions,
)

from loaders.tables.csv_folder import load_csv_folder


@cache
def read_recorded() -> dict[str, list[str]]:
    return {label: text.split() for label, text in json.loads(RECORDED.read_text(encoding="utf-8")).items()}


@pytest.mark.parametrize("label", LABELS)
def test_answers_are_those_recorded_before(label: str) -> None:
    snapshot = build_company_of(label)
    questions = list(list_questions(snapshot, label))
    recorded = read_recorded()[label]
    assert len(questions) == len(recorded)
    others = [asked for asked, known in zip(questions, recorded, strict=True) if digest(snapshot, asked) != known]
    assert not others


def test_levels_are_those_recorded_before() -> None:
    """14,000 cases: every source, several a day, lapses, reviews and what a refresher may still restore."""
    told = [digest_levels(seed) for seed in LEVELS]
    assert sum(count for count, _ in told) >= 10_000
    assert [digits for _, digits in told] == read_recorded()["levels"]


def test_everything_recorded_is_asked_again_and_every_id_left_out_is_there() -> None:
    assert read_recorded().keys() == {*LABELS, "levels"}
    records = load_csv_folder(DEMONSTRATION).records
    known = {record.id for name in ("people", "competencies", "courses") for record in records[name]}
    assert known >= LATER_IDS
