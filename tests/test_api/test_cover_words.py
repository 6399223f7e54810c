"""The first sentences about a team's cover: what is short, on whom it rests, what an absence would change."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from asking import TEAM, find
from scenario import load_scenario

from api.desk.names import Names
from api.questions.team._cover import list_scopes, name_scopes, name_shift, tell_change, tell_cover, tell_places

ON = dt.date(2026, 11, 24)


@pytest.fixture(scope="module")
def names() -> Names:
    return Names(load_scenario())


def ask(name: str, team: str = "treatment", away: str = "", on: dt.date = ON) -> Any:
    return find(load_scenario(), name, TEAM, team, on=on, away=frozenset(away.split(",")) - {""})


def test_what_is_short_is_named_with_the_day_on_which_it_holds_again(names: Names) -> None:
    # Goran Adeyemi alone of the night crew holds the certificate, and is recorded away until 6 December
    assert tell_cover(ask("coverage"), names) == (
        "1 of 8 needs is short: Chlorine handling certificate on the night crew. It holds again from 2026-12-07. "
        "Coagulation control and Disinfection control on the night crew rest on Leila Sorensen alone."
    )


def test_several_that_are_short_hold_again_in_the_plural(names: Names) -> None:
    told = tell_cover(ask("coverage", away="p014"), names)
    assert told.startswith("3 of 8 needs are short: ")
    assert "They hold again from 2026-12-07." in told


def test_what_has_no_end_in_sight_is_said_so(names: Names) -> None:
    assert tell_cover(ask("coverage", "wastewater"), names) == (
        "1 of 7 needs is short: Confined-space rescue certificate. No day is known on which it holds again."
    )


def test_a_team_that_holds_is_told_in_one_sentence(names: Names) -> None:
    assert tell_cover(ask("coverage", "metering"), names) == "Nothing is short and nothing rests on one person."


def test_an_absence_is_told_by_what_it_changes(names: Names) -> None:
    assert tell_change(ask("coverage"), ask("coverage", away="p014"), names) == (
        "Without Leila Sorensen 3 of 8 needs are short instead of 1: Coagulation control and Disinfection control on "
        "the night crew have nobody left. First-aid certificate on the night crew rests on Nadia Holm alone."
    )


def test_an_absence_that_changes_nothing_is_told_too(names: Names) -> None:
    told = tell_change(ask("coverage"), ask("coverage", away="p003"), names)
    assert told == f"Without {names.person('p003')} 1 of 8 needs is short, no more than now."


def test_a_second_shift_that_falls_short_is_not_hidden_by_the_count_of_needs(names: Names) -> None:
    told = tell_change(ask("coverage"), ask("coverage", away="p005,p006"), names)
    assert "1 of 8 needs is short as before, and now elsewhere too: Chlorine handling certificate on the early" in told


def test_empty_places_are_counted_against_what_was(names: Names) -> None:
    before, after = ask("staffing"), ask("staffing", away="p014")
    assert tell_places(before) == "1 of 7 places stands empty."
    assert tell_places(after) == "2 of 7 places stand empty instead of 1."
    assert after.unfilled_before == before.unfilled == before.unfilled_before


def test_ids_in_a_sentence_are_told_by_their_names(names: Names) -> None:
    assert names.put_in("p003 may begin at treat-late-operator without cert-chlorine, self-paced.") == (
        "Lucia Brandvold may begin at Late operators without Chlorine handling certificate, self-paced."
    )
    said = "No course teaches Leading in an incident (incident-command) at level 4 (the highest is 3)."
    assert names.put_in(said) == "No course teaches Leading in an incident at level 4 (the highest is 3)."


def test_a_crew_is_spoken_of_as_one_speaks(names: Names) -> None:
    assert [name_shift(names, shift) for shift in ("treat-night", "ctl-d", None)] == [
        "on the night crew",
        "on crew D",
        "",
    ]


def test_at_most_three_needs_are_named(names: Names) -> None:
    told = name_scopes([scope for scope in list_scopes(ask("coverage")) if scope.row.shift is None], names)
    assert told.endswith("Chlorine handling certificate, Plant start-up and shutdown and 1 more")
