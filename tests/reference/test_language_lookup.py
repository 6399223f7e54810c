"""Which language is found for what a reader accepts, as the standards' own examples say.

RFC 4647 "Matching of Language Tags", section 3.4 (lookup): the fallback pattern of `zh-Hant-CN-x-private1-private2` and
of the list `fr-FR, zh-Hant`. RFC 9110 "HTTP Semantics", section 12.5.4: the example of Accept-Language; section 12.4.2:
weights. The pattern of RFC 4647 is told from memory; the example of Danish stands
already in RFC 2616, section 14.4, where it was read.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.desk.language_ranges import look_up, read_accepted

_PATTERN = ("zh-hant-cn-x-private1-private2", "zh-hant-cn-x-private1", "zh-hant-cn", "zh-hant", "zh")
#: What the pattern passes over: a single letter introduces what follows it.
_NEVER = ("zh-hant-cn-x",)


def test_a_range_is_shortened_as_the_standard_says() -> None:
    """Of all tags of the pattern the longest that is there is found; behind the last of them comes the default."""
    for place, tag in enumerate(_PATTERN):
        assert look_up(_PATTERN[:1], _PATTERN[place:], "default") == tag
    assert look_up(_PATTERN[:1], _NEVER, "default") == "default"


def test_each_range_is_shortened_to_its_end_before_the_next() -> None:
    """fr-FR, fr, zh-Hant, zh, then the default."""
    steps = ("fr-fr", "fr", "zh-hant", "zh")
    for place, tag in enumerate(steps):
        assert look_up(("fr-fr", "zh-hant"), steps[place:], "default") == tag
    assert look_up(("fr-fr", "zh-hant"), ("fr-ca",), "default") == "default"


def test_danish_goes_before_british_english_and_that_before_any_english() -> None:
    """The example of RFC 9110, section 12.5.4: da, en-gb;q=0.8, en;q=0.7."""
    ranges, refused = read_accepted("da, en-gb;q=0.8, en;q=0.7")
    assert not refused
    assert look_up(ranges, ("da", "en", "en-gb"), "fr") == "da"
    assert look_up(ranges, ("en", "en-gb"), "fr") == "en-gb"
    assert look_up(ranges, ("en", "de"), "fr") == "en"
    assert look_up(ranges, ("de",), "fr") == "fr"


@pytest.mark.parametrize(
    ("header", "found"),
    [
        ("de;q=0.1, fr;q=0.101", "fr"),  # three decimals count (12.4.2)
        ("fr;q=0.5, de", "de"),  # no weight is 1
        ("de;q=0, fr;q=0.001", "fr"),  # 0 is: not acceptable
        ("de-at, de;q=0, fr;q=0.2", "fr"),
        ("*, fr;q=0.2", "fr"),  # RFC 4647: a * that others follow is skipped
        ("*", "en"),
        ("", "en"),
        ("DE-at ; Q=0.9", "de"),  # case says nothing
        ("d_e, fr;q=2, de;q=0.2", "de"),  # what is written wrong is passed over
    ],
)
def test_weights_order_and_refuse(header: str, found: str) -> None:
    ranges, refused = read_accepted(header)
    assert look_up(ranges, ("en", "de", "fr"), "en", refused) == found


@given(st.text(max_size=60))
def test_whatever_a_header_says_a_language_is_found(header: str) -> None:
    ranges, refused = read_accepted(header)
    assert look_up(ranges, ("en", "de"), "en", refused) in ("en", "de")
