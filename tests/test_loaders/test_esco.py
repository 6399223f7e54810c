"""ESCO loader on files with the official headers and invented rows."""

from __future__ import annotations

import csv
import io
import zipfile
from pathlib import Path
from typing import Any

import pytest

from loaders.open_data.esco import load_esco
from loaders.open_data.esco_files import is_esco
from loaders.report import Loaded
from ontology.errors import FileFormatError
from ontology.model.records import Competency, Requirement, Role
from ontology.rdf.namespaces import GRAPH_FRAMEWORK

#: The official header rows (ESCO 1.1.1, CSV edition).
HEADERS: dict[str, str] = {
    "occupations_en": "conceptType,conceptUri,iscoGroup,preferredLabel,altLabels,hiddenLabels,status,modifiedDate,"
    "regulatedProfessionNote,scopeNote,definition,inScheme,description,code",
    "skills_en": "conceptType,conceptUri,skillType,reuseLevel,preferredLabel,altLabels,hiddenLabels,status,"
    "modifiedDate,scopeNote,definition,inScheme,description",
    "skillGroups_en": "conceptType,conceptUri,preferredLabel,altLabels,hiddenLabels,status,modifiedDate,scopeNote,"
    "inScheme,description,code",
    "ISCOGroups_en": "conceptType,conceptUri,code,preferredLabel,status,altLabels,inScheme,description",
    "broaderRelationsSkillPillar": "conceptType,conceptUri,broaderType,broaderUri",
    "occupationSkillRelations": "occupationUri,relationType,skillType,skillUri",
    "skillSkillRelations": "originalSkillUri,originalSkillType,relationType,relatedSkillType,relatedSkillUri",
}
LANGUAGE_FILES = [name for name in HEADERS if name.endswith("_en")]

BASE = "http://data.europa.eu/esco/"
KNOTS, WINDS, KITES = (BASE + f"skill/{name}" for name in ("aaaa-knots", "aaaa-winds", "aaaa-kites"))
HANDIWORK, LORE, WEATHER = BASE + "skill/gggg-hand", BASE + "skill/gggg-lore", BASE + "isced-f/0532"
MAKER, TESTER = BASE + "occupation/oooo-maker", BASE + "occupation/oooo-tester"

Rows = dict[str, list[dict[str, str]]]


def build_rows() -> Rows:
    """Two occupations, three skills, three groups."""
    return {
        "occupations_en": [
            {
                "conceptUri": MAKER,
                "iscoGroup": "9111",
                "preferredLabel": "kite maker",
                "description": "Makes kites.",
                "code": "9111.1",
            },
            {"conceptUri": TESTER, "iscoGroup": "9112", "preferredLabel": "kite tester", "code": "9112.1.2"},
        ],
        "ISCOGroups_en": [
            {"code": "9111", "preferredLabel": "Makers of light things"},
            {"code": "9112", "preferredLabel": "Testers of light things"},
        ],
        "skills_en": [
            {
                "conceptUri": KNOTS,
                "skillType": "skill/competence",
                "preferredLabel": "tie knots ",
                "altLabels": "knot\ntie knots\nmake knots",
                "description": "Tie\nknots.",
            },
            {"conceptUri": WINDS, "skillType": "knowledge", "preferredLabel": "winds"},
            {"conceptUri": KITES, "skillType": "skill/competence", "preferredLabel": "make kites"},
        ],
        "skillGroups_en": [
            {"conceptUri": HANDIWORK, "preferredLabel": "handiwork", "code": "S1"},
            {"conceptUri": LORE, "preferredLabel": "lore", "code": "K"},
            {"conceptUri": WEATHER, "preferredLabel": "weather", "description": "Of the air."},
        ],
        "broaderRelationsSkillPillar": [
            {"conceptUri": KNOTS, "broaderUri": HANDIWORK},
            {"conceptUri": KITES, "broaderUri": HANDIWORK},
            {"conceptUri": KNOTS, "broaderUri": KITES},
            {"conceptUri": WINDS, "broaderUri": WEATHER},
            {"conceptUri": WEATHER, "broaderUri": LORE},
        ],
        "occupationSkillRelations": [
            {"occupationUri": MAKER, "relationType": "essential", "skillUri": KNOTS},
            {"occupationUri": MAKER, "relationType": "optional", "skillUri": WINDS},
            {"occupationUri": TESTER, "relationType": "essential", "skillUri": WINDS},
        ],
        "skillSkillRelations": [
            {"originalSkillUri": KNOTS, "relationType": "optional", "relatedSkillUri": WINDS},
        ],
    }


def format_csv(name: str, rows: list[dict[str, str]], header: str = "") -> bytes:
    text = io.StringIO(newline="")
    columns = (header or HEADERS[name]).split(",")
    writer = csv.DictWriter(text, columns, restval="", lineterminator="\n", extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


def write_zip(path: Path, files: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return path


def write_folder(folder: Path, rows: Rows) -> Path:
    for name, content in rows.items():
        (folder / f"{name}.csv").write_bytes(format_csv(name, content))
    return folder


def write_official_zips(folder: Path, rows: Rows) -> Path:
    """Write the two containers as they are published: relations in one, a language in the other."""
    files = {f"{name}.csv": format_csv(name, content) for name, content in rows.items()}
    language = {name: content for name, content in files.items() if name[:-4] in LANGUAGE_FILES}
    plain = {name: content for name, content in files.items() if name not in language}
    write_zip(folder / "ESCO dataset - v9.8.7 - classification - en - csv.zip", language)
    write_zip(folder / "ESCO dataset - v9.8.7 - classification -  - csv.zip", plain)
    return folder


def load(folder: Path, rows: Rows) -> Loaded:
    return load_esco(write_folder(folder, rows))


def get_errors(loaded: Loaded) -> list[tuple[str, int, str, str]]:
    return [(f.source, f.row, f.column, f.value) for f in loaded.findings if f.severity == "error"]


def get_remarks(loaded: Loaded) -> list[tuple[str, int, str]]:
    return [(f.source, f.row, f.column) for f in loaded.findings if f.severity == "remark"]


def test_occupations_become_roles_with_their_isco_group_as_family(tmp_path: Path) -> None:
    loaded = load(tmp_path, build_rows())
    assert loaded.records["roles"] == [
        Role("9111.1", "kite maker", "Makers of light things", "Makes kites.", 12),
        Role("9112.1.2", "kite tester", "Testers of light things", "", 12),
    ]
    assert not get_errors(loaded)


def test_official_iri_of_an_occupation_is_an_exact_match_in_the_framework_graph(tmp_path: Path) -> None:
    extra = load(tmp_path, build_rows()).extra
    assert extra[0] == (
        GRAPH_FRAMEWORK,
        "<https://newel.example/id/role/9111.1>",
        "<http://www.w3.org/2004/02/skos/core#exactMatch>",
        f"<{MAKER}>",
    )
    assert len(extra) == 2


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
