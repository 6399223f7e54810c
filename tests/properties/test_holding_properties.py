"""What would not hold without some people, and who can be lent, against coverage and staffing with them away."""

from __future__ import annotations

from collections import Counter

from brute_cover import iterate_subsets
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import Rows, build_team, team_rows
from what_holds import get_holding

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.holding import build_holding, find_broken
from ontology.analysis.places.lending import find_lendable
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.snapshot.snapshot import Snapshot

MANY = settings(max_examples=draws(150), deadline=None)


def check_broken(snapshot: Snapshot, away: frozenset[str], gone: frozenset[str]) -> None:
    before, after = get_holding(snapshot, "t", away), get_holding(snapshot, "t", away | gone)
    fallen = find_broken(get_presence(snapshot, "t", ON, away), gone)
    assert {(n.competency, n.level, n.applies, n.shift) for n in fallen.needs} == before[0] - after[0]
    assert Counter(fallen.places) == before[1] - after[1]
    told = Counter({(n.competency, n.level, n.shift, n.together): n.slots for n in fallen.together})
    assert told == before[2] - after[2]
    assert not after[1] - before[1], "nothing is filled that was empty"
    assert not after[2] - before[2]


@MANY
@given(team_rows(), st.data())
def test_what_breaks_is_what_held_and_does_not_hold_with_these_people_away(rows: Rows, data: st.DataObject) -> None:
    snapshot = build_team(rows)
    people = st.sampled_from([row["id"] for row in rows["people"]]) if rows["people"] else st.nothing()
    sets = st.frozensets(people, max_size=4) if rows["people"] else st.just(frozenset[str]())
    check_broken(snapshot, data.draw(sets), data.draw(sets))


@MANY
@given(team_rows())
def test_single_points_are_told_with_all_that_breaks_without_them(rows: Rows) -> None:
    snapshot = build_team(rows)
    points = {point.id: point for point in find_single_points_of_failure(snapshot, "t", ON).people}
    presence = get_presence(snapshot, "t", ON)
    holding = build_holding(presence)
    assert list(holding.scopes) == build_need_scopes(presence)
    for person in presence.members:
        fallen = holding.find_broken({person.id})
        assert bool(fallen) == (person.id in points)
        if fallen:
            point = points[person.id]
            assert (point.needs, point.places, point.together) == (fallen.needs, fallen.places, fallen.together)


@MANY
@given(team_rows(max_people=7, max_needs=4, min_people=1), st.data())
def test_as_many_as_can_be_lent_break_nothing_and_one_more_always_something(rows: Rows, data: st.DataObject) -> None:
    snapshot = build_team(rows)
    presence = get_presence(snapshot, "t", ON)
    asked = data.draw(st.frozensets(st.sampled_from([row["id"] for row in rows["people"]]))) & presence.present_ids
    holding = build_holding(presence)
    lent = find_lendable(holding, asked)
    before = get_holding(snapshot, "t")
    # the first of the largest sets, in the order of sizes and ids
    kept = [group for group in iterate_subsets(asked) if get_holding(snapshot, "t", group) == before]
    most = max(len(group) for group in kept)
    assert lent == min(tuple(sorted(group)) for group in kept if len(group) == most)
