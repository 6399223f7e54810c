"""What is known of a person's levels: what each rests on, how long it counts, and what they only say."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles.known_levels import PersonLevels, list_person_levels
from ontology.errors import UnknownIdError

D = date
ROWS: list[dict[str, Any]] = [
    {"competency": "a", "level": 1, "date": D(2025, 1, 1), "source": "manager"},
    {"competency": "a", "level": 2, "date": D(2026, 3, 9), "source": "manager", "assessor": "q"},
    {"competency": "b", "level": 1, "date": D(2026, 1, 1), "source": "assessor"},
    {"competency": "z", "level": 1, "date": D(2026, 5, 1), "source": "certificate", "valid_until": D(2027, 5, 1)},
    {"competency": "r", "level": 1, "date": D(2026, 5, 1), "source": "assessor", "valid_until": D(2027, 1, 31)},
    {"competency": "d", "level": 4, "date": D(2026, 9, 1), "source": "self"},
    {"competency": "d", "level": 3, "date": D(2026, 10, 1), "source": "self"},
    {"competency": "a", "level": 5, "date": D(2026, 10, 1), "source": "self", "withdrawn_on": D(2026, 10, 2)},
]


def ask(on: date = ON, *, role: str | None = None, own: str = "r1") -> PersonLevels:
    asked = {"a": (2, "essential"), "b": (3, "essential"), "c": (1, "desirable"), "z": (1, "blocking")}
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[
            *build_competencies("a b c d"),
            *build_competencies("z", kind="certificate"),
            *build_competencies("r", expiry="review"),
        ],
        roles=[{"id": "r1", "label": "R1"}, {"id": "r2", "label": "R2"}],
        requirements=[
            {"role": "r1", "competency": i, "level": level, "necessity": necessity}
            for i, (level, necessity) in asked.items()
        ],
        people=[{"id": "p", "name": "P", "role": own}, {"id": "q", "name": "Q"}],
        assessments=[{"person": "p"} | row for row in ROWS],
    )
    return list_person_levels(snapshot, "p", on, role=role)


def test_what_is_unmet_or_not_assessed_stands_first_then_the_order_of_the_gap() -> None:
    assert [row.competency for row in ask().asked] == ["b", "c", "z", "a"]


def test_a_level_stands_with_its_source_its_assessor_its_day_and_its_age() -> None:
    row = ask().asked[3]
    assert (row.asked, row.level, row.necessity, row.gap, row.state) == (2, 2, "essential", 0, "ok")
    assert (row.source, row.assessor, row.date, row.age_days) == ("manager", "q", D(2026, 3, 9), 260)
    assert (row.until, row.then) == (None, None)
    nobody = ask().asked[0]
    assert (nobody.level, nobody.gap, nobody.assessor) == (1, 2, None)


def test_what_was_never_assessed_rests_on_nothing() -> None:
    row = ask().asked[1]
    assert (row.level, row.state, row.source, row.date, row.age_days, row.until) == (
        None, "not-assessed", None, None, None, None,
    )  # fmt: skip
    assert ask().assess_first == ("c",)


def test_the_last_day_on_which_it_counts_and_what_comes_then() -> None:
    answer = ask()
    assert (answer.asked[2].until, answer.asked[2].then) == (D(2027, 5, 1), "lapsed")
    (other,) = answer.others
    assert other.competency == "r"
    assert (other.until, other.then, other.asked, other.necessity) == (D(2027, 1, 31), "review-due", None, None)


def test_a_level_that_has_ended_has_no_last_day_to_come() -> None:
    answer = ask(D(2027, 5, 2))
    (lapsed,) = [row for row in answer.asked if row.competency == "z"]
    assert (lapsed.level, lapsed.state, lapsed.until, lapsed.gap) == (0, "lapsed", None, 1)
    (review,) = [row for row in answer.others if row.competency == "r"]
    assert (review.level, review.state, review.until) == (1, "review-due", None)


def test_figures_count_full_levels_by_necessity() -> None:
    answer = ask()
    counts = answer.blocking_met, answer.blocking_total, answer.essential_met, answer.essential_total
    assert counts == (1, 1, 1, 2)
    later = ask(D(2027, 5, 2))
    assert (later.blocking_met, later.blocking_total) == (0, 1)


def test_what_someone_says_is_the_latest_and_stands_apart() -> None:
    answer = ask()
    assert [(row.competency, row.level, row.date) for row in answer.said] == [("d", 3, D(2026, 10, 1))]
    assert ask(D(2026, 9, 30)).said[0].level == 4
    assert "d" not in {row.competency for row in (*answer.asked, *answer.others)}


def test_without_a_role_nothing_is_asked_and_all_that_is_held_stands_among_the_others() -> None:
    answer = ask(own="")
    assert (answer.role, answer.asked) == (None, ())
    assert [row.competency for row in answer.others] == ["a", "b", "r", "z"]


def test_another_role_can_be_compared_with() -> None:
    answer = ask(role="r2")
    assert (answer.role, answer.asked, len(answer.others)) == ("r2", (), 4)
    with pytest.raises(UnknownIdError):
        ask(role="nowhere")
