"""Who can do what: by name, as people are on the day, with what a level rests on."""

from __future__ import annotations

from datetime import date

import pytest
from small_company import ON, build_scale, build_snapshot

from ontology.analysis.cover.who_can import find_who_can
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

SEEN = date(2026, 1, 5)


def build() -> Snapshot:
    """Two teams; the crane needs the employer's appointment, which only Ada has."""
    people = [
        {"id": "a", "name": "Ada Örn", "team": "t", "role": "r"},
        {"id": "b", "name": "ben Lake", "team": "t"},
        {"id": "c", "name": "Cleo Örn", "team": "u", "role": "r"},
        {"id": "d", "name": "Dan Left", "team": "t", "end_date": date(2026, 1, 31)},
    ]
    return build_snapshot(
        scales=build_scale(),
        competencies=[{"id": "crane", "label": "Crane", "scale": "s5", "appointment": True}],
        roles=[{"id": "r", "label": "Rigger"}],
        teams=[{"id": "t", "label": "T"}, {"id": "u", "label": "U"}],
        people=people,
        absences=[{"person": "b", "from_date": ON, "to_date": ON}],
        assessments=[
            {"person": i, "competency": "crane", "level": level, "date": SEEN, "source": "assessor"}
            for i, level in (("a", 3), ("b", 2), ("c", 3), ("d", 3))
        ],
        appointments=[{"person": "a", "competency": "crane", "from_date": SEEN}],
    )


def test_people_stand_by_name_and_who_has_left_is_not_told() -> None:
    assert [row.person for row in find_who_can(build(), ON).people] == ["a", "b", "c"]
    assert [row.person for row in find_who_can(build(), SEEN, team="t").people] == ["a", "b", "d"]


def test_what_is_asked_narrows_the_list() -> None:
    def find(**asked: object) -> list[str]:
        return [row.person for row in find_who_can(build(), ON, **asked).people]  # type: ignore[arg-type]

    assert find(q="orn") == ["a", "c"]
    assert find(q="or a") == ["a"]
    assert find(q="B") == ["b"], "an id finds its person"
    assert find(q="?") == []
    assert find(team="t") == ["a", "b"]
    assert find(role="r") == ["a", "c"]
    assert find(team="t", competency="crane", level=3) == ["a"]
    assert find(team="t", competency="crane") == ["a", "b"]


def test_a_level_is_told_with_what_it_rests_on_and_the_appointment() -> None:
    ada, ben = find_who_can(build(), ON, team="t", competency="crane", level=2).people
    assert (ada.have, ada.source, ada.assessed_on, ada.is_appointed, ada.is_absent) == (
        3,
        "assessor",
        SEEN,
        True,
        False,
    )
    assert (ben.have, ben.is_appointed, ben.is_absent) == (2, False, True)


def test_nothing_is_told_of_levels_where_none_is_asked_for() -> None:
    (row, *_) = find_who_can(build(), ON).people
    assert (row.have, row.state, row.source, row.is_appointed) == (None, None, None, None)


def test_an_unknown_competency_is_named() -> None:
    with pytest.raises(UnknownIdError):
        find_who_can(build(), ON, team="t", competency="none")
