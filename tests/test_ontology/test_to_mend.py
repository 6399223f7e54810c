"""What is to mend, in the order of its effect; its word lists."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.health.effect import Effects
from ontology.analysis.health.faults import Fault, Limits
from ontology.analysis.health.to_mend import RULE_NAMES, list_to_mend
from ontology.analysis.health.word_lists import get_own_lists, parse_word_lists, read_word_lists
from ontology.checks.framework import list_rule_names
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot


def build_company() -> Snapshot:
    """Five hold role r of team t; two people of team u have no role: u needs b and has a place of role r."""
    people = [{"id": f"p{n}", "name": f"P{n}", "team": "t", "role": "r"} for n in range(5)]
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b c"),
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r", "competency": "a", "level": 2}],
        courses=[{"id": "k", "label": "K", "hours": 1}],
        outcomes=[{"course": "k", "competency": "b", "level": 1}],
        teams=[{"id": i, "label": i} for i in ("t", "u")],
        people=[*people, *({"id": i, "name": i, "team": "u"} for i in ("x", "y"))],
        places=[{"id": "post", "team": "u", "role": "r"}],
        cover_needs=[{"team": "u", "competency": "b", "level": 2, "minimum": 1}],
    )


@pytest.mark.parametrize(
    ("table", "record_id", "other", "people", "rows"),
    [
        ("competencies", "a", None, 7, 1),
        ("competencies", "b", None, 2, 2),
        ("competencies", "b", "a", 7, 3),
        ("competencies", "c", None, 0, 0),
        ("roles", "r", None, 7, 2),
        ("courses", "k", None, 2, 1),
        ("scales", "s5~2", None, 7, 3),
        ("requirements", "r~a", None, 7, 0),
        ("cover_needs", "u~b~2~team", None, 2, 0),
        ("outcomes", "k~b", None, 2, 0),
        ("people", None, None, 0, 0),
    ],
)
def test_effect(table: str, record_id: str | None, other: str | None, people: int, rows: int) -> None:
    effects = Effects(build_company(), ON)
    fault = Fault("a rule", table, record_id, "", "", other)
    assert (effects.count_people(fault), effects.count_rows(fault)) == (people, rows)


def test_errors_come_first_then_people_then_rows_and_few_people_are_not_told() -> None:
    error = Fault("broken", "competencies", "c", "C", "It is.", severity="error")
    found = list_to_mend(build_company(), ON, [error], words={}).rows
    assert (found[0].fault, found[0].people) == (error, None)
    weights = [(-(one.people or 0), -one.rows) for one in found[1:]]
    assert weights == sorted(weights)
    assert {one.people for one in found} == {7, None}


def test_a_figure_is_told_from_the_least_on() -> None:
    told = [list_to_mend(build_company(), ON, limits=Limits(least_people=n), words={}).rows for n in (7, 8)]
    assert [any(row.people for row in rows) for rows in told] == [True, False]


def test_every_rule_has_a_name_of_its_own_that_no_finding_has() -> None:
    assert len(RULE_NAMES) == 16
    assert not RULE_NAMES & list_rule_names()


def test_word_lists_come_from_a_folder(tmp_path: Path) -> None:
    (tmp_path / "vague.en.txt").write_text("Fine* # and finely\n\n# a note\n", "utf-8")
    (tmp_path / "acts.en.txt").write_text("walks\n", "utf-8")
    text = read_word_lists(tmp_path)
    assert text == "acts.en: walks; vague.en: fine*"
    assert parse_word_lists(text)["en"].vague.find(["so", "finest"]) == "finest"
    (tmp_path / "acts.en.txt").unlink()
    with pytest.raises(ValueError, match=r"acts\.en is missing"):
        parse_word_lists(read_word_lists(tmp_path))
    with pytest.raises(InputError, match="There are no word lists"):
        read_word_lists(tmp_path.parent / tmp_path.name / "..")
    with pytest.raises(InputError, match="cannot be read"):
        read_word_lists(tmp_path / "none")
    for wrong in ("vague.en", "odd.en: a", "vague.en: two words; acts.en: a", "vague.en: a*b; acts.en: c"):
        with pytest.raises(ValueError, match=r"must (hold|be)"):
            parse_word_lists(wrong)


def test_the_lists_of_the_package_are_english_and_german() -> None:
    assert set(get_own_lists()) == {"de", "en"}
    for lists in get_own_lists().values():
        assert not lists.vague.whole & lists.acts.whole
        assert not lists.vague.find(sorted(lists.acts.whole))
