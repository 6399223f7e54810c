"""What a plan says of its last day, asked of the gap on that day with the plan's outcomes; dates are the same."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from asking import PERSON, answer, find, tell
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON, build_competencies, build_scale, build_snapshot

from api.json_text import to_json
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.levels import get_level
from ontology.model.records import Assessment
from ontology.model.validity import fill_valid_until
from ontology.snapshot.snapshot import Snapshot

SOME = settings(max_examples=draws(60), deadline=None)


def build_company(seed: int) -> Snapshot:
    """Return p and a role r: certificates that lapse, refreshers, full courses, blocks, a first and a last day."""
    rng = random.Random(seed)
    skills, cards = "ab", "cd"
    competencies = build_competencies(" ".join(skills))
    for i in cards:
        competencies += build_competencies(
            i,
            kind="certificate",
            validity_months=rng.choice([None, 1, 3, 24]),
            refresher_months=rng.choice([None, 0, 2]),
        )
    courses = [
        {
            "id": f"k{n}",
            "label": f"K{n}",
            "hours": rng.choice([0.0, 2.0, 8.0, 20.0]),
            "weeks": rng.choice([None, None, 1.0, 6.0]),
            "method": rng.choice(["", "workshop"]),
            "lead_weeks": rng.choice([0.0, 0.0, 2.0]),
        }
        for n in range(7)
    ]
    outcomes = {}
    for n in range(7):
        for i in rng.sample(skills + cards, rng.choice([1, 1, 2])):
            renews = i in cards and rng.random() < 0.5
            outcomes[n, i] = {"course": f"k{n}", "competency": i, "level": rng.randint(1, 2), "renews": renews}
    assessments = []
    for i in skills + cards:
        for _ in range(rng.choice([0, 1, 1, 2])):
            day = ON + timedelta(days=rng.choice([-200, -100, -40, -1, 20, 50]))
            until = day + timedelta(days=rng.choice([30, 60, 110, 220])) if i in cards else None
            source = "certificate" if i in cards else "assessor"
            row = {"person": "p", "competency": i, "level": rng.randint(1, 2), "date": day, "source": source}
            assessments.append(row | {"valid_until": until})
    person: dict[str, Any] = {"id": "p", "name": "P", "role": rng.choice(["", "r"]), "study_hours_per_week": 4.0}
    person["start_date"] = rng.choice([None, None, ON + timedelta(days=30)])
    person["end_date"] = rng.choice([None, None, ON + timedelta(days=60)])
    return build_snapshot(
        scales=build_scale(n=2),
        competencies=competencies,
        roles=[{"id": "r", "label": "R"}],
        requirements=[
            {"role": "r", "competency": i, "level": rng.randint(1, 2), "weight": 1 + n}
            for n, i in enumerate(skills + cards)
            if rng.random() < 0.8
        ],
        courses=courses,
        outcomes=list(outcomes.values()),
        entry_conditions=[
            {"course": f"k{n}", "competency": rng.choice(skills + cards), "level": 1}
            for n in range(7)
            if rng.random() < 0.3
        ],
        people=[person],
        assessments={(a["competency"], a["date"], a["level"]): a for a in assessments}.values(),
    )


COMPANIES = st.integers(0, 10**9).map(build_company)


def ask_gap(after: Snapshot, day: date, targets: dict[str, int]) -> tuple[float | None, str, bool]:
    gap = compute_gap(after, "r", person_id="p", on=day)
    levels = {row.competency: row.have or 0 for row in gap.gaps}
    return gap.readiness, gap.standing, all(levels[i] >= level for i, level in targets.items())


@SOME
@given(COMPANIES)
def test_what_a_schedule_and_a_plan_say_of_their_last_day_is_the_gap_on_it(snapshot: Snapshot) -> None:
    plan = find(snapshot, "development-plan", PERSON, "p", role="r", on=ON, at_once=2)
    schedule = plan.schedule
    day = schedule.finish or ON
    after = with_outcomes(snapshot, [("p", course.id, course.last_day) for course in schedule.courses])
    targets = {r.competency: r.level for r in snapshot.get_requirements("r") if r.necessity != "desirable"}
    told = (schedule.readiness_after, schedule.standing_after, schedule.is_target_reached)
    assert told == ask_gap(after, day, targets)
    person = snapshot.people["p"]
    for course in schedule.courses:
        assert person.start_date is None or course.first_day >= person.start_date
        assert person.end_date is None or course.last_day <= person.end_date
    for row in schedule.missing:
        assert (get_level(after, "p", snapshot.competencies[row.competency], day).level or 0) == row.reached < row.level
    assert bool(schedule.missing) is not schedule.is_target_reached


@SOME
@given(COMPANIES)
def test_what_a_path_says_of_its_last_day_is_the_gap_on_it(snapshot: Snapshot) -> None:
    path = find(snapshot, "learning-path", PERSON, "p", role="r", on=ON, alternatives=0)
    assert path.last_day is not None
    # each outcome the path counts on, plainly as an assessment; of one competency the highest
    best: dict[tuple[str, bool], Assessment] = {}
    for course_id in path.order:
        for outcome in snapshot.get_outcomes(course_id):
            competency = snapshot.competencies[outcome.competency]
            days = (ON, path.last_day)
            known = [get_level(snapshot, "p", competency, day) for day in days]
            held = max(max(k.level or 0, k.renewable_level) for k in known)
            if outcome.renews and held < outcome.level:
                continue
            source = "certificate" if competency.is_certificate else "assessor"
            row = Assessment("p", competency.id, outcome.level, path.last_day, source, None, "", None, "", None)
            key = competency.id, competency.is_certificate
            if key not in best or best[key].level < row.level:
                best[key] = fill_valid_until(row, competency)
    added = [
        row
        for row in best.values()
        if snapshot.competencies[row.competency].is_certificate
        or (get_level(snapshot, "p", snapshot.competencies[row.competency], path.last_day).level or 0) <= row.level
    ]
    after = snapshot.with_changes(("assessments", row) for row in added)
    told = (path.readiness_after, path.standing_after, path.is_target_reached)
    assert told == ask_gap(after, path.last_day, dict(path.targets))


@SOME
@given(COMPANIES)
def test_what_path_and_schedule_call_a_renewal_is_the_same(snapshot: Snapshot) -> None:
    path = find(snapshot, "learning-path", PERSON, "p", role="r", on=ON, alternatives=0)
    schedule = tell(snapshot, "schedule", PERSON, "p", role="r", on=ON)
    keepers = {row.competency: row.renewed_by for row in path.lapses}
    for row in schedule["lapsing"]:
        if row["competency"] in keepers and row["renewal"]:
            assert row["renewal"] in keepers[row["competency"]]
        # what is left out of the plan makes nothing possible
        if row["reason"].startswith("No course renews it") and not schedule["left_out"]:
            assert not keepers.get(row["competency"])


@SOME
@given(COMPANIES)
def test_days_of_courses_are_the_same_in_schedule_plan_and_calendar_file(snapshot: Snapshot) -> None:
    schedule = tell(snapshot, "schedule", PERSON, "p", role="r", on=ON)
    told = answer(snapshot, "development-plan", PERSON, "p", role="r", on=ON)
    plan = to_json(told.members)
    days = {row["id"]: (row["first_day"], row["last_day"]) for row in schedule["courses"]}
    assert {step["course"]: (step["first_day"], step["last_day"]) for step in plan["steps"]} == days
    assert {row["id"]: (row["first_day"], row["last_day"]) for row in plan["schedule"]["courses"]} == days
    text = told.enquiry.question.files["ics"].build(told).decode().replace("\r\n ", "")
    blocks = text.split("BEGIN:VEVENT")
    events = [dict(line.split(":", 1) for line in block.splitlines() if ":" in line) for block in blocks]
    written = {
        (event["SUMMARY"], event["DTSTART;VALUE=DATE"], event["DTEND;VALUE=DATE"])
        for event in events
        if event.get("CATEGORIES") in ("Course", "Renewal")
    }
    assert {(first, last) for _, first, last in written} == {
        (first.replace("-", ""), (date.fromisoformat(last) + timedelta(days=1)).strftime("%Y%m%d"))
        for first, last in days.values()
    }
