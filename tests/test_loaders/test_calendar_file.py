"""iCalendar files against RFC 5545, read back with the library icalendar."""

from __future__ import annotations

import datetime as dt

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loaders.calendar_file import CalendarEvent, build_calendar_file, fold_line

MADE_AT = dt.datetime(2026, 11, 24, tzinfo=dt.UTC)
#: No control characters and no lone halves of characters: a text value cannot hold them (section 3.3.11).
TEXTS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=200)


def build(*events: CalendarEvent) -> bytes:
    return build_calendar_file(events, name="Plan", made_at=MADE_AT)


def make_event(**more: object) -> CalendarEvent:
    day = dt.date(2026, 12, 1)
    fields = {"key": "k", "first_day": day, "last_day": day, "summary": "S"} | more
    return CalendarEvent(**fields)  # type: ignore[arg-type]


def read(content: bytes) -> list[icalendar.Component]:
    return list(icalendar.Calendar.from_ical(content).walk("VEVENT"))


# RFC 5545, section 3.1: at most 75 octets a line, octets not characters; CR LF at its end
@given(TEXTS)
def test_no_line_is_longer_than_75_octets_and_each_ends_with_cr_lf(text: str) -> None:
    content = build(make_event(summary=text, description=text))
    assert content.endswith(b"\r\n")
    lines = content.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    for line in lines:
        assert b"\n" not in line
        assert b"\r" not in line
        line.decode()  # no character is broken in two


@given(TEXTS)
def test_folding_takes_nothing_away(text: str) -> None:
    # section 3.1: unfolding takes away each CR LF and the blank after it
    assert fold_line(text).replace(b"\r\n ", b"").removesuffix(b"\r\n").decode() == text


@given(TEXTS, TEXTS)
def test_texts_come_back_as_they_were(summary: str, description: str) -> None:
    (event,) = read(build(make_event(summary=summary, description=description)))
    assert str(event["SUMMARY"]) == summary
    assert str(event.get("DESCRIPTION", "")) == description


@pytest.mark.parametrize("text", ["C:\\New", "C:\\new", "\\\\n", "\\;\\,", "a;b,c"])
def test_a_backslash_is_never_taken_for_what_it_escapes(text: str) -> None:
    (event,) = read(build(make_event(summary=text)))
    assert str(event["SUMMARY"]) == text


# RFC 5545, sections 3.6, 3.6.1, 3.7 and 3.8; NAME of a calendar: RFC 7986, section 5.1
CALENDAR_PROPERTIES = {"PRODID", "VERSION", "CALSCALE", "NAME"}
EVENT_PROPERTIES = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "CATEGORIES", "CLASS", "TRANSP"}


def test_every_property_is_one_of_the_standards() -> None:
    calendar = icalendar.Calendar.from_ical(build(make_event(description="d", category="Course")))
    assert set(calendar) == CALENDAR_PROPERTIES
    assert set(calendar.walk("VEVENT")[0]) == EVENT_PROPERTIES


def test_line_breaks_come_back_and_control_characters_become_blanks() -> None:
    (event,) = read(build(make_event(summary="a\nb", description="c\r\nd\x00e\x7f")))
    assert str(event["SUMMARY"]) == "a\nb"
    assert str(event["DESCRIPTION"]) == "c\nd e "


def test_an_event_lasts_whole_days_and_its_end_is_the_day_after() -> None:
    # section 3.6.1: the end is exclusive
    (event,) = read(build(make_event(first_day=dt.date(2026, 12, 30), last_day=dt.date(2027, 1, 1))))
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (dt.date(2026, 12, 30), dt.date(2027, 1, 2))
    assert event["DTSTART"].params["VALUE"] == "DATE"


def test_every_event_has_a_stamp_and_an_id_of_its_own_that_stays() -> None:
    # section 3.6.1: UID and DTSTAMP are required
    content = build(make_event(key="a"), make_event(key="b"))
    first, second = read(content)
    assert first["UID"] != second["UID"]
    assert first["DTSTAMP"].dt == MADE_AT
    assert content == build(make_event(key="a"), make_event(key="b"))
    moved = read(build(make_event(key="a", first_day=dt.date(2026, 11, 30))))[0]
    assert moved["UID"] == first["UID"]


def test_what_someone_explores_is_private_and_blocks_no_day() -> None:
    (event,) = read(build(make_event(category="Course")))
    assert (event["CLASS"], event["TRANSP"]) == ("PRIVATE", "TRANSPARENT")
    assert [str(category) for category in event["CATEGORIES"].cats] == ["Course"]


def test_the_calendar_says_its_version_and_who_made_it() -> None:
    calendar = icalendar.Calendar.from_ical(build())
    # section 3.6: PRODID and VERSION are required
    assert (calendar["VERSION"], calendar["PRODID"]) == ("2.0", "-//Newel//Development plan//EN")


@pytest.mark.parametrize("day", [dt.date(1, 1, 1), dt.date.max])
def test_the_ends_of_the_calendar_are_written_with_eight_digits(day: dt.date) -> None:
    content = build(make_event(first_day=day, last_day=day))
    assert f"DTSTART;VALUE=DATE:{day.year:04}{day.month:02}{day.day:02}\r\n".encode() in content
