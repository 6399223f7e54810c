"""Strips of states over days: each as wide as its days, all of them as wide as the stretch."""

from __future__ import annotations

import datetime as dt
import itertools
import re

import pytest
from asking import TEAM, answer
from scenario import load_scenario

from api.desk.sheet import Piece, Span, State, Strips
from api.pages.strips import write_strips

ON = dt.date(2026, 11, 24)
CELL = re.compile(r'<(td|th)[^>]* colspan="(\d+)"[^>]*>(.*?)</(?:td|th)>')


def build(*days: int) -> Strips:
    pieces, first = [], ON
    for n, length in enumerate(days):
        last = first + dt.timedelta(days=length - 1)
        pieces.append(Piece(State("short", "short") if n % 2 else State("covered", "covered"), Span(first, last)))
        first = last + dt.timedelta(days=1)
    return Strips("Day by day", "need", (("Pumps", tuple(pieces)),))


@pytest.mark.parametrize("days", [(10, 20), (1,), (3, 1, 3), (400, 500, 90), (3640,), (1, 3638, 1)])
def test_pieces_and_months_span_the_same_columns(days: tuple[int, ...]) -> None:
    cells = CELL.findall(write_strips(build(*days)))
    spans = {kind: sum(int(n) for one, n, _ in cells if one == kind) for kind in ("td", "th")}
    assert spans["td"] == spans["th"] == int(re.findall(r'<col span="(\d+)"', write_strips(build(*days)))[0])
    assert all(1 <= int(n) <= 1000 for _, n, _ in cells)
    if sum(days) <= 900:
        assert [int(n) for kind, n, _ in cells if kind == "td"] == list(days)


def test_a_word_stands_in_a_piece_that_is_wide_enough_and_for_readers_in_every_one() -> None:
    words = [text for kind, _, text in CELL.findall(write_strips(build(100, 1))) if kind == "td"]
    assert words == ["<span>covered</span>", '<span class="unseen">short</span>']


def test_nothing_stands_where_there_is_nothing() -> None:
    assert write_strips(Strips("Day by day", "need", ())) == ""


def test_the_strips_of_a_team_say_what_its_timeline_says_each_day() -> None:
    told = answer(load_scenario(), "coverage-timeline", TEAM, "treatment", on=ON, weeks=26)
    (strips,) = [part for part in told.build_sheet().parts if isinstance(part, Strips)]
    rows = [*told.result.needs, *told.result.slots]
    assert len(strips.rows) == len(rows)
    for row, (_, pieces) in zip(rows, strips.rows, strict=True):
        by_day = {
            interval.from_date + dt.timedelta(days=n): interval.state
            for interval in row.intervals
            for n in range((interval.to_date - interval.from_date).days + 1)
        }
        words = {"filled": "covered", "unfilled": "empty"}
        found = {
            piece.days.first + dt.timedelta(days=n): piece.state.code
            for piece in pieces
            for n in range(((piece.days.last or piece.days.first) - piece.days.first).days + 1)
        }
        assert found == {day: words.get(state, state) for day, state in by_day.items()}
        assert all(one.state != other.state for one, other in itertools.pairwise(pieces))


def test_the_first_sentence_of_a_timeline_says_what_comes_next() -> None:
    told = answer(load_scenario(), "coverage-timeline", TEAM, "treatment", on=ON, weeks=26)
    assert told.build_sheet().lead.startswith(
        "The next change comes on 2026-12-05: First-aid certificate at level 1 (Early crew) is sole holder from then "
        "on. The next day to act is 2026-12-03, for place Late operators."
    )
    calendar = told.enquiry.question.files["ics"].build(told).decode().replace("\r\n ", "")
    assert "SUMMARY:Water treatment: place Late operators empty" in calendar
    assert calendar.count("BEGIN:VEVENT") == len(told.result.changes) + sum(not act.is_late for act in told.result.acts)
    assert len(set(re.findall("UID:(.*)", calendar))) == calendar.count("BEGIN:VEVENT")


def test_the_first_sentence_of_staffing_says_what_competes_and_what_the_team_stands() -> None:
    lead = answer(load_scenario(), "staffing", TEAM, "treatment", on=ON).build_sheet().lead
    assert lead == (
        "6 of 7 places filled. 2 slots of Night operators compete, and only one person can fill them: Leila Sorensen. "
        "A single absence can make a need short; the places stand none, for not all are filled."
    )
    lead = answer(load_scenario(), "staffing", TEAM, "wastewater", on=ON).build_sheet().lead
    assert lead == "4 of 4 places filled. Any 1 absence leaves the needs intact; the places stand none."
