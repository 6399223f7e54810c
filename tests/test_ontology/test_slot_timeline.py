"""Places and groups over time, worked out by hand: what is unfilled when, since when, and who could close it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from small_company import ON, build_competencies, build_scale
from small_team import build_team

from ontology.analysis.outlook.cover_timeline import CoverTimelineResult, compute_cover_timeline

LAST = date(2027, 5, 25)


def day(text: str) -> date:
    return date.fromisoformat(text)


def hold(person: str, competency: str, until: str | None = None, since: str = "2026-01-31") -> dict[str, Any]:
    source = "certificate" if competency == "card" else "assessor"
    end = day(until) if until else None
    return {
        "person": person,
        "competency": competency,
        "level": 1,
        "date": day(since),
        "source": source,
        "valid_until": end,
    }


def build_rows(*people: str, **place: Any) -> dict[str, list[dict[str, Any]]]:
    return {
        "scales": build_scale(),
        "competencies": [
            *build_competencies("card", kind="certificate", refresher_months=6),
            *build_competencies("skill"),
        ],
        "teams": [{"id": "t", "label": "Team"}],
        "people": [{"id": p, "name": p.upper(), "team": "t"} for p in people],
        "roles": [{"id": "hand", "label": "Hand"}, {"id": "help", "label": "Help"}],
        "requirements": [
            {"role": "hand", "competency": "card", "level": 1},
            {"role": "hand", "competency": "skill", "level": 1},
            {"role": "help", "competency": "skill", "level": 1},
        ],
        "places": [{"id": "post", "team": "t", "role": "hand"} | place],
        "courses": [
            {"id": "renew", "label": "Renewal", "hours": 4.0, "weeks": 1.0, "lead_weeks": 3.0},
            {"id": "full", "label": "Full course", "hours": 24.0, "weeks": 6.0},
            {"id": "basics", "label": "Basics", "hours": 20.0},
        ],
        "outcomes": [
            {"course": "renew", "competency": "card", "level": 1, "renews": True},
            {"course": "full", "competency": "card", "level": 1},
            {"course": "basics", "competency": "skill", "level": 1},
        ],
    }


def ask(rows: dict[str, list[dict[str, Any]]], **more: Any) -> CoverTimelineResult:
    away = more.pop("away", frozenset())
    return compute_cover_timeline(build_team(rows, **more), "t", ON, to_date=LAST, away=away)


def test_place_is_unfilled_when_the_only_able_person_lapses_and_they_renew_it() -> None:
    result = ask(build_rows("p", "q"), assessments=[hold("p", "card", "2027-01-31"), hold("p", "skill")])
    (row,) = result.slots
    assert (row.kind, row.place, row.role, row.slots, row.criticality) == ("place", "post", "hand", 1, None)
    assert [(i.from_date, i.filled, i.state, i.able) for i in row.intervals] == [
        (ON, 1, "filled", ("p",)),
        (day("2027-02-01"), 0, "unfilled", ()),
    ]
    (change,) = result.changes
    assert (change.on, change.kind, change.place, change.competency) == (day("2027-02-01"), "place", "post", None)
    assert (change.from_state, change.to_state, change.from_depth, change.to_depth) == ("filled", "unfilled", 1, 0)
    assert [(cause.person, cause.what) for cause in change.causes] == [("p", "lapses")]
    (hole,) = row.holes
    assert (hole.from_date, hole.is_open, hole.is_late) == (day("2027-02-01"), True, False)
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.kind, hole.mend.courses) == ("p", "renewal", ("renew",))
    assert hole.last_day_to_act == day("2027-01-04")
    (act,) = result.acts
    assert (act.kind, act.place, act.person, act.last_day_to_act) == ("place", "post", "p", day("2027-01-04"))


def test_whole_path_to_a_role_is_told_with_what_is_held_of_it() -> None:
    rows = build_rows("p", "q")
    rows["people"][0]["end_date"] = day("2027-01-31")
    rows["competencies"] += build_competencies("wish")
    rows["requirements"].append({"role": "hand", "competency": "wish", "level": 1, "necessity": "desirable"})
    assessments = [hold("p", "card"), hold("p", "skill")]
    (row,) = ask(rows, assessments=assessments).slots
    mend = row.holes[0].mend
    assert mend is not None
    assert (mend.person, mend.kind, set(mend.courses)) == ("q", "learning", {"full", "basics"})
    assert [(m.competency, m.level, m.have) for m in mend.levels] == [("card", 1, None), ("skill", 1, None)]
    # six weeks and half a week of working time, one after the other
    assert (mend.weeks, mend.last_day_to_act) == (6.5, day("2027-02-01") - timedelta(days=46))


def test_what_is_renewed_in_part_and_learned_for_the_rest_is_learning() -> None:
    (row,) = ask(build_rows("p"), assessments=[hold("p", "card", "2026-10-31")]).slots
    mend = row.holes[0].mend
    assert mend is not None
    assert (mend.kind, set(mend.courses)) == ("learning", {"renew", "basics"})


def test_empty_place_tells_since_when_it_is_empty() -> None:
    rows = build_rows("p", "q")
    rows["people"][0]["end_date"] = day("2026-10-31")
    (row,) = ask(rows, assessments=[hold("p", "card"), hold("p", "skill")]).slots
    (hole,) = row.holes
    assert (hole.from_date, hole.is_begin_known) == (day("2026-11-01"), True)
    assert [(cause.person, cause.what) for cause in hole.causes] == [("p", "leaves")]
    (row,) = ask(build_rows("p")).slots
    assert (row.holes[0].from_date, row.holes[0].is_begin_known) == (ON, False)


def test_who_is_supposed_away_leaves_slots_of_groups_unfilled_from_the_first_day() -> None:
    needs = [{"team": "t", "competency": c, "level": 1, "together": "g", "criticality": 5} for c in ("card", "skill")]
    rows = build_rows("p", "q") | {"places": [], "cover_needs": needs}
    more = {"assessments": [hold(p, c) for p in "pq" for c in ("card", "skill")]}
    assert [hole for row in ask(rows, **more).slots for hole in row.holes] == []
    result = ask(rows, away=frozenset({"q"}), **more)
    assert [need.holes for need in result.needs] == [(), ()]
    assert [(row.kind, row.together, row.competency, len(row.holes)) for row in result.slots] == [
        ("together", "g", "card", 0),
        ("together", "g", "skill", 1),
    ]
    (hole,) = result.slots[1].holes
    assert (hole.from_date, hole.is_begin_known, hole.causes) == (ON, True, ())
    assert (
        hole.reason == "Nobody else is there who could learn it: stand-ins of other teams, or another person, are left."
    )


def test_who_holds_a_slot_for_which_another_is_ready_could_close_the_hole() -> None:
    """p helps, r could help too; p has the skill already and needs the card only: p is done sooner than r."""
    rows = build_rows("p", "r")
    rows["places"].append({"id": "side", "team": "t", "role": "help"})
    rows["courses"].append({"id": "long", "label": "Long", "hours": 400.0})
    rows["outcomes"].append({"course": "long", "competency": "card", "level": 1})
    assessments = [hold("p", "skill"), hold("r", "skill"), hold("p", "card", "2026-10-31")]
    post, side = ask(rows, assessments=assessments).slots
    assert [interval.filled for interval in side.intervals] == [1]
    assert post.holes[0].mend is not None
    assert (post.holes[0].mend.person, post.holes[0].mend.kind) == ("p", "renewal")


def test_two_holes_at_a_time_are_closed_by_two_people() -> None:
    rows = build_rows("p", "q", count=2)
    result = ask(rows, assessments=[hold(p, "skill") for p in "pq"])
    mends = [hole.mend.person for hole in result.slots[0].holes if hole.mend is not None]
    assert ([hole.lacking for hole in result.slots[0].holes], sorted(mends)) == ([1, 2], ["p", "q"])


def test_place_of_a_role_that_asks_for_nothing_stays_empty_with_the_reason() -> None:
    rows = build_rows("p")
    rows["roles"].append({"id": "none", "label": "None"})
    rows["places"][0]["role"] = "none"
    (row,) = ask(rows).slots
    assert row.holes[0].reason == "The role has no requirements, so nobody counts as able."


def test_place_that_everyone_can_fill_is_unfilled_when_nobody_is_there() -> None:
    rows = build_rows("p")
    rows["requirements"] = [{"role": "hand", "competency": "card", "level": 1, "necessity": "desirable"}]
    absence = {"person": "p", "from_date": day("2026-12-01"), "to_date": day("2026-12-03")}
    (row,) = ask(rows, absences=[absence]).slots
    assert [(interval.from_date, interval.filled) for interval in row.intervals] == [
        (ON, 1),
        (day("2026-12-01"), 0),
        (day("2026-12-04"), 1),
    ]


def test_causes_of_a_place_are_those_of_whoever_had_to_move_too() -> None:
    """p has the post and q helps; q leaves, p moves over to help: the post is empty since nobody else has the card."""
    rows = build_rows("p", "q")
    rows["places"] = [
        {"id": "a-help", "team": "t", "role": "help"},
        {"id": "post", "team": "t", "role": "hand"},
    ]
    rows["people"][1]["end_date"] = day("2026-12-31")
    assessments = [hold("p", "card"), hold("p", "skill"), hold("q", "skill")]
    result = ask(rows, assessments=assessments)
    (change,) = result.changes
    assert (change.place, [(cause.person, cause.what) for cause in change.causes]) == ("post", [("q", "leaves")])


def test_who_closes_another_hole_gives_nobody_a_slot_to_move_to() -> None:
    """q is to help too: r then keeps the group's slot, and fills no slot more by learning what q learns."""
    need = {"team": "t", "competency": "card", "level": 1, "together": "g"}
    rows = build_rows("p", "q", "r", role="help", count=3) | {"cover_needs": [need]}
    post, group = ask(rows, assessments=[hold("p", "skill"), hold("q", "card"), hold("r", "card")]).slots
    assert [hole.mend and hole.mend.person for hole in post.holes] == ["q", None]
    assert group.holes == ()
