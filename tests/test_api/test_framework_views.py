"""What the pages of competencies, roles, courses and scales say, without HTTP."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from api.pages import competency, course, role, scale
from api.pages.framework_parts import Link, Listing
from api.questions import _cautions as cautions
from ontology.analysis.cover.held import count_holders
from ontology.analysis.profiles.similarity import find_similar_roles
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

DAY = dt.date(2026, 11, 24)
LATER = dt.date(2026, 12, 3)


def build(**more: Any) -> Snapshot:
    rows: dict[str, Any] = {
        "scales": build_scale(),
        "competencies": [
            *build_competencies("pump valve spare"),
            *build_competencies("pass", kind="certificate", validity_months=24, safety=True, holds_while=("pump",)),
        ],
        "roles": [
            {"id": "op", "label": "Operator", "family": "Plant", "definition": "Runs the plant.", "months_to_full": 18},
            {"id": "head", "label": "Head", "months_to_full": 0},
            {"id": "bare", "label": "Bare"},
        ],
        "requirements": [
            {"role": "op", "competency": "pass", "level": 1, "necessity": "blocking"},
            {"role": "op", "competency": "pump", "level": 3, "entry_level": 1, "unsupervised_level": 2},
            {"role": "op", "competency": "valve", "level": 2, "necessity": "desirable"},
            {"role": "head", "competency": "pump", "level": 4},
        ],
        "courses": [
            {"id": "k1", "label": "Pumps", "hours": 16.0, "seats": 6},
            {"id": "k2", "label": "Pass again", "hours": 4.0},
            {"id": "k0", "label": "Nothing yet", "hours": 1.0},
        ],
        "outcomes": [
            {"course": "k1", "competency": "pump", "level": 3},
            {"course": "k1", "competency": "valve", "level": 2},
            {"course": "k2", "competency": "pass", "level": 1, "renews": True},
        ],
        "entry_conditions": [{"course": "k1", "competency": "valve", "level": 1}],
        "teams": [{"id": "t", "label": "Works"}],
        "people": [{"id": "p1", "name": "Ada", "team": "t"}],
        "assessments": [{"person": "p1", "competency": "pump", "level": 3, "date": DAY, "source": "assessor"}],
        "places": [{"id": "desk", "team": "t", "role": "op", "count": 2}, {"id": "gate", "team": "t", "role": "op"}],
        "sessions": [
            {"id": "s1", "course": "k1", "from_date": DAY, "to_date": DAY, "state": "planned", "where": "Hall"},
            {"id": "s0", "course": "k1", "from_date": dt.date(2026, 1, 5), "to_date": dt.date(2026, 1, 5)}
            | {"state": "held"},
            {"id": "s2", "course": "k1", "from_date": DAY, "to_date": DAY, "state": "cancelled"},
            {
                "id": "s3",
                "course": "k2",
                "from_date": DAY + dt.timedelta(days=9),
                "to_date": DAY + dt.timedelta(days=9),
            },
            {
                "id": "s4",
                "course": "k2",
                "from_date": DAY + dt.timedelta(days=1),
                "to_date": DAY + dt.timedelta(days=1),
            },
        ],
    }
    return build_snapshot(**rows | more)


def build_competency(snapshot: Snapshot, competency_id: str, sees_names: bool = True) -> competency.CompetencyView:
    held = count_holders(snapshot, competency_id, DAY)
    return competency.build_view(snapshot, competency_id, held, sees_names)


def build_role(snapshot: Snapshot, role_id: str) -> role.RoleView:
    alike = find_similar_roles(snapshot, role_id).roles
    return role.build_view(snapshot, role_id, alike, snapshot.get_places_of_role(role_id))


def read(listing: Listing) -> list[tuple[Any, ...]]:
    return [tuple(getattr(cell, "name", cell) for cell in row) for row in listing.table.rows]


# ---- competency ----


def test_the_first_sentence_counts_roles_courses_and_holders() -> None:
    view = build_competency(build(), "pump")
    assert view.lead.text == "A skill, asked by 2 roles, taught by 1 course, held by 1 person."
    assert view.lead.strong == "asked by 2 roles"
    told = build_competency(build(), "pass").lead.text
    assert told == "A certificate, asked by 1 role, taught by no course, renewed by 1 course, held by nobody."


def test_who_may_see_no_names_reads_no_small_figure() -> None:
    view = build_competency(build(), "pump", sees_names=False)
    assert "held by under 5 people" in view.lead.text
    assert [column.name for column in view.levels.columns][-1] == "Full level"


def test_who_may_not_see_figures_of_people_reads_none() -> None:
    view = competency.build_view(build(), "pump", None, False)
    assert "held" not in view.lead.text
    assert cautions.BASIS not in view.cautions


def test_levels_say_how_many_roles_ask_each_from_when() -> None:
    levels = build_competency(build(), "pump").levels
    figures = [[getattr(cell, "value", cell) for cell in row[2:]] for row in levels.rows]
    assert figures[:4] == [[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 1], [1, 1, 1, 0]]


def test_roles_that_ask_and_courses_with_what_they_need_first() -> None:
    view = build_competency(build(), "pump")
    assert [row[:4] for row in read(view.roles)] == [("Head", "essential", 4, 4), ("Operator", "essential", 1, 2)]
    (row,) = view.courses.table.rows
    assert row[0].name == "Pumps"
    assert [(ref.id, ref.name) for ref in row[4].items] == [("valve", "VALVE at level 1")]


def test_what_is_missing_is_a_finding_with_its_act() -> None:
    view = build_competency(build(), "spare")
    assert (view.roles.empty.words, view.courses.empty.words) == ("No role asks for it.", "No course teaches it.")
    assert view.roles.empty.act == Link("Add a requirement", "/new/requirements?competency=spare")
    assert view.courses.empty.act == Link("Say which course teaches it", "/new/outcomes?competency=spare")


def test_what_a_level_hangs_on_is_told_and_what_can_hurt_is_cautioned() -> None:
    equivalence = {"competency": "valve", "counts_as": "pump", "level": 4, "as_level": 2, "to_date": DAY}
    snapshot = build(equivalences=[equivalence])
    assert build_competency(snapshot, "pass").hangs_on == ("It is suspended while PUMP is not held.",)
    assert build_competency(snapshot, "pump").hangs_on == ("VALVE at level 4 counts as 2 of it until 2026-11-24.",)
    assert build_competency(snapshot, "valve").hangs_on == (
        "Level 4 of it counts as PUMP at level 2 until 2026-11-24.",
    )
    assert cautions.NO_AUTHORISATION in build_competency(snapshot, "pass").cautions
    assert cautions.NO_AUTHORISATION not in build_competency(snapshot, "pump").cautions


# ---- role ----


def test_a_role_says_what_it_asks_in_the_order_of_the_picture() -> None:
    view = build_role(build(), "op")
    assert view.lead.text == (
        "Runs the plant. Asks for 3 competencies: 1 blocks, 1 is essential, 1 desirable. "
        "Its full levels are normally reached after 18 months."
    )
    assert read(view.asks) == [
        ("PASS", "blocking", 1, 1, "1, Level 1", view.asks.table.rows[0][5], False),
        ("PUMP", "essential", 1, 2, "3, Level 3", view.asks.table.rows[1][5], True),
        ("VALVE", "desirable", 2, 2, "2, Level 2", view.asks.table.rows[2][5], False),
    ]
    assert view.compare == tuple(ref for ref in view.compare if ref.id == "head")
    assert [link.address for link in view.acts] == [
        "/edit/roles/op",
        "/edit/roles/op/requirements",
        "/retire/roles/op",
        "#compare",
    ]


def test_a_role_without_requirements_says_so_with_the_act() -> None:
    view = build_role(build(), "bare")
    assert view.lead.text == "It asks for nothing yet."
    assert view.asks.empty.act == Link("Add a requirement", "/new/requirements?role=bare")
    assert view.cautions == ()


def test_places_are_told_by_team_and_only_to_who_may_see_them() -> None:
    def list_names(view: role.RoleView) -> list[str]:
        return [fact.name for fact in view.facts]

    view = build_role(build(), "op")
    (filled,) = [fact for fact in view.facts if fact.name == "Filled as"]
    assert [getattr(piece, "name", piece) for piece in filled.lines[0]] == ["3 places, ", "Works"]
    assert "Filled as" not in list_names(role.build_view(build(), "op", (), None))


@pytest.mark.parametrize(
    ("necessities", "told"),
    [
        (["blocking", "blocking"], "2 competencies: 2 block."),
        (["desirable"], "1 competency: 1 is desirable."),
        (["essential", "desirable", "desirable"], "3 competencies: 1 is essential, 2 desirable."),
    ],
)
def test_counts_are_said_as_one_would(necessities: list[str], told: str) -> None:
    competencies = build_competencies(" ".join(f"c{n}" for n in range(len(necessities))))
    requirements = [
        {"role": "r", "competency": f"c{n}", "level": 1, "necessity": word} for n, word in enumerate(necessities)
    ]
    roles = [{"id": "r", "label": "R", "months_to_full": 0}]
    snapshot = build_snapshot(scales=build_scale(), competencies=competencies, roles=roles, requirements=requirements)
    lead = build_role(snapshot, "r").lead.text
    assert lead == f"Asks for {told} Its full levels are normally reached from the first day on."


# ---- course and scale ----


def test_a_course_says_what_it_reaches_asks_and_when_it_is_held_next() -> None:
    view = course.build_view(build(), "k1", DAY)
    assert (
        view.lead.text
        == "Reaches PUMP at level 3 and VALVE at level 2 in 16 hours. It asks for VALVE at level 1 first."
    )
    assert [row[:3] for row in read(view.sessions)] == [(DAY, DAY, "Hall")]
    again = course.build_view(build(), "k2", DAY)
    assert again.lead.text.startswith("Renews PASS at level 1 in 4 hours.")
    assert [row[2] for row in read(again.sessions)] == ["s4", "s3"]


def test_a_course_without_outcomes_or_sessions_says_so_with_the_acts() -> None:
    view = course.build_view(build(), "k0", DAY)
    assert view.lead.text == "It reaches no level yet; it takes 1 hour."
    assert view.reaches.empty.act == Link("Say what it reaches", "/new/outcomes?course=k0")
    assert view.sessions.empty.words == "No session is to come."
    assert course.build_view(build(), "k1", DAY + dt.timedelta(days=1)).sessions.table.rows == ()


def test_a_scale_says_which_competencies_use_it() -> None:
    snapshot = build()
    name = snapshot.competencies["pump"].scale
    view = scale.build_view(snapshot, name)
    assert view.lead.text.startswith(f"{len(snapshot.scales[name])} levels, used by 4 competencies.")
    assert len(view.used.table.rows) == 4
    with pytest.raises(UnknownIdError):
        scale.build_view(snapshot, "x")
