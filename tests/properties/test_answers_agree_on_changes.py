"""What changed since a state is how its own answers differ from those of the other; on one day something did it."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

from company_edits import build_rich_company, edit_company
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.effect.between import Between
from ontology.analysis.effect.person_changes import find_person_changes
from ontology.analysis.effect.team_changes import find_team_changes
from ontology.analysis.effect.why import Reasons
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.profiles.known_levels import list_person_levels
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

SEEDS = st.integers(0, 10_000)


def read_rows(wanted: Iterable[tuple[str, Any]]) -> dict[tuple[str, Any], Sequence[tuple[int, str]]]:
    """Tell of each record that it was changed."""
    return {(table, key): [(2, f"{table} {key}")] for table, key in wanted}


def draw_states(seed: int) -> tuple[Snapshot, Snapshot]:
    rng = random.Random(seed)
    company = build_rich_company(rng.randrange(10_000))
    # a person, team or shift that comes or goes takes others along
    tables = TABLES.keys() - {"people", "teams", "shifts"}
    after = edit_company(rng, company, rng.choice([1, 2, 8]), tables)
    moved = [
        (name, record)
        for name in ("people", "shifts")
        for record in build_rich_company(rng.randrange(10_000)).get_table(name).values()
        if (record.id,) in company.get_table(name) and name == "people" and rng.random() < 0.3
    ]
    known = {name: after.get_table(name) for name in ("shifts", "roles")}
    return company, after.with_changes(
        put=[
            (name, one)
            for name, one in moved
            if (not one.shift or (one.shift,) in known["shifts"]) and (not one.role or (one.role,) in known["roles"])
        ]
    )


@given(SEEDS, st.sampled_from([0, 0, 7, 40]))
@settings(max_examples=draws(40), deadline=None)
def test_a_team_changed_as_its_answers_differ(seed: int, days: int) -> None:
    before, after = draw_states(seed)
    then, now = ON - timedelta(days=days), ON
    for team in after.teams:
        told = find_team_changes(Between(before, after, then, now, "1", Reasons(read_rows)), team)
        old, new = (
            {(row.competency, row.level, row.applies): row for row in compute_coverage(state, team, day).needs}
            for state, day in ((before, then), (after, now))
        )
        states = {
            key: (old[key].state if key in old else None, new[key].state if key in new else None) for key in old | new
        }
        assert {
            (row.competency, row.level, row.applies): (row.state_before, row.state_after) for row in told.needs
        } == {key: pair for key, pair in states.items() if pair[0] != pair[1]}
        points = [
            {one.id for one in find_single_points_of_failure(state, team, day).people}
            for state, day in ((before, then), (after, now))
        ]
        assert {one.id for one in told.single_points.gained} == points[1] - points[0]
        assert {one.id for one in told.single_points.lost} == points[0] - points[1]
        filled = [compute_staffing(state, team, day) for state, day in ((before, then), (after, now))]
        assert (told.places_filled.before, told.places_filled.after) == (filled[0].filled, filled[1].filled)
        assert (told.tolerance.before, told.tolerance.after) == tuple(one.tolerance.overall for one in filled)
        whys = [
            *(row.why for row in (*told.needs, *told.single_points.gained, *told.single_points.lost)),
            *(one.why for one in (told.places_filled, told.tolerance) if one.before != one.after),
        ]
        assert all(whys)
        if then == now:
            # no time has passed: something was changed that did it
            assert ("time",) not in whys, (seed, team)


@given(SEEDS, st.sampled_from([0, 0, 7, 40]))
@settings(max_examples=draws(40), deadline=None)
def test_a_person_changed_as_their_levels_differ(seed: int, days: int) -> None:
    before, after = draw_states(seed)
    then, now = ON - timedelta(days=days), ON
    for person in after.people.keys() & before.people.keys():
        told = find_person_changes(Between(before, after, then, now, "1", Reasons(read_rows)), person)
        sides = [list_person_levels(state, person, day) for state, day in ((before, then), (after, now))]
        assert (told.standing.role_before, told.standing.role_after) == (sides[0].role, sides[1].role)
        known = [
            {row.competency: (row.level, row.state) for row in (*side.asked, *side.others) if row.level is not None}
            for side in sides
        ]
        differ = {i for i in known[0].keys() | known[1].keys() if known[0].get(i) != known[1].get(i)}
        assert {row.competency for row in told.levels} == differ
        gaps = [{row.competency: (row.asked, row.necessity, row.gap) for row in side.asked} for side in sides]
        assert {row.competency for row in told.gaps} == {
            i for i in gaps[0].keys() | gaps[1].keys() if gaps[0].get(i) != gaps[1].get(i)
        }
        whys = [row.why for row in (*told.gaps, *told.levels)]
        if (told.standing.role_before, told.standing.before) != (told.standing.role_after, told.standing.after):
            whys.append(told.standing.why)
        assert all(whys)
        if then == now:
            assert ("time",) not in whys, (seed, person)
