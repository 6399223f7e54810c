"""The calendar of dues by week: every due day once, in its week, with the last day to act in the week to act in."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from drawn import WITHOUT_DOT, check_picture, read_links, read_texts
from first_aid import ON, build

from api.pictures.dues import build_dues_picture
from api.pictures.text import TIE
from ontology.analysis.obligations.due_lists import find_team_obligations

NEEDS_DOT = [WITHOUT_DOT, pytest.mark.needs_dot]
D = date


def draw(**more: Any) -> str:
    snapshot = build(**more)
    return build_dues_picture(snapshot, find_team_obligations(snapshot, "crew", on=ON)).dot


def read(**more: Any) -> list[str]:
    texts = [text.replace(TIE, " ").strip() for text in read_texts(check_picture(draw(**more)))]
    return [text for text in texts if text not in ("", "■")]


class TestDrawn:
    pytestmark = NEEDS_DOT

    def test_worked_example_stands_in_the_weeks_of_its_days(self) -> None:
        """By hand: overdue 2 November; the weeks of 1, 14 and 20 December; to act by 6 and 12 December."""
        texts = read()
        weeks = [i for i, text in enumerate(texts) if " – " in text or text == "overdue"]
        by_week = {
            texts[first]: texts[first + 1 : last]
            for first, last in zip(weeks, [*weeks[1:], weeks[-1] + 1], strict=True)
        }
        assert len(by_week) == 14  # what is overdue, and thirteen weeks from the Monday before
        assert by_week["overdue"] == ["1", "First aid", "too late: H 2 Nov"]
        assert by_week["30 Nov – 6 Dec 2026"] == ["1", "First aid", "too late: S 1 Dec", "First aid", "A 6 Dec"]
        assert by_week["7 Dec – 13 Dec 2026"] == ["First aid", "E 12 Dec"]
        assert by_week["14 Dec – 20 Dec 2026"] == ["2", "First aid", "A 14 Dec, E 20 Dec"]
        assert [words for week, words in by_week.items() if week[:2] in ("16", "21", "28")] == [[]] * 3

    def test_seat_that_is_booked_is_told_by_its_word(self) -> None:
        sessions = [{"id": "s", "course": "refresher", "from_date": D(2026, 12, 10)}]
        texts = read(sessions=sessions, bookings=[{"session": "s", "person": "ends"}])
        assert "booked: E 20 Dec" in texts
        assert "booked in time" in texts

    def test_entries_lead_to_their_competency(self) -> None:
        assert set(read_links(check_picture(draw()))) == {"/competencies/first-aid"}

    def test_nothing_due_is_said(self) -> None:
        texts = read(obligations=[])
        assert "Nothing is overdue, and nothing falls due within 90 days." in texts


def test_text_alternative_names_every_due_day() -> None:
    snapshot = build()
    told = build_dues_picture(snapshot, find_team_obligations(snapshot, "crew", on=ON)).description
    assert "1 overdue, 3 due within 90 days, of 4 rows; 1 of those ahead can no longer be held in time." in told
    assert "E, First aid: due 20 December 2026, last day to act 12 December 2026 (to be begun or booked)." in told
    assert told.count("First aid: due") == 4
