"""Every text of every picture stays in its box, whatever fonts the server and the browser have.

Drawn with each set of fonts and measured in Chromium with each (`getBoundingClientRect`): one browser for each set
looks at all pictures. Only the machine's own fonts are sure to be there; a set that is not is skipped.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from chromium import needs_chromium
from drawn import WITHOUT_DOT
from font_sets import FONT_SETS, OWN, find_fonts
from measured_pictures import Measured, draw_with, measure_with, take_lengths_out
from picture_cases import (
    ask_framework_pictures,
    ask_large_framework_pictures,
    ask_large_pictures,
    ask_team_pictures,
    load_awkward_scenario,
    load_scenario,
)

pytestmark = [needs_chromium, WITHOUT_DOT, pytest.mark.needs_dot]

SETS = [OWN, *(name for name in FONT_SETS if find_fonts(name) is not None)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pictures")


@pytest.fixture(scope="module")
def dots() -> dict[str, str]:
    """The demonstration's pictures, the same with awkward names, and large ones."""
    found = {}
    for kind, snapshot in (("", load_scenario()), (" with awkward names", load_awkward_scenario())):
        for name, draw in (ask_team_pictures(snapshot) | ask_framework_pictures(snapshot)).items():
            found[name + kind] = draw(layout="screen", page=1)
    large = ask_large_pictures() | ask_large_framework_pictures()
    return found | {name: draw(layout="screen", page=1) for name, draw in large.items()}


@pytest.fixture(scope="module")
def drawn(dots: dict[str, str], folder: Path) -> dict[str, bytes]:
    """Each picture drawn with each set of fonts."""
    return {
        f"{name}, drawn with {fonts}": svg for fonts in SETS for name, svg in draw_with(fonts, dots, folder).items()
    }


def test_a_day_in_a_picture_is_in_words(dots: dict[str, str]) -> None:
    written = {name: re.findall(r".{30}\b\d{4}-\d\d-\d\d\b", dot) for name, dot in dots.items()}
    assert not {name: days for name, days in written.items() if days}
    told = " ".join(dots.values()).replace("\u00a0", " ")
    assert "24 November 2026" in told, "in a sentence"
    assert ">17 Sep 2027<" in told, "in a narrow column"


@pytest.mark.parametrize("fonts", [OWN, *FONT_SETS])
def test_every_text_stays_in_its_box_and_nothing_overlaps(fonts: str, drawn: dict[str, bytes], folder: Path) -> None:
    if fonts not in SETS:
        pytest.skip(f"the fonts of {fonts} are not installed")
    measured = measure_with(fonts, drawn, folder)
    assert measured.keys() == drawn.keys()
    assert all(found.texts > 5 for found in measured.values())
    assert {name: found.faults for name, found in measured.items() if found.faults} == {}


def test_without_the_lengths_of_texts_it_would_be_seen(dots: dict[str, str], folder: Path) -> None:
    narrow = next((name for name in ("Liberation", "DejaVu") if name in SETS), OWN)
    bare = {name: take_lengths_out(svg) for name, svg in draw_with(narrow, dots, folder).items()}
    wide = "wide" if "wide" in SETS else OWN
    measured = measure_with(wide, bare, folder)
    faults = [fault for found in measured.values() for fault in found.faults]
    assert sum(fault.startswith("without a length") for fault in faults) == sum(m.texts for m in measured.values())
    if wide != OWN and narrow != OWN:
        assert sum(fault.startswith("outside its box") for fault in faults) > 20
        assert sum(fault.startswith("text on text") for fault in faults) > 20


def test_a_screen_shows_a_demonstration_picture_whole_and_filled(dots: dict[str, str], folder: Path) -> None:
    fonts = "DejaVu" if "DejaVu" in SETS else OWN
    asked = ask_team_pictures(load_scenario()) | ask_framework_pictures(load_scenario())
    demonstration = {name: dots[name] for name in asked}
    measured = measure_with(fonts, draw_with(fonts, demonstration, folder), folder, has_ink=True)
    assert {name: found.ink for name, found in measured.items() if not 0.4 <= found.ink <= 1} == {}
    if fonts != OWN:
        assert {name: found for name, found in measured.items() if is_too_large(name, found)} == {}


#: Higher than a screen: a timetable has a row for each need of each shift, this plan a long list of what expires, and
#: dues a row for each of fourteen weeks, a comparison a card for each of forty parts.
HIGH = {
    "training-chart-networks": (1300, 1050),
    "cross-training-networks": (1240, 820),
    "dues-laboratory": (1240, 720),
    "comparison": (1240, 1000),
}


def is_too_large(name: str, found: Measured) -> bool:
    width, height = HIGH.get(name, (1240, 700))
    return found.width > width or found.height > height
