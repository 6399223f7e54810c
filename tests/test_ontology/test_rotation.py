"""Job rotation of small teams: rows, people, learners, and why there is none."""

from __future__ import annotations

from datetime import timedelta

import pytest
from rotation_cases import place, rotate
from small_company import ON
from small_team import build_team, build_team_rows

from ontology.analysis.rotation.rotation import plan_rotation
from ontology.analysis.rotation.rotation_asked import RotationAsked
from ontology.analysis.rotation.rotation_reasons import RotationLapse


def test_learner_stands_beside_an_able_holder_for_the_practice_wanted() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 1})
    result = rotate(rows, more={"places": [place("x")]}, intervals=3, practice=2)
    assert (result.status, result.moves, result.lower_bound) == ("optimal", 0, 0)
    assert [(row.interval, row.place, row.person) for row in result.rows] == [
        (1, "x", "p"),
        (2, "x", "p"),
        (3, "x", "p"),
    ]
    (learner,) = result.learners
    assert (learner.person, learner.place, learner.wanted, learner.beside) == ("q", "x", 2, ("p",))
    assert len(learner.intervals) == 2
    assert [row.interval for row in result.rows if row.learners == ("q",)] == list(learner.intervals)
    people = {person.person: person for person in result.people}
    assert (people["p"].intervals_held, people["p"].strain, people["p"].places) == (3, 9, ("x",))
    assert (people["q"].intervals_held, people["q"].intervals_learning, people["q"].strain) == (0, 2, 6)


def test_learner_who_is_able_elsewhere_is_relieved_there() -> None:
    """q holds y unless r does; to learn x, q must be free of it."""
    rows = build_team_rows(p={"a": 3}, q={"a": 1, "b": 2}, r={"b": 2})
    places = [place("x"), place("y", "rb")]
    result = rotate(rows, more={"places": places}, learners=frozenset({("q", "x")}), intervals=2)
    assert result.status == "optimal"
    for row in result.rows:
        assert row.person != "q" or row.interval not in result.learners[0].intervals
    alone = build_team_rows(p={"a": 3}, q={"a": 1, "b": 2})
    none = rotate(alone, more={"places": places}, learners=frozenset({("q", "x")}), intervals=2)
    assert none.status == "infeasible"
    assert [(reason.rule, reason.people, reason.places) for reason in none.reasons] == [("practice", ("q",), ("x",))]


def test_keep_current_gives_everyone_able_the_practice_in_every_role() -> None:
    rows = build_team_rows(p={"a": 3, "b": 2}, q={"a": 3, "b": 2})
    places = [place("x"), place("y", "rb", strain=1)]
    result = rotate(rows, "keep-current", {"places": places}, intervals=4, practice=2)
    assert (result.status, result.moves) == ("optimal", 2)
    for person in result.people:
        assert [(row.role, row.wanted, row.held) for row in person.practice] == [("ra", 2, 2), ("rb", 2, 2)]
        assert (person.strain, person.moves) == (2 * 3 + 2 * 1, 1)


def test_four_people_and_four_places_make_a_latin_square() -> None:
    """Each place once for each of four: a Latin square of order 4 (Euler 1782, from memory), 12 moves of 4 times 3."""
    roles = [{"id": f"r{n}", "label": f"r{n}"} for n in range(4)]
    rows = build_team_rows(**{p: {"a": 3} for p in "pqrs"})
    snapshot = build_team(
        rows,
        roles=roles,
        requirements=[{"role": role["id"], "competency": "a", "level": 3} for role in roles],
        places=[place(f"x{n}", f"r{n}") for n in range(4)],
    )
    result = plan_rotation(snapshot, "t", RotationAsked("keep-current", ON, ON, intervals=4))
    assert (result.status, result.moves, result.lower_bound) == ("optimal", 12, 12)
    square = {(row.person, row.interval): row.place for row in result.rows}
    for n in range(4):
        assert (
            {square["pqrs"[n], t] for t in range(1, 5)}
            == {square[p, n + 1] for p in "pqrs"}
            == {"x0", "x1", "x2", "x3"}
        )


def test_more_holders_than_the_places_can_keep_current_are_told() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3}, r={"a": 3})
    result = rotate(rows, "keep-current", {"places": [place("x")]}, intervals=4, practice=2)
    assert (result.status, result.rows, result.moves, result.largest_strain) == ("infeasible", (), None, None)
    ceiling = result.reasons[0]
    assert (ceiling.rule, ceiling.interval, ceiling.people, ceiling.missing) == ("practice", None, ("p", "q", "r"), 2)
    assert "more holders than the places can keep current" in ceiling.reason
    assert sum(reason.missing for reason in result.reasons[1:]) == 2


def test_as_much_practice_as_is_wanted_is_not_too_little() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3})
    result = rotate(rows, "keep-current", {"places": [place("x")]}, intervals=2, minimum_stay=2)
    assert result.status == "infeasible"
    assert all(reason.missing > 0 for reason in result.reasons)


@pytest.mark.parametrize(("occasions", "posts", "wanted"), [(None, 1, 1), (26.0, 1, 3), (13.0, 1, 6), (52.0, 2, 3)])
def test_practices_a_year_become_intervals_by_the_occasions_there_are(
    occasions: float | None, posts: int, wanted: int
) -> None:
    """24 weeks: 6 a year are 2.8 practices, 4 an interval (one a week); 13 are 6.0, with 2.0, 1.0, 2.0 an interval."""
    rows = build_team_rows(p={"a": 3}, q={"a": 3}) if posts == 2 else build_team_rows(p={"a": 3})
    rows["competencies"][0]["practices_per_year"] = 13.0 if occasions else 6.0
    needs = [{"team": "t", "competency": "a", "level": 3, "occasions_per_year": occasions}] if occasions else []
    result = rotate(rows, "keep-current", {"places": [place("x", count=posts)], "cover_needs": needs})
    for person in result.people:
        assert [(row.role, row.wanted) for row in person.practice] == [("ra", wanted)]
    assert len(result.people) == posts
    assert any("practices a year" in remark for remark in result.remarks)


def test_strain_is_spread_as_evenly_as_abilities_allow() -> None:
    rows = build_team_rows(p={"a": 3, "b": 2}, q={"a": 3, "b": 2}, r={"b": 2})
    places = [place("x", strain=5), place("y", "rb", strain=1)]
    result = rotate(rows, "relieve-strain", {"places": places}, intervals=4)
    assert (result.largest_strain, result.strain_lower_bound) == (10, 10)
    assert (result.status, result.moves) == ("optimal", result.lower_bound)
    assert sorted(person.strain for person in result.people)[-2:] == [10, 10]


def test_absent_people_are_not_planned_and_their_return_is_a_move() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3})
    rows["absences"] = [
        {"person": "p", "from_date": ON + timedelta(days=27), "to_date": ON + timedelta(days=28)},
        {"person": "q", "from_date": ON + timedelta(days=60), "to_date": ON + timedelta(days=60)},
    ]
    result = rotate(rows, "relieve-strain", {"places": [place("x")]}, intervals=3)
    assert [row.person for row in result.rows] == ["q", "q", "p"]
    assert {person.person: person.not_there for person in result.people} == {"p": (1, 2), "q": (3,)}
    assert result.moves == 1


def test_too_few_able_people_name_interval_places_people_absence_and_lapse() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3}, r={"a": 3})
    rows["absences"] = [{"person": "p", "from_date": ON, "to_date": ON}]
    rows["assessments"][1]["valid_until"] = ON + timedelta(days=10)
    rows["competencies"][0]["expiry"] = "hard"
    question = {"places": [place("x", count=2)]}
    result = rotate(rows, "relieve-strain", question, intervals=2, start=ON)
    first = result.reasons[0]
    assert (first.rule, first.interval, first.places, first.people, first.missing) == (
        "able-people",
        1,
        ("x", "x"),
        ("r",),
        1,
    )
    assert (first.not_there, first.lapsed) == (("p",), (RotationLapse("q", "a"),))
    renewed = rotate(rows, "relieve-strain", question, intervals=2, start=ON, has_renewals=True)
    assert renewed.status == "optimal"
    assert any("Taken as renewed" in remark and "q a" in remark for remark in renewed.remarks)


def test_a_lapse_is_named_in_the_intervals_after_it_only() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3})
    rows["assessments"][1]["valid_until"] = ON + timedelta(days=40)
    rows["competencies"][0]["expiry"] = "hard"
    result = rotate(rows, "relieve-strain", {"places": [place("x", count=3)]}, intervals=2)
    assert [(reason.interval, reason.lapsed) for reason in result.reasons] == [(1, ()), (2, (RotationLapse("q", "a"),))]


def test_people_are_there_only_when_employed_on_all_days() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3})
    rows["people"][0]["end_date"] = ON + timedelta(days=30)
    rows["people"][1]["start_date"] = ON + timedelta(days=28)
    result = rotate(rows, "learn", {"places": [place("x")]}, intervals=2)
    assert ([row.person for row in result.rows], result.moves) == (["p", "q"], 1)


def test_stays_are_kept_and_the_rule_that_cannot_be_is_named() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3})
    asked = {"intervals": 4, "minimum_stay": 2, "maximum_stay": 2}
    result = rotate(rows, "relieve-strain", {"places": [place("x")]}, **asked)
    assert [row.person for row in result.rows] in (["p", "p", "q", "q"], ["q", "q", "p", "p"])
    alone = rotate(build_team_rows(p={"a": 3}), "relieve-strain", {"places": [place("x")]}, **asked)
    (reason,) = alone.reasons
    assert (reason.rule, reason.interval, reason.people, reason.missing) == ("maximum-stay", 1, ("p",), 2)
    assert "from interval 1 to 4" in reason.reason
    rows["absences"] = [{"person": "p", "from_date": ON + timedelta(days=40), "to_date": ON + timedelta(days=40)}]
    rows["absences"] += [{"person": "q", "from_date": ON, "to_date": ON}]
    short = rotate(rows, "relieve-strain", {"places": [place("x")]}, intervals=3, minimum_stay=2)
    assert {reason.rule for reason in short.reasons} == {"minimum-stay"}
    assert [(reason.interval, reason.people) for reason in short.reasons] == [(1, ("p",))]


def test_who_lacks_something_blocking_may_not_begin_and_is_told() -> None:
    rows = build_team_rows(p={"a": 3}, q={"b": 1})
    result = rotate(rows, more={"places": [place("x")]}, intervals=2)
    assert result.learners == ()
    assert result.remarks == ("q may not begin at any place: something blocking is missing, the least at x: a.",)
    named = rotate(rows, more={"places": [place("x")]}, intervals=2, learners=frozenset({("q", "x")}))
    assert named.status == "infeasible"
    assert "q can begin at x in no interval" in named.reasons[0].reason


def test_learners_take_the_place_they_lack_least_for() -> None:
    rows = build_team_rows(p={"a": 3}, r={"b": 2}, q={"a": 1, "b": 1})
    result = rotate(rows, more={"places": [place("x"), place("y", "rb")]}, intervals=1)
    assert [(learner.person, learner.place) for learner in result.learners] == [("q", "y")]


def test_place_of_a_shift_is_for_its_people_only() -> None:
    rows = build_team_rows(e={"a": 3}, l={"a": 3})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late")]
    rows["people"][0]["shift"], rows["people"][1]["shift"] = "early", "late"
    result = rotate(rows, "relieve-strain", {"places": [place("x", shift="late")]}, intervals=2)
    assert [(row.person, row.shift) for row in result.rows] == [("l", "late"), ("l", "late")]


def test_who_stays_keeps_the_post_and_learners_their_holder() -> None:
    """q stays all three intervals, p and r relieve each other; s learns in 1 and 2, w in 2 and 3."""
    rows = build_team_rows(p={"a": 3}, q={"a": 3}, r={"a": 3}, s={"a": 1}, w={"a": 1})
    days = {"p": 30, "r": 0, "s": 60, "w": 0}
    rows["absences"] = [
        {"person": person, "from_date": ON + timedelta(days=day), "to_date": ON + timedelta(days=day)}
        for person, day in days.items()
    ]
    result = rotate(rows, more={"places": [place("x", count=2)]}, intervals=3, practice=2)
    assert (result.status, result.moves) == ("optimal", 2), "r at the place, w beside it"
    posts: dict[str, set[int]] = {}
    for row in result.rows:
        posts.setdefault(row.person, set()).add(row.slot)
    assert all(len(slots) == 1 for slots in posts.values())
    learners = {learner.person: learner for learner in result.learners}
    assert (learners["s"].intervals, learners["w"].intervals) == ((1, 2), (2, 3))
    assert len(learners["w"].beside) == 1


def test_no_more_learners_than_holders_at_a_time() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 1}, r={"a": 1})
    once = rotate(rows, more={"places": [place("x")]}, intervals=1)
    assert [(reason.rule, reason.missing) for reason in once.reasons] == [("practice", 1)]
    twice = rotate(rows, more={"places": [place("x")]}, intervals=2)
    assert sorted(learner.intervals for learner in twice.learners) == [(1,), (2,)]


def test_nobody_learns_in_an_interval_in_which_they_are_able() -> None:
    """q is able in 1 and away in 2, so there is one interval to learn in and two are wanted."""
    rows = build_team_rows(p={"b": 2}, q={"b": 2})
    rows["assessments"][1]["valid_until"] = ON + timedelta(days=30)
    rows["competencies"][1]["expiry"] = "hard"
    rows["absences"] = [{"person": "q", "from_date": ON + timedelta(days=40), "to_date": ON + timedelta(days=40)}]
    asked = {"learners": frozenset({("q", "y")}), "intervals": 3}
    one = rotate(rows, more={"places": [place("y", "rb")]}, **asked)
    assert [learner.intervals for learner in one.learners] == [(3,)]
    two = rotate(rows, more={"places": [place("y", "rb")]}, practice=2, **asked)
    assert [(reason.rule, reason.missing) for reason in two.reasons] == [("practice", 1)]
