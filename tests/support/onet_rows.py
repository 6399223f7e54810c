"""Files as O*NET publishes them: the official headers, invented rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter

from loaders.open_data.onet import load_onet
from loaders.report import Loaded
from ontology.model.records import Requirement

RATING_HEADER = [
    "O*NET-SOC Code",
    "Title",
    "Element ID",
    "Element Name",
    "Scale ID",
    "Scale Name",
    "Data Value",
    "N",
    "Standard Error",
    "Lower CI Bound",
    "Upper CI Bound",
    "Recommend Suppress",
    "Not Relevant",
    "Date",
    "Domain Source",
]


#: The official header rows (O*NET data dictionary, Excel edition).
HEADERS: dict[str, list[str]] = {
    "Occupation Data": ["O*NET-SOC Code", "Title", "Description"],
    "Job Zone Reference": ["Job Zone", "Name", "Experience", "Education", "Job Training", "Examples", "SVP Range"],
    "Job Zones": ["O*NET-SOC Code", "Title", "Job Zone", "Date", "Domain Source"],
    "Content Model Reference": ["Element ID", "Element Name", "Description"],
    "Level Scale Anchors": [
        "Element ID",
        "Element Name",
        "Scale ID",
        "Scale Name",
        "Anchor Value",
        "Anchor Description",
    ],
    "Skills": RATING_HEADER,
    "Knowledge": RATING_HEADER,
}
Sheets = dict[str, list[list[Any]]]


def rating(soc: str, element: str, scale: str, value: Any, suppress: str = "N", not_relevant: str = "") -> list[Any]:
    return [soc, "", element, "", scale, "", value, 8, "", "", "", suppress, not_relevant, "01/2026", "Analyst"]


def pair(soc: str, element: str, importance: Any, level: Any, **marks: str) -> list[list[Any]]:
    return [rating(soc, element, "IM", importance), rating(soc, element, "LV", level, **marks)]


def build_sheets() -> Sheets:
    """Two kite makers and one occupation without ratings; one skill, two pieces of knowledge."""
    return {
        "Occupation Data": [
            ["91-0001.00", "Kite Makers", "Make kites."],
            ["91-0002.00", "Kite Testers", "Fly kites."],
            ["91-0003.00", "Kite Dreamers", "Dream of kites."],
        ],
        "Job Zone Reference": [[2, "Zone two: some preparation", "", "", "", "", ""]],
        "Job Zones": [["91-0001.00", "", 2, "", ""], ["91-0002.00", "", 4, "", ""]],
        "Content Model Reference": [
            ["1", "Something Else", ""],
            ["9", "All of It", "The top."],
            ["9.A", "Handiwork", ""],
            ["9.A.1", "Knots", "Tying knots."],
            ["9.B", "Lore", ""],
            ["9.B.1", "Winds", ""],
            ["9.B.10", "Clouds", ""],
        ],
        "Level Scale Anchors": [
            ["9.A.1", "", "LV", "", 2, "Tie a bow"],
            ["9.A.1", "", "LV", "", 5, "Splice a rope"],
            ["9.A.1", "", "LV", "", 5, "Mend a net"],
            ["1", "", "LV", "", 3, "Unused"],
        ],
        "Skills": pair("91-0001.00", "9.A.1", 4.12, 4.62) + pair("91-0002.00", "9.A.1", 2, 2.5),
        "Knowledge": pair("91-0001.00", "9.B.1", 3.5, 0.5) + pair("91-0001.00", "9.B.10", 5, 6.96),
    }


def write_folder(folder: Path, sheets: Mapping[str, Sequence[Sequence[Any]]], headers: Mapping[str, Any]) -> Path:
    for name, rows in sheets.items():
        with xlsxwriter.Workbook(folder / f"{name}.xlsx") as book:
            sheet = book.add_worksheet(name)
            for number, row in enumerate([headers[name], *rows]):
                sheet.write_row(number, 0, row)
    return folder


def load(folder: Path, sheets: Sheets) -> Loaded:
    return load_onet(write_folder(folder, sheets, HEADERS))


def get_requirement(loaded: Loaded, role: str, competency: str) -> Requirement:
    (found,) = [r for r in loaded.records["requirements"] if (r.role, r.competency) == (role, competency)]
    return found


def get_errors(loaded: Loaded) -> list[tuple[str, int, str, str]]:
    return [(f.source, f.row, f.column, f.value) for f in loaded.findings if f.severity == "error"]
