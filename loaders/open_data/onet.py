"""O*NET: occupations as roles, skills and knowledge as competencies, ratings as requirements.

Source: the Excel edition of the O*NET database (US Department of Labor, Employment and Training Administration, CC BY
4.0, www.onetcenter.org/database.html).
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loaders.open_data.faults import Faults, Progress, parse_number, read_text
from loaders.open_data.onet_elements import build_competencies, build_scales, read_anchors, read_elements
from loaders.open_data.onet_ratings import Ratings, read_ratings
from loaders.open_data.onet_sheets import (
    JOB_ZONES,
    KNOWLEDGE,
    OCCUPATIONS,
    SKILLS,
    SOC,
    ZONE,
    ZONE_REFERENCE,
    is_onet,
    read_release,
    read_sheet,
    require_files,
)
from loaders.report import Loaded
from ontology.model.columns import ID_PATTERN
from ontology.model.framework_tables import ROLES
from ontology.model.records import Role

__all__ = ["ATTRIBUTION", "is_onet", "load_onet"]

ATTRIBUTION: Final = "by the U.S. Department of Labor, Employment and Training Administration, used under CC BY 4.0"


def load_onet(folder: Path, progress: Progress | None = None) -> Loaded:
    """Load the folder of official O*NET Excel files.

    Parameters
    ----------
    folder : Path
        Holds the files of `onet_sheets.FILES`; others are not read.
    progress : callable, optional
        Called with (file, rows done, rows in all) while the ratings are read.

    Returns
    -------
    Loaded
        Roles (id: the SOC code; family: the job zone), competencies (id: the element id; the rated elements and all
        elements above them), scales, requirements (level: the decimal level rounded half up, at least 1, kept as
        `measured_level`; weight: the importance). Rows with an error finding are left out of the records.

    Raises
    ------
    FileFormatError
        A file or a column of it is missing, or a file is damaged.
    LimitError
        A file would unpack to too much.

    Notes
    -----
    O(n) time and memory for n rows.
    """
    folder = Path(folder)
    require_files(folder)
    faults = Faults()
    occupations = _read_occupations(folder, faults)
    zones = _read_zones(folder, occupations, faults)
    elements = read_elements(folder, faults)
    anchors = read_anchors(folder, elements, faults)
    ratings = Ratings()
    for file, kind in ((SKILLS, "skill"), (KNOWLEDGE, "knowledge")):
        sheet = read_sheet(folder, file)
        read_ratings(sheet, kind, set(occupations), set(elements), ratings, faults, progress)
    requirements = ratings.build_requirements(faults)
    competencies = build_competencies(ratings.kinds, elements, faults)
    _add_occupation_remarks(occupations, zones, ratings.occupations, {r.role for r in requirements}, faults)
    return Loaded(
        records={
            "scales": list(build_scales(ratings.kinds, elements, anchors)),
            "competencies": list(competencies),
            "roles": [_build_role(occupation, zones) for occupation in occupations.values()],
            "requirements": list(requirements),
        },
        extra=[],
        findings=faults.findings,
        label=f"{read_release(folder)} {ATTRIBUTION}",
    )


@dataclass(frozen=True, slots=True)
class _Occupation:
    soc: str
    title: str
    description: str
    row: int


def _build_role(occupation: _Occupation, zones: Mapping[str, str]) -> Role:
    role: Role = ROLES.build(
        id=occupation.soc,
        label=occupation.title,
        family=zones.get(occupation.soc, ""),
        definition=occupation.description,
    )
    return role


def _read_occupations(folder: Path, faults: Faults) -> dict[str, _Occupation]:
    """Return SOC code -> occupation."""
    occupations: dict[str, _Occupation] = {}
    for row, (code, title, description) in read_sheet(folder, OCCUPATIONS).iterate():
        soc, label = read_text(code), read_text(title)
        if not ID_PATTERN.fullmatch(soc):
            faults.add_error(OCCUPATIONS, row, SOC, soc, "A code is digits with a hyphen and a dot, like 11-1011.00.")
        elif soc in occupations:
            faults.add_error(OCCUPATIONS, row, SOC, soc, "The occupation is here twice: duplicate key.")
        elif not label:
            faults.add_error(OCCUPATIONS, row, "Title", "", "An occupation needs a title.")
        else:
            occupations[soc] = _Occupation(soc, label, read_text(description), row)
    return occupations


def _read_zones(folder: Path, occupations: Mapping[str, _Occupation], faults: Faults) -> dict[str, str]:
    """Return SOC code -> name of its job zone ("Job Zone n" where the reference has none)."""
    names: dict[str, str] = {}
    for row, (zone, name) in read_sheet(folder, ZONE_REFERENCE).iterate():
        if read_text(zone) in names:
            faults.add_error(ZONE_REFERENCE, row, ZONE, zone, "The job zone is here twice: duplicate key.")
        else:
            names[read_text(zone)] = read_text(name)
    zones: dict[str, str] = {}
    for row, (code, zone) in read_sheet(folder, JOB_ZONES).iterate():
        soc, number = read_text(code), parse_number(zone)
        if soc not in occupations:
            faults.add_error(JOB_ZONES, row, SOC, soc, f"There is no such occupation in {OCCUPATIONS}.")
        elif number is None or not number.is_integer() or number < 1:
            faults.add_error(JOB_ZONES, row, ZONE, zone, "A job zone is a whole number from 1.")
        elif soc in zones:
            faults.add_error(JOB_ZONES, row, SOC, soc, "The occupation has a job zone already: duplicate key.")
        else:
            zones[soc] = names.get(str(int(number))) or f"Job Zone {int(number)}"
    return zones


def _add_occupation_remarks(
    occupations: Mapping[str, _Occupation],
    zones: Mapping[str, str],
    rated: Set[str],
    required: Set[str],
    faults: Faults,
) -> None:
    unrated = sum(1 for soc in occupations if soc not in rated)
    if unrated:
        reason = f"{unrated} of {len(occupations)} occupations have no ratings: kept as roles without requirements."
        faults.add_remark(OCCUPATIONS, 0, "", "", reason)
    for soc, occupation in occupations.items():
        if soc not in rated:
            faults.add_remark(OCCUPATIONS, occupation.row, SOC, soc, "No ratings: a role without requirements.")
        elif soc not in required:
            reason = "No rating reaches level 0.5 and is relevant: a role without requirements."
            faults.add_remark(OCCUPATIONS, occupation.row, SOC, soc, reason)
    without_zone = [occupation for soc, occupation in occupations.items() if soc not in zones]
    if without_zone:
        reason = f"{len(without_zone)} occupations have no job zone: their family is empty."
        faults.add_remark(JOB_ZONES, 0, ZONE, "", reason)
