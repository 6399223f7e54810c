"""Calendars as one table with bars: every course once, widths that tell days, with 5, 15 and 40 courses."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from drawn import WITHOUT_DOT, check_picture, get_paper_scale, measure, read_links, read_texts
from picture_cases import iterate_pages
from picture_companies import build_calendar_company
from small_company import ON

from api.pictures.calendar import build_calendar_picture, count_pages
from api.pictures.calendar_axis import Axis, Bar, format_days
from api.pictures.paging import PageError
from api.pictures.svg import get_text_alternative
from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.schedule.renewals import Lapsing
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.snapshot.snapshot import Snapshot

PROFILE = Profile({}, study_hours_per_week=6.0)
NEEDS_DOT = [WITHOUT_DOT, pytest.mark.needs_dot]


def plan(size: int) -> tuple[Snapshot, ScheduleResult]:
    snapshot = build_calendar_company(size)
    path = find_path_to_levels(snapshot, PROFILE, dict.fromkeys(snapshot.competencies, 1))
    result = plan_schedule(snapshot, PROFILE, path, on=ON, holidays=[date(2026, 12, 25)], max_nodes=500)
    assert len(result.courses) == size
    return snapshot, result


@pytest.fixture(scope="module", params=[5, 15, 40])
def drawn(request: pytest.FixtureRequest) -> tuple[ScheduleResult, str, list[str]]:
    snapshot, result = plan(request.param)
    screen = build_calendar_picture(snapshot, PROFILE, result).dot
    pages = range(1, count_pages(result) + 1)
    return (
        result,
        screen,
        [build_calendar_picture(snapshot, PROFILE, result, layout="paper", page=n).dot for n in pages],
    )


class TestDrawn:
    pytestmark = NEEDS_DOT

    def test_every_course_has_one_row_on_the_screen_and_one_on_paper(
        self, drawn: tuple[ScheduleResult, str, list[str]]
    ) -> None:
        result, screen, papers = drawn
        for dots in ([screen], papers):
            links = [link for dot in dots for link in read_links(check_picture(dot))]
            assert sorted(links) == sorted(f"/courses/{course.id}" for course in result.courses)

    def test_rows_stand_in_the_order_of_their_numbers(self, drawn: tuple[ScheduleResult, str, list[str]]) -> None:
        result, screen, _ = drawn
        numbers = [text for text in read_texts(check_picture(screen)) if re.fullmatch(r"\d{1,2}", text)]
        assert numbers == [str(number) for number in range(1, len(result.courses) + 1)]

    def test_it_keeps_to_the_width_of_a_screen_and_to_the_scale_of_a_page(
        self, drawn: tuple[ScheduleResult, str, list[str]]
    ) -> None:
        _, screen, papers = drawn
        assert measure(screen).width_px <= 1240
        assert min(map(get_paper_scale, papers)) >= 0.75

    def test_what_is_critical_is_told_by_words_and_not_by_colour_alone(
        self, drawn: tuple[ScheduleResult, str, list[str]]
    ) -> None:
        result, screen, _ = drawn
        critical = sum(course.is_critical for course in result.courses)
        texts = read_texts(check_picture(screen))
        assert critical == texts.count("none") == texts.count("critical")

    def test_a_certificate_stands_below_with_its_last_day_and_a_renewal_with_its_word(self) -> None:
        snapshot, result = plan(5)
        lapsing = Lapsing("c00", "Hygiene", 1, ON + timedelta(9), (), "c04", ON + timedelta(20), False, "")
        courses = (*result.courses[:-1], replace(result.courses[-1], is_renewal=True, is_critical=False))
        result = replace(result, courses=courses, lapsing=(lapsing,))
        dot = build_calendar_picture(snapshot, PROFILE, result).dot
        texts = read_texts(check_picture(dot))
        assert texts.index("Hygiene") > texts.index("5")
        assert "lapses" in texts
        assert "renewal" in texts
        assert "Hygiene: last day 3 Dec 2026, renewed 14 Dec 2026: too late." in get_text_alternative(dot).description


def test_a_page_that_is_not_there_is_refused() -> None:
    snapshot, result = plan(15)
    with pytest.raises(PageError):
        build_calendar_picture(snapshot, PROFILE, result, layout="paper", page=99)
    with pytest.raises(PageError):
        build_calendar_picture(snapshot, PROFILE, result, page=2)


def test_the_same_schedule_gives_the_same_text_with_the_days_without_study() -> None:
    snapshot, result = plan(15)
    picture = build_calendar_picture(snapshot, PROFILE, result)
    assert picture == build_calendar_picture(snapshot, PROFILE, result)
    assert "Days without study: 25 Dec 2026." in get_text_alternative(picture.dot).description


def test_nothing_to_learn_says_so() -> None:
    snapshot = build_calendar_company(5)
    path = find_path_to_levels(snapshot, PROFILE, {})
    result = plan_schedule(snapshot, PROFILE, path, on=ON)
    picture = build_calendar_picture(snapshot, PROFILE, result)
    assert "Nothing to do." in picture.description
    assert len(list(iterate_pages(lambda **shown: build_calendar_picture(snapshot, PROFILE, result, **shown).dot))) == 1


# ---- the axis ----


def read_widths(markup: str) -> list[int]:
    return [int(width) for width in re.findall(r' WIDTH="(\d+)"', markup)]


def read_words(markup: str) -> list[str]:
    return re.findall(r">([^<>]+)</FONT>", markup)


@pytest.mark.parametrize(
    ("last", "years", "ticks"),
    [
        (date(2026, 12, 20), ["2026"], ["30 Nov", "7 Dec", "14 Dec"]),
        (
            date(2027, 11, 23),
            ["2026", "2027"],
            ["Dec", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct"],
        ),
        (date(2031, 12, 31), ["2026", "2027", "2028", "2029", "2030", "2031"], []),
    ],
)
def test_an_axis_names_weeks_months_or_years_by_its_length(last: date, years: list[str], ticks: list[str]) -> None:
    axis = Axis(ON, last)
    assert set(read_words(axis.build_years())) <= set(years)
    assert read_words(axis.build_ticks())[: len(ticks)] == ticks


@pytest.mark.parametrize("days", [0, 1, 20, 80, 400, 4000, 40_000])
def test_every_row_of_an_axis_is_as_wide_as_it_and_has_room_for_its_words(days: int) -> None:
    axis = Axis(ON, date.fromordinal(ON.toordinal() + days))
    bar = Bar(ON, ON, "#0072B2", ON)
    for markup in (axis.build_years(), axis.build_ticks(), axis.build_bar(bar)):
        assert not markup or sum(read_widths(markup)) == 430
    for width, words in re.findall(r'WIDTH="(\d+)"[^>]*><FONT[^>]*>([^<]+)</FONT>', axis.build_ticks()):
        assert int(width) >= (40 if " " in words else 24)


def test_a_bar_is_as_wide_as_its_days_and_never_invisible() -> None:
    axis = Axis(date(2027, 1, 1), date(2027, 12, 31))
    markup = axis.build_bar(Bar(date(2027, 4, 1), date(2027, 6, 30), "#0072B2", date(2027, 7, 31)))
    filled = [int(width) for width in re.findall(r'WIDTH="(\d+)"[^>]*BGCOLOR="#0072B2"', markup)]
    # 91 of 365 days of 430 points
    assert sum(filled) == pytest.approx(430 * 91 / 365, abs=1)
    pale = [int(width) for width in re.findall(r'WIDTH="(\d+)"[^>]*BGCOLOR="#BFDCEC"', markup)]
    assert sum(pale) == pytest.approx(430 * 31 / 365, abs=1)
    long = Axis(date(2027, 1, 1), date(2040, 1, 1))
    last = Bar(date(2040, 1, 1), date(2040, 1, 1), "#0072B2", date(2040, 1, 1))
    assert sum(int(w) for w in re.findall(r'WIDTH="(\d+)"[^>]*BGCOLOR="#0072B2"', long.build_bar(last))) >= 2


def test_days_in_a_row_are_one_span() -> None:
    days = [date(2026, 12, day) for day in (24, 25, 26)]
    assert format_days([*days, date(2027, 1, 1)]) == "24 Dec – 26 Dec 2026, 1 Jan 2027"
