"""What is counted of a company: people once, teams as they belong on the day or on their first one."""

from __future__ import annotations

from datetime import date
from typing import Any

from first_aid import ON, ROWS, build

from ontology.analysis.obligations.company_dues import count_company_obligations
from ontology.analysis.obligations.due_lists import find_team_obligations

D = date


def test_worked_example_is_counted_by_team_and_by_competency() -> None:
    company = count_company_obligations(build(), on=ON)
    (team,) = company.teams
    assert (team.team, team.people, team.people_overdue) == ("crew", 4, 1)
    assert (team.overdue, team.within_30, team.within_60, team.within_90, team.current, team.later) == (
        1,
        2,
        1,
        0,
        0,
        0,
    )
    (competency,) = company.competencies
    assert (competency.competency, competency.people, competency.overdue) == ("first-aid", 4, 1)


def test_who_has_two_things_overdue_counts_once_and_a_competency_at_two_levels_asks_one_person() -> None:
    scales = [{"scale": "held", "rank": rank, "label": f"Level {rank}"} for rank in (1, 2)]
    twice = [*ROWS["obligations"], {"id": "aid-2", "label": "Aid 2", "competency": "first-aid", "level": 2}]
    company = count_company_obligations(build(scales=scales, obligations=twice), on=ON)
    (competency,) = company.competencies
    assert (competency.people, competency.people_overdue, competency.overdue) == (4, 3, 4)
    assert (company.people, company.people_overdue, company.teams[0].people_overdue) == (4, 3, 3)


def test_what_was_assessed_on_the_day_counts_and_the_day_after_does_not() -> None:
    held = {"person": "hired", "competency": "first-aid", "level": 1, "source": "certificate"}
    days = [count_company_obligations(build(assessments=[held | {"date": D(2026, 11, n)}]), on=ON) for n in (16, 17)]
    assert [company.people_overdue for company in days] == [2, 3]


def test_what_is_held_by_what_counts_as_it_is_counted_as_met() -> None:
    competencies = [*ROWS["competencies"], {"id": "nurse", "label": "Nurse", "scale": "held"}]
    held = {"person": "hired", "competency": "nurse", "level": 1, "date": D(2026, 1, 1), "source": "assessor"}
    counts_as = [{"competency": "nurse", "counts_as": "first-aid"}]
    company = count_company_obligations(
        build(competencies=competencies, assessments=[held], equivalences=counts_as), on=ON
    )
    assert (company.people, company.people_overdue, company.competencies[0].current) == (4, 2, 1)


def test_people_stand_in_the_team_of_the_day_or_of_their_first_one() -> None:
    teams = [{"id": i, "label": i} for i in ("crew", "works", "yard")]
    people: list[dict[str, Any]] = [
        {"id": "moved", "name": "M", "team": "crew"},
        {"id": "starts", "name": "S", "team": "crew", "start_date": D(2026, 12, 1)},
        {"id": "nowhere", "name": "N"},
    ]
    memberships = [
        {"person": "moved", "from_date": D(2026, 11, 1), "to_date": D(2026, 11, 30), "team": "works"},
        {"person": "starts", "from_date": D(2026, 12, 1), "to_date": D(2026, 12, 31), "team": "yard"},
    ]
    snapshot = build(teams=teams, people=people, memberships=memberships, assessments=[], absences=[])
    company = count_company_obligations(snapshot, on=ON)
    assert [(team.team, team.people) for team in company.teams] == [(None, 1), ("works", 1), ("yard", 1)]
    told = {team: [row.person for row in find_team_obligations(snapshot, team, on=ON).rows] for team in snapshot.teams}
    assert told == {"crew": [], "works": ["moved"], "yard": ["starts"]}


def test_parts_bring_the_people_of_the_teams_below() -> None:
    teams = [{"id": "crew", "label": "Crew", "part_of": "hall"}, {"id": "hall", "label": "Hall", "part_of": "works"}]
    snapshot = build(teams=[*teams, {"id": "works", "label": "Works"}])
    assert find_team_obligations(snapshot, "works", on=ON).rows == ()
    whole = find_team_obligations(snapshot, "works", on=ON, parts=True)
    assert whole.rows == find_team_obligations(snapshot, "crew", on=ON).rows
    assert {row.team for row in whole.rows} == {"crew"}
