"""Where someone stands, in a sentence; the days that come; what a level rests on."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from api.desk.names import Names
from api.pages.coming_days import MOST_DAYS, list_coming_days
from api.pages.level_table import write_level_rows
from api.pages.missing import tell_missing
from api.pages.stand_words import list_stressed, tell_missing_blocks, tell_standing
from api.pages.where_i_stand import build_view
from ontology.analysis.agenda.agenda import build_person_agenda
from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.known_levels import list_person_levels
from ontology.analysis.routes.moves import ReachableRolesResult
from ontology.snapshot.snapshot import Snapshot

D = date
MANAGER = {"source": "manager", "assessor": "q", "date": D(2026, 3, 9)}


def build(*levels: tuple[str, int], role: str = "r", more: Any = (), **tables: Any) -> Snapshot:
    """A person p of a role that asks z (blocks), a and b (essential), c (desirable), with levels by a manager."""
    asked = {"z": "blocking", "a": "essential", "b": "essential", "c": "desirable"}
    rows = [{"person": "p", "competency": i, "level": level} | MANAGER for i, level in levels if i != "z"]
    certificate = {"source": "certificate", "date": D(2025, 9, 12), "valid_until": D(2027, 9, 12)}
    rows += [{"person": "p", "competency": i, "level": level} | certificate for i, level in levels if i == "z"]
    return build_snapshot(
        **{
            "scales": build_scale(),
            "competencies": [*build_competencies("a b c d"), *build_competencies("z", kind="certificate")],
            "roles": [{"id": "r", "label": "Rigger"}, {"id": "empty", "label": "Empty"}],
            "requirements": [
                {"role": "r", "competency": i, "level": 2 if i == "a" else 1, "necessity": n} for i, n in asked.items()
            ],
            "teams": [{"id": "t", "label": "Team"}],
            "people": [{"id": "p", "name": "Ada Pell", "role": role, "team": "t"}, {"id": "q", "name": "Kim Quist"}],
            "courses": [{"id": "x", "label": "Refresher", "hours": 4}],
            "outcomes": [{"course": "x", "competency": "z", "level": 1}],
            "assessments": [*rows, *more],
        }
        | tables
    )  # fmt: skip


LOOK = "wants a fresh look after this day."
ALL = (("z", 1), ("a", 2), ("b", 1), ("c", 1))


def tell(snapshot: Snapshot, *, is_self: bool = True) -> str:
    return tell_standing(list_person_levels(snapshot, "p", ON), Names(snapshot), is_self=is_self)


@pytest.mark.parametrize(
    ("levels", "said"),
    [
        (ALL, "You meet everything your role asks at full level: 1 of 1 that blocks, 2 of 2 essential."),
        (
            ALL[:3],
            "You meet everything your role asks at full level: 1 of 1 that blocks, 2 of 2 essential. One desirable "
            "competency has never been assessed, so nobody knows your level in it yet.",
        ),
        (
            (("z", 1), ("a", 1)),
            "You meet 1 of 1 that blocks and 0 of 2 essential of what your role asks at full level. Two competencies "
            "have never been assessed, so nobody knows your level in them yet.",
        ),
        ((), "Nobody has assessed you yet; the first step is to ask."),
    ],
)
def test_the_first_sentence_says_what_is_met_and_what_nobody_knows(
    levels: tuple[tuple[str, int], ...], said: str
) -> None:
    assert tell(build(*levels)) == said


def test_a_lead_reads_it_of_the_person() -> None:
    assert tell(build(*ALL), is_self=False) == (
        "Ada Pell meets everything the role asks at full level: 1 of 1 that blocks, 2 of 2 essential."
    )
    assert tell(build(), is_self=False) == "Nobody has assessed Ada Pell yet; the first step is to assess."


def test_without_a_role_or_with_one_that_asks_nothing() -> None:
    assert tell(build(*ALL, role="")) == "No role is recorded for you. Ask your lead, or look at any role."
    assert tell(build(*ALL, role=""), is_self=False) == "No role is recorded for Ada Pell."
    assert tell(build(*ALL, role="empty")) == "Your role, Empty, asks for nothing yet."


def test_the_figures_that_stand_out_are_in_the_sentence() -> None:
    snapshot = build(("z", 1), ("a", 1))
    levels = list_person_levels(snapshot, "p", ON)
    assert all(figure in tell(snapshot) for figure in list_stressed(levels))


def test_what_blocks_and_is_missing_is_named() -> None:
    for levels, said in ((ALL, ""), (ALL[1:], "Without Z nothing begins.")):
        snapshot = build(*levels)
        assert tell_missing_blocks(list_person_levels(snapshot, "p", ON), Names(snapshot)) == said


def list_days(snapshot: Snapshot, *, is_self: bool = True) -> list[tuple[str, str, str, str]]:
    levels, agenda = list_person_levels(snapshot, "p", ON), build_person_agenda(snapshot, "p", ON)
    rows = list_coming_days(levels, agenda, snapshot, Names(snapshot), is_self=is_self)
    assert len(rows) <= MOST_DAYS
    return [(row.day.isoformat(), row.what, row.told, row.act) for row in rows]


def test_what_is_booked_comes_first_then_what_ends_by_day() -> None:
    more = [
        {"person": "p", "competency": "d", "level": 1, "valid_until": D(2026, 12, 1)} | MANAGER,
        {"person": "p", "competency": "b", "level": 1, "valid_until": D(2027, 2, 1)} | MANAGER,
    ]
    snapshot = build(
        ("z", 1),
        more=more,
        sessions=[{"id": "s", "course": "x", "from_date": D(2027, 1, 11), "to_date": D(2027, 1, 12)}],
        bookings=[{"person": "p", "session": "s", "state": "booked"}],
        cover_needs=[{"team": "t", "competency": "d", "level": 1, "minimum": 1}],
    )  # fmt: skip
    assert list_days(snapshot) == [
        ("2027-01-11", "Refresher", "begins; a seat is booked.", "See the session"),
        ("2026-12-01", "D", f"{LOOK} Your role does not ask for it; your team counts on it.", ""),
        ("2027-02-01", "B", f"{LOOK} Your role asks for it.", ""),
        ("2027-09-12", "Z", "ends. It blocks your role: without it nothing begins.", "Find the refresher"),
    ]
    *_, look, ends = list_days(snapshot, is_self=False)
    assert look[3] == "Record an assessment"
    assert ends[2] == "ends. It blocks the role: without it nothing begins."


def test_nothing_to_come_is_an_empty_list() -> None:
    assert list_days(build()) == []


def test_a_level_row_says_what_it_rests_on_and_until_when() -> None:
    snapshot = build(("z", 1), ("a", 2))
    rows = {row.competency: row for row in list_person_levels(snapshot, "p", ON).asked}
    a, b, z = write_level_rows([rows[i] for i in ("a", "b", "z")], snapshot, Names(snapshot))
    assert "manager, Kim Quist<small>" in a
    assert "9 months ago</small>" in a
    assert '"Counts until"><span>no end</span>' in a
    assert "nothing yet<small>the first step is to ask for an assessment</small>" in b
    assert '"Counts until"><span>–</span>' in b
    squares = '<i class="has asked">1</i><i class="has asked">2</i><i class="">3</i><i class="">4</i><i class="">5</i>'
    assert squares in a
    assert "<small>level 2, 2 asked</small>" in a
    assert '<i class="lacks asked">1</i><i class="">2</i>' in b
    assert "<small>not assessed, 1 asked</small>" in b
    assert "certificate<small>" in z
    assert "14 months ago</small>" in z
    assert '"Counts until"><span><time datetime="2027-09-12">' in z


def test_a_level_row_that_is_kept_grows_older() -> None:
    """What a row says is kept as it is written; on another day it may say the same, or that it is older."""
    snapshot = build(("a", 2))
    days = (ON, ON + timedelta(days=1), ON + timedelta(days=60))
    told = [write_level_rows(list_person_levels(snapshot, "p", on).asked, snapshot, Names(snapshot)) for on in days]
    (first, same, older) = [next(row for row in rows if "Kim Quist" in row) for rows in told]
    assert first == same
    assert "9 months ago" in first
    assert "11 months ago" in older


@pytest.mark.parametrize(
    ("levels", "said"),
    [
        (ALL, "Nothing is missing for Rigger: everything it asks is held at full level."),
        (
            (("a", 2),),
            "For Rigger 1 of 1 that blocks is not met and 1 of 2 essential is met; "
            "3 competencies have to be assessed first.",
        ),
    ],
)
def test_what_is_missing_is_told_in_figures(levels: tuple[tuple[str, int], ...], said: str) -> None:
    snapshot = build(*levels)
    assert tell_missing(compute_gap(snapshot, "r", person_id="p", on=ON), Names(snapshot)) == said


def test_a_role_that_asks_nothing_misses_nothing() -> None:
    snapshot = build()
    gap = compute_gap(snapshot, "empty", person_id="p", on=ON)
    assert tell_missing(gap, Names(snapshot)) == "Empty asks for nothing, so nothing is missing."


@pytest.mark.parametrize(
    ("reach", "said"),
    [
        (None, "Which roles are one step away is still being worked out: at most 200 hours"),
        (ReachableRolesResult("optimal", ()), "No role is one step away for you: at most 200 hours"),
    ],
)
def test_where_to_from_here_stands_also_where_no_role_is_known_to_be_near(
    reach: ReachableRolesResult | None, said: str
) -> None:
    snapshot = build(*ALL)
    levels, agenda = list_person_levels(snapshot, "p", ON), build_person_agenda(snapshot, "p", ON)
    own = build_view(levels, agenda, reach, (200, 2), snapshot, is_self=True)
    assert own.onward is not None
    assert own.onward.told.startswith(said)
    assert own.onward.choices == ("Empty", "Rigger")
    assert build_view(levels, agenda, reach, (200, 2), snapshot, is_self=False).onward is None
