"""The whole search on teams with dates, levelled loads and places: the best of all plans, and sound when cut short."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest
from small_company import ON
from small_team import build_team, build_team_rows
from training_cases import build_state
from training_options import PlainTask, build_training, draw_task, find_best_of_options, get_pairs

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.training.cross_training import TrainingAsked, plan_cross_training
from ontology.analysis.training.learners import TeamLearning
from ontology.analysis.training.training_greedy import remove_useless
from ontology.analysis.training.training_search import TrainingAnswer, find_best_training

# where leaving something out of the search has given a worse plan, or a proof of one
LATE = (*range(12), 105, 111, 122, 133, 175, 200, 286)
LEVELLED = (*range(30), 41, 53, 65, 70)
MANNED = (*range(8), 15, 23, 33, 36, 52, 62, 115, 116, 148, 168, 191, 228)


class CountedDeadline(Deadline):
    """A deadline that is over once it has been asked so often; what a share of the time is, is so of the questions."""

    def __init__(self, questions: int) -> None:
        super().__init__(None)
        self.questions = questions

    def is_over(self) -> bool:
        self.questions -= 1
        return self.questions < 0

    def get_share(self, share: float) -> Deadline:
        return CountedDeadline(int(share * self.questions))


def get_value(team: TeamLearning, answer: TrainingAnswer, *, is_fair: bool) -> tuple[int, ...]:
    """Return what the plan of an answer comes to in every aim."""
    load = max((team.get_minutes(person, operators) for person, operators in answer.plan.items()), default=0)
    return answer.missing, load if is_fair else 0, *team.get_aims(answer.plan)


def check_best(task: PlainTask, *, is_fair: bool = False) -> None:
    team, goals = build_training(task)
    answer = find_best_training(team, goals, Deadline(None), is_fair=is_fair)
    best = find_best_of_options(task, is_fair=is_fair)
    assert (*get_value(team, answer, is_fair=is_fair), get_pairs(team, answer.plan)) == best
    assert (answer.missing_bound, answer.minutes_bound, answer.is_proved) == (best[0], best[2], True)


def check_cut_short(task: PlainTask, counts: Iterable[int], *, is_fair: bool = False) -> int:
    """Check the answers of a search that may ask so often whether its time is over; return how many had no proof."""
    team, goals = build_training(task)
    best = find_best_of_options(task, is_fair=is_fair)[:5]
    unproved = 0
    for count in counts:
        answer = find_best_training(team, goals, CountedDeadline(count), is_fair=is_fair)
        value = get_value(team, answer, is_fair=is_fair)
        assert value >= best
        assert answer.missing_bound <= best[0]
        if value[:2] == best[:2]:
            assert answer.minutes_bound <= best[2]
        if answer.is_proved:
            assert value[:3] == best[:3]
            assert (answer.missing_bound, answer.minutes_bound) == (best[0], best[2])
        if task.weeks is None:
            assert remove_useless(team, goals, answer.plan) == answer.plan
        unproved += not answer.is_proved
    return unproved


@pytest.mark.parametrize("seed", LATE)
def test_plan_with_little_time_is_the_best_of_those_that_end_in_it(seed: int) -> None:
    check_best(draw_task(seed, weeks=3))


@pytest.mark.parametrize("seed", LEVELLED)
def test_plan_of_levelled_loads_is_the_best_of_all(seed: int) -> None:
    check_best(draw_task(seed), is_fair=True)


@pytest.mark.parametrize("seed", MANNED)
def test_plan_for_places_with_one_to_spare_is_the_best_of_all(seed: int) -> None:
    check_best(draw_task(seed, 4, 5, spare=1))


@pytest.mark.parametrize("seed", [30, 75, 196])
def test_plan_of_two_people_with_many_courses_is_the_best_of_all(seed: int) -> None:
    check_best(draw_task(seed, 2, 8))


def test_search_cut_short_claims_no_more_than_it_knows() -> None:
    unproved = sum(
        check_cut_short(draw_task(seed), (0, 2, 5, 9, 14, 20, 30, 45, 70), is_fair=True) for seed in range(20)
    )
    assert unproved > 20


def test_search_for_places_cut_short_claims_no_more_than_it_knows() -> None:
    counts = (0, 1, 3, 6, 10, 20, 28, 36, 44)
    unproved = sum(check_cut_short(draw_task(seed, 4, 5, spare=1), counts) for seed in (3, 15, 23, 33, 62, 115))
    assert unproved > 6


def test_search_with_a_date_cut_short_claims_no_more_than_it_knows() -> None:
    unproved = sum(
        check_cut_short(draw_task(seed, weeks=3), (0, 2, 5, 9, 14, 20)) for seed in (*range(8), 105, 111, 112)
    )
    assert unproved > 11


def test_ids_are_the_smallest_beyond_the_pairs_settled_at_a_time() -> None:
    people: dict[str, dict[str, int]] = {f"p{n:02}": {} for n in range(40)}
    needs: list[dict[str, Any]] = [{"team": "t", "competency": c, "level": 1, "target": 9} for c in "ab"]
    snapshot = build_team(
        build_team_rows(**people),
        cover_needs=needs,
        courses=[{"id": f"to_{c}", "label": c, "hours": 2.0} for c in "ab"],
        outcomes=[{"course": f"to_{c}", "competency": c, "level": 1} for c in "ab"],
    )
    free = plan_cross_training(snapshot, "t", ON)
    assert [(row.person, row.courses) for row in free.learners] == [(f"p{n:02}", ("to_a", "to_b")) for n in range(9)]
    fair = plan_cross_training(snapshot, "t", ON, asked=TrainingAsked(is_fair=True))
    first = [(f"p{n:02}", ("to_a",)) for n in range(9)]
    assert [(row.person, row.courses) for row in fair.learners] == [
        *first,
        *((f"p{n:02}", ("to_b",)) for n in range(9, 18)),
    ]


def test_choice_of_courses_that_wait_for_each_other_breaks_something_until_it_is_known() -> None:
    courses: dict[str, list[dict[str, Any]]] = {
        "courses": [{"id": i, "label": i, "hours": 1.0} for i in ("to_a", "to_b")]
        + [{"id": "sound", "label": "sound", "hours": 9.0}],
        "outcomes": [{"course": i, "competency": i[-1], "level": 2} for i in ("to_a", "to_b")]
        + [{"course": "sound", "competency": "a", "level": 2}],
        "entry_conditions": [
            {"course": "to_a", "competency": "b", "level": 2},
            {"course": "to_b", "competency": "a", "level": 2},
        ],
    }
    needs: list[dict[str, Any]] = [{"team": "t", "competency": i, "level": 2, "minimum": 1, "target": 1} for i in "ab"]
    state = build_state(build_team_rows(p={}), needs, courses)
    (part,) = state.task.parts
    sound = next(n for n, offer in enumerate(state.team.learners["p"].offers) if offer.id == "sound")
    circle = {n: 1.0 for n, course in enumerate(part.course_of) if course != sound}
    assert state.find_broken(circle) > 0
    assert state.find_broken(circle) == 0  # it is forbidden now; nothing new is to be learned from it
    assert state.find_broken(dict.fromkeys(range(state.task.operator_count), 1.0)) == 0
