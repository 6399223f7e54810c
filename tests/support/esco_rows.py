"""Files as ESCO publishes them: the official headers, invented rows."""

from __future__ import annotations

import csv
import io
import zipfile
from pathlib import Path

from loaders.open_data.esco import load_esco
from loaders.report import Loaded

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
