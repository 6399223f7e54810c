"""A framework written as an edition of ESCO is published, and a branch cut out of ESCO."""

from __future__ import annotations

from pathlib import Path

from edited_esco import Records
from esco_rows import Rows, write_folder

from ontology.snapshot.snapshot import Snapshot

__all__ = ["cut_branch", "write_edition"]


def write_edition(folder: Path, records: Records) -> Path:
    """Write competencies, roles and requirements as the CSV files of an edition, each under the address it names."""
    folder.mkdir()
    addresses = {
        (table, one.id): one.exact_match[0] for table in ("competencies", "roles") for one in records[table].values()
    }
    families = {family: f"C{n}" for n, family in enumerate(sorted({one.family for one in records["roles"].values()}))}
    rows: Rows = {
        "ISCOGroups_en": [{"code": code, "preferredLabel": family} for family, code in families.items()],
        "skillGroups_en": [],
        "skillSkillRelations": [],
    }
    rows["skills_en"] = [
        {
            "conceptUri": addresses["competencies", one.id],
            "skillType": "knowledge" if one.kind == "knowledge" else "skill/competence",
            "preferredLabel": one.label,
            "altLabels": "\n".join(one.alt_labels),
            "description": one.definition,
        }
        for one in records["competencies"].values()
    ]
    rows["broaderRelationsSkillPillar"] = [
        {"conceptUri": addresses["competencies", one.id], "broaderUri": addresses["competencies", above]}
        for one in records["competencies"].values()
        for above in one.broader
    ]
    rows["occupations_en"] = [
        {
            "conceptUri": addresses["roles", one.id],
            "iscoGroup": families[one.family],
            "preferredLabel": one.label,
            "description": one.definition,
            "code": one.id,
        }
        for one in records["roles"].values()
    ]
    rows["occupationSkillRelations"] = [
        {
            "occupationUri": addresses["roles", one.role],
            "relationType": "essential" if one.necessity == "essential" else "optional",
            "skillUri": addresses["competencies", one.competency],
        }
        for one in records["requirements"].values()
    ]
    return write_folder(folder, rows)


def cut_branch(state: Snapshot, beginning: str) -> Snapshot:
    """Return the roles whose codes begin so, what they ask, and all that is broader than that."""
    roles = {one for one in state.roles if one.startswith(beginning)}
    asked = {key: one for key, one in state.get_table("requirements").items() if one.role in roles}
    kept, open_ones = set[str](), [one.competency for one in asked.values()]
    while open_ones:
        one = open_ones.pop()
        if one not in kept:
            kept.add(one)
            open_ones += state.competencies[one].broader
    return Snapshot(
        {
            "scales": state.get_table("scales").values(),
            "competencies": [one for one in state.competencies.values() if one.id in kept],
            "roles": [one for one in state.roles.values() if one.id in roles],
            "requirements": asked.values(),
        }
    )
