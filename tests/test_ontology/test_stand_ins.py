"""Who can stand in: own team first, then other teams, nobody absent, and what they would leave behind."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import ON
from small_team import assess, build_team, build_team_rows

from ontology.analysis.places.stand_ins import StandInsResult, find_stand_ins
from ontology.errors import InputError, UnknownIdError


def build_rows() -> dict[str, list[dict[str, Any]]]:
    """Team t: p (day) and r (night) hold a, s (night) does not; team u: v and w hold a, v alone b, x is absent."""
    rows = build_team_rows(p={"a": 3}, r={"a": 2, "c": 1}, s={"a": 1}, v={"a": 2, "b": 2}, w={"a": 4}, x={"a": 5})
    rows["teams"].append({"id": "u", "label": "Other"})
    rows["shifts"] = [{"id": i, "team": "t", "label": i} for i in ("day", "night")]
    shifts = {"p": "day", "r": "night", "s": "night"}
    for row in rows["people"]:
        row |= {"team": "t" if row["id"] in shifts else "u", "shift": shifts.get(row["id"], "")}
    rows["absences"] = [{"person": "x", "from_date": ON, "to_date": ON}]
    rows["cover_needs"] = [
        {"team": "t", "competency": "a", "level": 2, "applies": "day"},
        {"team": "t", "competency": "c", "level": 1, "applies": "night"},
        {"team": "u", "competency": "b", "level": 1},
    ]
    rows["roles"] = [{"id": "hand", "label": "Hand"}, {"id": "guest", "label": "Guest"}]
    rows["requirements"] = [
        {"role": "hand", "competency": "a", "level": 2},
        {"role": "hand", "competency": "c", "level": 5, "necessity": "desirable"},
        {"role": "guest", "competency": "c", "level": 5, "necessity": "desirable"},
    ]
    rows["places"] = [{"id": "post", "team": "t", "role": "hand", "shift": "day"}]
    return rows


def ask(**more: Any) -> StandInsResult:
    rows = build_rows()
    for name in ("places",):
        rows[name] = more.pop(name, rows[name])
    return find_stand_ins(build_team(rows), "t", ON, **more)


def test_own_team_comes_first_and_absent_people_not_at_all() -> None:
    (need,) = ask(person_id="p").needs
    assert [(row.person, row.team, row.is_own_team) for row in need.stand_ins] == [
        ("r", "t", True),
        ("v", "u", False),
        ("w", "u", False),
    ]
    assert (need.depth, need.depth_without, need.is_short_without, need.found) == (1, 0, True, 3)
    assert not any(row.counts_already for row in need.stand_ins)
    (basis,) = need.stand_ins[1].levels
    assert (basis.competency, basis.have, basis.source, (ON - basis.assessed_on).days) == ("a", 2, "assessor", 30)


def test_own_team_comes_first_whatever_the_others_are_called() -> None:
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, r={"a": 2})
    rows["teams"].append({"id": "early", "label": "Early"})
    rows["people"][1]["team"] = "early"
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 2}]
    (need,) = find_stand_ins(build_team(rows), "t", ON, person_id="p").needs
    assert [row.person for row in need.stand_ins] == ["r", "q"]


def test_what_they_leave_behind_is_told() -> None:
    (need,) = ask(person_id="p").needs
    # r is the only one with c on the night shift, v the only one with b in the other team, w leaves nothing
    left = [[(f.competency, f.shift) for f in row.leaves_needs] for row in need.stand_ins]
    assert left == [[("c", "night")], [("b", None)], []]


def test_who_stays_in_the_team_leaves_what_would_not_hold_there_without_them_too() -> None:
    rows = build_rows()
    rows["cover_needs"].append({"team": "t", "competency": "c", "level": 1, "applies": "team"})
    (need,) = find_stand_ins(build_team(rows), "t", ON, person_id="p").needs
    first = need.stand_ins[0]
    assert [(f.competency, f.applies) for f in first.leaves_needs] == [("c", "night"), ("c", "team")]
    assert (first.person, first.is_other_shift, first.counts_already, first.is_same_slot) == ("r", True, False, False)


def test_slots_that_nobody_else_fills_are_left_behind_and_keep_people_from_being_lent() -> None:
    """v and w fill a group of two in their team: neither can go. Of three there one can be lent, the first by id."""
    rows = build_rows()
    rows["cover_needs"].append({"team": "u", "competency": "a", "level": 2, "minimum": 2, "together": "g"})
    rows["absences"] = []
    (need,) = find_stand_ins(build_team(rows), "t", ON, person_id="p").needs
    assert [(lent.team, lent.qualified, lent.could_be_lent) for lent in need.lending] == [("u", 3, ("w",))]
    (need,) = find_stand_ins(build_team(rows), "t", ON, person_id="p", away=frozenset({"x"})).needs
    assert [lent.could_be_lent for lent in need.lending] == [()]
    left = {row.person: [(n.together, n.slots) for n in row.leaves_together] for row in need.stand_ins}
    assert left == {"r": [], "v": [("g", 1)], "w": [("g", 1)]}


def test_who_has_the_very_slot_already_is_told_apart() -> None:
    rows = build_rows()
    rows["people"][1]["shift"] = "day"
    rows["places"] = [{"id": "post", "team": "t", "role": "hand", "shift": "day", "count": 2}]
    (place,) = find_stand_ins(build_team(rows), "t", ON, person_id="p").places
    assert [(row.person, row.is_same_slot, row.leaves_places) for row in place.stand_ins] == [
        ("r", True, ("post",)),
        ("v", False, ()),
        ("w", False, ()),
    ]


def test_slot_of_another_place_is_not_the_same_slot() -> None:
    rows = build_rows()
    rows["people"][1]["shift"] = "day"
    rows["places"] = [{"id": i, "team": "t", "role": "hand", "shift": "day"} for i in ("other", "post")]
    other, post = find_stand_ins(build_team(rows), "t", ON, person_id="p").places
    assert [place.stand_ins[0].is_same_slot for place in (other, post)] == [False, True]


def test_level_that_nobody_needs_without_supervision_is_met_by_who_was_never_assessed() -> None:
    rows = build_rows()
    rows["requirements"].append({"role": "hand", "competency": "b", "level": 2, "unsupervised_level": 0})
    rows["requirements"][-1]["entry_level"] = 0
    (place,) = find_stand_ins(build_team(rows), "t", ON, person_id="p").places
    assert [row.person for row in place.stand_ins] == ["r", "v", "w"]


def test_places_the_person_can_fill_are_looked_at_too() -> None:
    (place,) = ask(person_id="p").places
    assert (place.place, place.is_empty_without, place.found) == ("post", True, 3)
    assert [row.person for row in place.stand_ins] == ["r", "v", "w"]
    assert [level.competency for level in place.stand_ins[0].levels] == ["a"]


def test_place_that_asks_for_nothing_lists_the_team_only() -> None:
    result = ask(person_id="p", places=[{"id": "door", "team": "t", "role": "guest"}])
    (place,) = result.places
    assert [row.person for row in place.stand_ins] == ["r", "s"]
    assert place.stand_ins[0].counts_already
    assert result.remarks == ("Place door asks for no blocking or essential level: only the team is listed.",)


def test_need_can_be_asked_for_in_place_of_a_person() -> None:
    result = ask(competency_id="a")
    (need,) = result.needs
    assert (result.person, result.competency, result.level) == (None, "a", None)
    assert [(row.person, row.counts_already) for row in need.stand_ins] == [
        ("p", True),
        ("r", False),
        ("v", False),
        ("w", False),
    ]
    assert (need.depth_without, need.is_short_without) == (1, False)
    assert result.places == ()
    assert ask(competency_id="a", level=2).needs == result.needs


def test_away_people_do_not_stand_in_and_others_still_do() -> None:
    (need,) = ask(person_id="p", away=frozenset({"p", "w"})).needs
    assert [row.person for row in need.stand_ins] == ["r", "v"]
    assert (need.depth, need.depth_without, need.state) == (0, 0, "short")


def test_away_people_fill_no_place_of_another_team_either() -> None:
    (place,) = ask(person_id="p", away=frozenset({"w"})).places
    assert [row.person for row in place.stand_ins] == ["r", "v"]


def test_only_the_first_are_told_and_all_are_counted() -> None:
    (need,) = ask(person_id="p", limit=1).needs
    assert ([row.person for row in need.stand_ins], need.found) == (["r"], 3)


def test_person_without_a_team_stands_in_and_leaves_nothing() -> None:
    rows = build_rows()
    rows["people"].append({"id": "z", "name": "z"})
    rows["assessments"].append(assess("z", "a", 2))
    (need,) = find_stand_ins(build_team(rows), "t", ON, person_id="p").needs
    assert [(row.person, row.team, row.leaves_needs) for row in need.stand_ins if not row.team] == [("z", "", ())]


@pytest.mark.parametrize(
    "question",
    [
        {},
        {"person_id": "p", "competency_id": "a"},
        {"person_id": "p", "level": 2},
        {"person_id": "v"},
        {"competency_id": "b"},
        {"competency_id": "a", "level": 3},
    ],
)
def test_wrong_questions_are_refused(question: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        ask(**question)


@pytest.mark.parametrize("question", [{"person_id": "nobody"}, {"competency_id": "nothing"}])
def test_unknown_ids_are_named(question: dict[str, Any]) -> None:
    with pytest.raises(UnknownIdError):
        ask(**question)
