"""ESCO loader on files with the official headers and invented rows: what becomes of them."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from esco_rows import (
    HANDIWORK,
    KITES,
    KNOTS,
    LORE,
    MAKER,
    TESTER,
    WEATHER,
    WINDS,
    build_rows,
    format_csv,
    get_errors,
    get_remarks,
    load,
    write_folder,
    write_official_zips,
    write_zip,
)

from loaders.open_data.esco import load_esco
from loaders.open_data.esco_files import is_esco
from ontology.model.records import Competency, Requirement, Role


def test_occupations_become_roles_with_their_isco_group_as_family(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_rows())
    assert loaded.records["roles"] == [
        Role("9111.1", "kite maker", "Makers of light things", "Makes kites.", 12, (MAKER,), None),
        Role("9112.1.2", "kite tester", "Testers of light things", "", 12, (TESTER,), None),
    ]
    assert not get_errors(loaded)


def test_skills_and_groups_become_competencies_with_several_parents(tmp_path: Path) -> None:
    competencies: list[Competency] = load(tmp_path, build_rows()).records["competencies"]
    assert [(c.id, c.label, c.kind, c.broader, c.exact_match) for c in competencies] == [
        ("aaaa-knots", "tie knots", "skill", ("aaaa-kites", "gggg-hand"), (KNOTS,)),
        ("aaaa-winds", "winds", "knowledge", ("isced-f-0532",), (WINDS,)),
        ("aaaa-kites", "make kites", "skill", ("gggg-hand",), (KITES,)),
        ("gggg-hand", "handiwork", "skill", (), (HANDIWORK,)),
        ("gggg-lore", "lore", "knowledge", (), (LORE,)),
        ("isced-f-0532", "weather", "knowledge", ("gggg-lore",), (WEATHER,)),
    ]
    assert competencies[0].definition == "Tie\nknots."


def test_preferred_label_is_left_out_of_the_others_with_a_remark(tmp_path: Path) -> None:
    """SKOS Reference, integrity condition S13."""
    loaded = load(tmp_path, build_rows())
    assert loaded.records["competencies"][0].alt_labels == ("knot", "make knots")
    assert ("skills_en.csv", 0, "altLabels") in get_remarks(loaded)


def test_relations_become_requirements_on_a_scale_of_one_level(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_rows())
    assert loaded.records["requirements"] == [
        Requirement("9111.1", "aaaa-knots", 1, 1, 1, 3.0, "essential", None, None, ""),
        Requirement("9111.1", "aaaa-winds", 1, 1, 1, 3.0, "desirable", None, None, ""),
        Requirement("9112.1.2", "aaaa-winds", 1, 1, 1, 3.0, "essential", None, None, ""),
    ]
    assert [(level.scale, level.rank) for level in loaded.records["scales"]] == [("esco", 1)]
    assert {c.scale for c in loaded.records["competencies"]} == {"esco"}


def test_folder_two_zips_and_one_zip_hold_the_same(tmp_path: Path) -> None:
    folders = [tmp_path / name for name in ("plain", "zips")]
    for folder in folders:
        folder.mkdir()
    plain = load_esco(write_folder(folders[0], build_rows()))
    zips = load_esco(write_official_zips(folders[1], build_rows()))
    files = {f"deep/down/{name}.csv": format_csv(name, rows) for name, rows in build_rows().items()}
    one = load_esco(write_zip(tmp_path / "one.zip", files))
    assert plain.records == zips.records == one.records
    assert plain.extra == zips.extra == one.extra
    assert plain.findings == zips.findings == one.findings
    assert sorted(p.name for p in folders[1].iterdir()) == sorted(p.name for p in folders[1].glob("*.zip"))


def test_label_names_version_language_and_licence(tmp_path: Path) -> None:
    label = load_esco(write_official_zips(tmp_path, build_rows())).label
    assert label.startswith("ESCO 9.8.7 (en), ")
    assert "2011/833/EU" in label


def test_another_language_is_read_where_it_is_the_only_one(tmp_path: Path) -> None:
    write_folder(tmp_path, build_rows())
    for path in sorted(tmp_path.glob("*_en.csv")):
        path.rename(path.with_name(path.name.replace("_en", "_fr")))
    assert "(fr)" in load_esco(tmp_path).label


def test_cell_longer_than_the_csv_module_allows_is_read(tmp_path: Path) -> None:
    """One cell of the official files has 627,354 characters; the csv module stops at 131,072 unless told."""
    before = csv.field_size_limit()
    rows = build_rows()
    rows["skills_en"][0]["description"] = "x" * 700_000
    assert len(load(tmp_path, rows).records["competencies"][0].definition) == 700_000
    assert csv.field_size_limit() == before


def test_byte_order_mark_is_no_part_of_the_first_column(tmp_path: Path) -> None:
    write_folder(tmp_path, build_rows())
    path = tmp_path / "occupationSkillRelations.csv"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert len(load_esco(tmp_path).records["requirements"]) == 3


def test_progress_ends_with_all_relations(tmp_path: Path) -> None:
    calls: list[tuple[Any, ...]] = []
    load_esco(write_folder(tmp_path, build_rows()), lambda *call: calls.append(call))
    assert calls[-1] == ("occupationSkillRelations.csv", 3, 3)


def test_paths_are_recognised_by_official_names(tmp_path: Path) -> None:
    assert not is_esco(tmp_path)
    assert not is_esco(write_zip(tmp_path / "other.zip", {"a.csv": b"a\n"}))
    assert not is_esco(tmp_path)
    files = {f"{name}.csv": format_csv(name, rows) for name, rows in build_rows().items()}
    assert is_esco(write_zip(tmp_path / "one.zip", files))
    assert is_esco(tmp_path)
    (tmp_path / "plain").mkdir()
    assert is_esco(write_folder(tmp_path / "plain", build_rows()))


def test_every_other_language_of_the_folder_is_a_translation(tmp_path: Path) -> None:
    rows = build_rows()
    texts: dict[str, list[dict[str, str]]] = {
        "skills_de": [
            {"conceptUri": KNOTS, "preferredLabel": "Knoten knüpfen", "altLabels": "Knoten\nKnoten knüpfen"},
            {"conceptUri": "http://data.europa.eu/esco/skill/none", "preferredLabel": "fehlt"},
        ],
        "occupations_de": [{"conceptUri": MAKER, "preferredLabel": "Drachenbauer", "description": "Baut Drachen."}],
        "ISCOGroups_fr": [{"code": "9111", "preferredLabel": "Métiers légers"}],
    }
    for name, content in texts.items():
        (tmp_path / f"{name}.csv").write_bytes(format_csv(f"{name[:-3]}_en", content))
    loaded = load(tmp_path, rows)
    assert [(row.table, row.id, row.column, row.language, row.text) for row in loaded.records["translations"]] == [
        ("competencies", "aaaa-knots", "label", "de", "Knoten knüpfen"),
        ("competencies", "aaaa-knots", "alt_labels", "de", ("Knoten",)),
        ("roles", "9111.1", "label", "de", "Drachenbauer"),
        ("roles", "9111.1", "definition", "de", "Baut Drachen."),
        ("roles", "9111.1", "family", "fr", "Métiers légers"),
    ]
    assert ("skills_de.csv", 3, "conceptUri") in get_remarks(loaded)
    assert not get_errors(loaded)
