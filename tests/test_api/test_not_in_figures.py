"""What names people is refused to who sees figures alone, with the reason; what names nobody is told to leads alike."""

from __future__ import annotations

import html

import pytest
from canary_company import open_canaries, rename
from demonstration_pages import QUESTIONS

from api.access.rights import TOLD_IN_FIGURES, Standpoint, get_cell
from api.desk.question import PERSON
from api.questions import list_questions


def test_what_names_people_is_refused_with_the_reason() -> None:
    accounts = open_canaries().accounts
    architect = accounts.sign_in("architect")
    for question in list_questions():
        if not question.no_figures:
            continue
        for prefix in ("/api", ""):
            response = architect.get(prefix + rename(QUESTIONS[question.name]))
            assert response.status_code == 403, question.name
            assert html.escape(question.no_figures) in response.get_data(as_text=True), question.name
        refused = accounts.sign_in("reader").get("/api" + rename(QUESTIONS[question.name]))
        assert (refused.status_code in (403, 404), question.no_figures in refused.get_data(as_text=True)) == (
            True,
            False,
        )


def test_what_an_architect_may_see_in_figures_is_told_so_or_says_why_not() -> None:
    undecided = {
        question.name
        for question in list_questions()
        if get_cell(question.needs, Standpoint.ARCHITECT).has_figures
        and question.needs not in TOLD_IN_FIGURES
        and not question.asks.keys() <= {PERSON}
        and bool(question.no_figures) == (question.figures is not None)
    }
    assert undecided == set()


@pytest.mark.parametrize("name", ["company-obligations", "demand", "holders"])
def test_a_lead_is_told_counts_of_all_teams_in_figures_alone(name: str) -> None:
    accounts = open_canaries().accounts
    address = "/api" + QUESTIONS[name]
    assert accounts.sign_in("lead").get(address).data == accounts.sign_in("architect").get(address).data
