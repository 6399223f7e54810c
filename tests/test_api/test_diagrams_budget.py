"""What a learning path's picture says of a course that a budget pays for though it reaches no target by itself."""

from __future__ import annotations

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from api import services
from api.diagrams import pictures


@pytest.mark.parametrize("layout", ["screen", "paper"])
def test_course_on_the_way_to_a_level_beyond_the_budget_says_towards_what_it_leads(layout: str) -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("weld"),
        roles=[{"id": "fitter", "label": "Fitter"}, {"id": "none", "label": "None"}],
        requirements=[{"role": "fitter", "competency": "weld", "level": 3}],
        courses=[{"id": "first", "label": "First", "hours": 2.0}, {"id": "then", "label": "Then", "hours": 9.0}],
        outcomes=[
            {"course": "first", "competency": "weld", "level": 2},
            {"course": "then", "competency": "weld", "level": 3},
        ],
        entry_conditions=[{"course": "then", "competency": "weld", "level": 2}],
    )
    level = company.competencies["weld"].label
    words = {"screen": "leads towards a target:", "paper": f"reaches {level}"}[layout]
    for hours, is_told in ((4.0, True), (20.0, layout == "paper")):
        path = services.find_path(company, "fitter", from_role_id="none", on=ON, max_hours=hours)
        profile = services.get_profile(company, None, "none", ON)
        text = pictures.draw_learning_path(company, profile, path, layout=layout, page=1)
        assert [course.id for course in path.courses] == (["first"] if hours == 4.0 else ["first", "then"])
        assert (words in text) == is_told
