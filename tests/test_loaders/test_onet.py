"""O*NET loader on files with the official headers and invented rows: what becomes of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from onet_rows import HEADERS, build_sheets, get_errors, get_requirement, load, pair, rating, write_folder

from loaders.open_data.onet import load_onet
from loaders.open_data.onet_sheets import is_onet
from ontology.model.records import Competency, Requirement, Role


def test_occupations_become_roles_with_their_job_zone_as_family(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_sheets())
    assert loaded.records["roles"] == [
        Role("91-0001.00", "Kite Makers", "Zone two: some preparation", "Make kites.", 12, (), None),
        Role("91-0002.00", "Kite Testers", "Job Zone 4", "Fly kites.", 12, (), None),
        Role("91-0003.00", "Kite Dreamers", "", "Dream of kites.", 12, (), None),
    ]
    assert not get_errors(loaded)


def test_rated_elements_and_those_above_become_competencies(tmp_path: Path) -> None:
    competencies: list[Competency] = load(tmp_path, build_sheets()).records["competencies"]
    assert [(c.id, c.label, c.broader, c.kind, c.scale) for c in competencies] == [
        ("9", "All of It", (), "skill", "onet-level"),
        ("9.A", "Handiwork", ("9",), "skill", "onet-level"),
        ("9.A.1", "Knots", ("9.A",), "skill", "onet-9.A.1"),
        ("9.B", "Lore", ("9",), "knowledge", "onet-level"),
        ("9.B.1", "Winds", ("9.B",), "knowledge", "onet-9.B.1"),
        ("9.B.10", "Clouds", ("9.B",), "knowledge", "onet-9.B.10"),
    ]
    assert competencies[2].definition == "Tying knots."


def test_every_scale_has_seven_ranks_and_the_official_anchors(tmp_path: Path) -> None:
    scales = load(tmp_path, build_sheets()).records["scales"]
    ranks: dict[str, list[int]] = {}
    for level in scales:
        ranks.setdefault(level.scale, []).append(level.rank)
    assert sorted(ranks) == ["onet-9.A.1", "onet-9.B.1", "onet-9.B.10", "onet-level"]
    assert all(numbers == [1, 2, 3, 4, 5, 6, 7] for numbers in ranks.values())
    anchored = {(level.scale, level.rank): level.description for level in scales if level.description}
    assert anchored == {("onet-9.A.1", 2): "Tie a bow", ("onet-9.A.1", 5): "Splice a rope; Mend a net"}


def test_importance_is_the_weight_and_the_decimal_level_is_kept(tmp_path: Path) -> None:
    found = get_requirement(load(tmp_path, build_sheets()), "91-0001.00", "9.A.1")
    assert found == Requirement("91-0001.00", "9.A.1", 5, 5, 5, 4.12, "essential", None, 4.62, "")


@pytest.mark.parametrize(
    ("level", "rank"),
    [(0, None), (0.49, None), (0.5, 1), (1.49, 1), (1.5, 2), (2.5, 3), (3.49, 3), (6.5, 7), (6.96, 7), (7, 7)],
)
def test_levels_are_rounded_half_up_and_below_half_nothing_is_required(
    tmp_path: Path, level: float, rank: int | None
) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0002.00", "9.A.1", 3, level)
    requirements = [r for r in load(tmp_path, sheets).records["requirements"] if r.role == "91-0002.00"]
    assert [(r.level, r.measured_level) for r in requirements] == ([] if rank is None else [(rank, level)])


def test_not_relevant_is_no_requirement_however_high_the_level(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0001.00", "9.A.1", 3, 5, not_relevant="Y") + pair("91-0002.00", "9.A.1", 3, 5)
    roles = {r.role for r in load(tmp_path, sheets).records["requirements"] if r.competency == "9.A.1"}
    assert roles == {"91-0002.00"}


def test_suppressed_estimates_are_marked_in_the_remark(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0001.00", "9.A.1", 3, 5, suppress="Y")
    sheets["Knowledge"] = [
        rating("91-0001.00", "9.B.1", "IM", 3, suppress="Y"),
        rating("91-0001.00", "9.B.1", "LV", 3),
        rating("91-0001.00", "9.B.10", "IM", 3, suppress="Y"),
        rating("91-0001.00", "9.B.10", "LV", 3, suppress="Y"),
    ]
    loaded = load(tmp_path, sheets)
    remarks = [get_requirement(loaded, "91-0001.00", i).remark for i in ("9.A.1", "9.B.1", "9.B.10")]
    assert [("level" in remark, "importance" in remark) for remark in remarks] == [
        (True, False),
        (False, True),
        (True, True),
    ]


def test_occupations_without_ratings_are_counted_and_named(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_sheets())
    remarks = [f for f in loaded.findings if f.source == "Occupation Data.xlsx"]
    assert [(f.severity, f.row, f.value) for f in remarks] == [("remark", 0, ""), ("remark", 4, "91-0003.00")]
    assert remarks[0].reason.startswith("1 of 3 occupations have no ratings")


def test_occupation_with_nothing_but_low_levels_is_a_role_without_requirements(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0002.00", "9.A.1", 1, 0.2)
    found = [f for f in load(tmp_path, sheets).findings if f.value == "91-0002.00"]
    assert [(f.severity, f.row) for f in found] == [("remark", 3)]
    assert "0.5" in found[0].reason


def test_missing_job_zones_are_counted(tmp_path: Path) -> None:
    (found,) = [f for f in load(tmp_path, build_sheets()).findings if f.source == "Job Zones.xlsx"]
    assert (found.severity, found.reason[:26]) == ("remark", "1 occupations have no job ")


def test_number_stored_as_text_is_read(tmp_path: Path) -> None:
    sheets = build_sheets()
    sheets["Skills"] = pair("91-0002.00", "9.A.1", "2.25", " 3.5 ")
    found = get_requirement(load(tmp_path, sheets), "91-0002.00", "9.A.1")
    assert (found.weight, found.measured_level, found.level) == (2.25, 3.5, 4)


def test_progress_ends_with_all_rows_of_each_ratings_file(tmp_path: Path) -> None:
    calls: list[tuple[str, int, int]] = []
    load_onet(write_folder(tmp_path, build_sheets(), HEADERS), lambda *call: calls.append(call))
    assert calls == [("Skills.xlsx", 4, 4), ("Knowledge.xlsx", 4, 4)]


def test_label_names_release_and_licence(tmp_path: Path) -> None:
    (tmp_path / "Read Me.txt").write_text("O*NET 99.1 Database\nmore\n", encoding="utf-8")
    label = load(tmp_path, build_sheets()).label
    assert label.startswith("O*NET 99.1 Database by the U.S. Department of Labor")
    assert "CC BY 4.0" in label


def test_folder_is_recognised_by_official_names(tmp_path: Path) -> None:
    assert not is_onet(tmp_path)
    write_folder(tmp_path, build_sheets(), HEADERS)
    assert is_onet(tmp_path)
    assert not is_onet(tmp_path / "Skills.xlsx")
    assert not is_onet(tmp_path / "nowhere")
