"""ESCO loader on files with faults: each is named with its address, and the rest is loaded."""

from __future__ import annotations

from pathlib import Path

import pytest
from esco_rows import (
    BASE,
    HANDIWORK,
    HEADERS,
    KNOTS,
    MAKER,
    TESTER,
    WINDS,
    build_rows,
    format_csv,
    get_errors,
    get_remarks,
    load,
    write_folder,
    write_official_zips,
)

from loaders.open_data.esco import load_esco
from ontology.errors import FileFormatError


def test_relation_to_an_unknown_occupation_or_skill_is_an_error_and_the_rest_is_loaded(tmp_path: Path) -> None:
    rows = build_rows()
    rows["occupationSkillRelations"][:0] = [
        {"occupationUri": BASE + "occupation/none", "relationType": "essential", "skillUri": KNOTS},
        {"occupationUri": TESTER, "relationType": "optional", "skillUri": BASE + "skill/none"},
        {"occupationUri": TESTER, "relationType": "nice", "skillUri": KNOTS},
    ]
    loaded = load(tmp_path, rows)
    assert get_errors(loaded) == [
        ("occupationSkillRelations.csv", 2, "occupationUri", BASE + "occupation/none"),
        ("occupationSkillRelations.csv", 3, "skillUri", BASE + "skill/none"),
        ("occupationSkillRelations.csv", 4, "relationType", "nice"),
    ]
    assert len(loaded.records["requirements"]) == 3


def test_dangling_broader_links_are_errors_on_either_side(tmp_path: Path) -> None:
    rows = build_rows()
    none = BASE + "skill/none"
    rows["broaderRelationsSkillPillar"] += [
        {"conceptUri": none, "broaderUri": HANDIWORK},
        {"conceptUri": KNOTS, "broaderUri": none},
        {"conceptUri": none, "broaderUri": none},
    ]
    loaded = load(tmp_path, rows)
    file = "broaderRelationsSkillPillar.csv"
    assert get_errors(loaded) == [
        (file, 7, "conceptUri", none),
        (file, 8, "broaderUri", none),
        (file, 9, "conceptUri", none),
        (file, 9, "broaderUri", none),
    ]
    assert sum(len(c.broader) for c in loaded.records["competencies"]) == 5


def test_self_links_are_remarks_and_not_kept(tmp_path: Path) -> None:
    rows = build_rows()
    rows["broaderRelationsSkillPillar"].append({"conceptUri": WINDS, "broaderUri": WINDS})
    rows["skillSkillRelations"].append({"originalSkillUri": WINDS, "relatedSkillUri": WINDS})
    loaded = load(tmp_path, rows)
    remarks = get_remarks(loaded)
    assert ("broaderRelationsSkillPillar.csv", 7, "broaderUri") in remarks
    assert ("skillSkillRelations.csv", 3, "relatedSkillUri") in remarks
    assert not get_errors(loaded)
    assert loaded.records["competencies"][1].broader == ("isced-f-0532",)


def test_unknown_skill_in_a_relation_between_skills_is_an_error(tmp_path: Path) -> None:
    rows = build_rows()
    rows["skillSkillRelations"].append({"originalSkillUri": BASE + "skill/none", "relatedSkillUri": WINDS})
    assert get_errors(load(tmp_path, rows)) == [("skillSkillRelations.csv", 3, "originalSkillUri", BASE + "skill/none")]


def test_blank_type_is_read_as_a_skill_with_a_remark(tmp_path: Path) -> None:
    rows = build_rows()
    rows["skills_en"][1]["skillType"] = ""
    loaded = load(tmp_path, rows)
    assert ("skills_en.csv", 3, "skillType") in get_remarks(loaded)
    assert loaded.records["competencies"][1].kind == "skill"


@pytest.mark.parametrize(
    ("name", "change", "column"),
    [
        ("skills_en", {"skillType": "talent"}, "skillType"),
        ("skills_en", {"conceptUri": KNOTS}, "conceptUri"),
        ("skills_en", {"conceptUri": ""}, "conceptUri"),
        ("skills_en", {"conceptUri": "http://a b/c"}, "conceptUri"),
        ("skills_en", {"preferredLabel": " "}, "preferredLabel"),
        ("skillGroups_en", {"conceptUri": KNOTS}, "conceptUri"),
        ("occupations_en", {"code": ""}, "code"),
        ("occupations_en", {"code": "9111.1"}, "code"),
        ("occupations_en", {"conceptUri": MAKER}, "conceptUri"),
        ("occupations_en", {"conceptUri": "maker"}, "conceptUri"),
        ("occupations_en", {"preferredLabel": ""}, "preferredLabel"),
    ],
)
def test_faulty_concept_is_an_error_with_its_address_and_left_out(
    tmp_path: Path, name: str, change: dict[str, str], column: str
) -> None:
    rows = build_rows()
    sound = {
        "skills_en": {"conceptUri": BASE + "skill/new", "skillType": "knowledge", "preferredLabel": "new"},
        "skillGroups_en": {"conceptUri": BASE + "skill/new", "preferredLabel": "new"},
        "occupations_en": {"conceptUri": BASE + "occupation/new", "code": "1.1", "preferredLabel": "new"},
    }[name]
    rows[name].append(sound | change)
    loaded = load(tmp_path, rows)
    ((source, row, found, _),) = get_errors(loaded)
    assert (source, row, found) == (f"{name}.csv", len(rows[name]) + 1, column)
    assert loaded.count() == {"scales": 1, "competencies": 6, "roles": 2, "requirements": 3}


def test_duplicate_relations_and_links_are_errors_and_the_first_stands(tmp_path: Path) -> None:
    rows = build_rows()
    rows["occupationSkillRelations"].append(
        {"occupationUri": MAKER, "relationType": "optional", "skillUri": KNOTS},
    )
    rows["broaderRelationsSkillPillar"].append(rows["broaderRelationsSkillPillar"][0])
    loaded = load(tmp_path, rows)
    assert get_errors(loaded) == [
        ("broaderRelationsSkillPillar.csv", 7, "broaderUri", HANDIWORK),
        ("occupationSkillRelations.csv", 5, "skillUri", KNOTS),
    ]
    assert loaded.records["requirements"][0].necessity == "essential"


def test_unknown_isco_group_is_a_remark_and_its_code_the_family(tmp_path: Path) -> None:
    rows = build_rows()
    rows["occupations_en"][1]["iscoGroup"] = "9999"
    loaded = load(tmp_path, rows)
    assert ("occupations_en.csv", 3, "iscoGroup") in get_remarks(loaded)
    assert loaded.records["roles"][1].family == "9999"


def test_row_of_the_wrong_width_is_an_error(tmp_path: Path) -> None:
    write_folder(tmp_path, build_rows())
    with (tmp_path / "occupationSkillRelations.csv").open("a", encoding="utf-8") as file:
        file.write(f"\n{MAKER},essential\n")
    loaded = load_esco(tmp_path)
    # the blank line is row 5 of a spreadsheet
    assert get_errors(loaded) == [("occupationSkillRelations.csv", 6, "", MAKER)]
    assert len(loaded.records["requirements"]) == 3


def test_missing_files_are_all_named(tmp_path: Path) -> None:
    rows = build_rows()
    del rows["skills_en"], rows["skillSkillRelations"]
    with pytest.raises(FileFormatError, match=r"skills\*\.csv, skillSkillRelations\*\.csv not found"):
        load(tmp_path, rows)


def test_one_of_the_two_official_zips_is_not_enough(tmp_path: Path) -> None:
    write_official_zips(tmp_path, build_rows())
    with pytest.raises(FileFormatError, match=r"occupationSkillRelations\*\.csv"):
        load_esco(tmp_path / "ESCO dataset - v9.8.7 - classification - en - csv.zip")


@pytest.mark.parametrize("name", HEADERS)
def test_missing_column_is_named_with_its_file(tmp_path: Path, name: str) -> None:
    write_folder(tmp_path, build_rows())
    wanted = {"occupationSkillRelations": "skillUri", "skillSkillRelations": "relatedSkillUri"}.get(
        name, "preferredLabel" if name.endswith("_en") else "broaderUri"
    )
    header = HEADERS[name].replace(wanted, "other")
    (tmp_path / f"{name}.csv").write_bytes(format_csv(name, build_rows()[name], header))
    with pytest.raises(FileFormatError) as caught:
        load_esco(tmp_path)
    assert f"{name}.csv" in caught.value.detail
    assert repr(wanted) in caught.value.detail


@pytest.mark.parametrize("damage", ["empty", "cut", "no container", "changed inside"])
def test_damaged_container_is_named(tmp_path: Path, damage: str) -> None:
    write_official_zips(tmp_path, build_rows())
    (path,) = tmp_path.glob("*- en -*.zip")
    whole = path.read_bytes()
    inside = bytearray(whole)
    # behind the local header of the first member: its packed bytes
    inside[120:140] = b"\xff" * 20
    path.write_bytes(
        {"empty": b"", "cut": whole[: len(whole) // 2], "no container": b"hello", "changed inside": bytes(inside)}[
            damage
        ]
    )
    with pytest.raises(FileFormatError, match="v9\\.8\\.7"):
        load_esco(tmp_path)


@pytest.mark.parametrize("content", [b"conceptUri\n\xff\xfe\n", b'conceptUri\n"never closed\n'])
def test_unreadable_csv_file_is_named(tmp_path: Path, content: bytes) -> None:
    write_folder(tmp_path, build_rows())
    (tmp_path / "skills_en.csv").write_bytes(content)
    with pytest.raises(FileFormatError, match=r"skills_en\.csv .* cannot be read"):
        load_esco(tmp_path)


def test_path_that_does_not_exist_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="nowhere"):
        load_esco(tmp_path / "nowhere")
