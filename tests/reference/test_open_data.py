"""The official open data sets, as published, against the figures known of them; and similar roles against O*NET.

Sources: O*NET 29.2 database, Excel edition (February 2025, US Department of Labor/ETA, CC BY 4.0,
https://www.onetcenter.org/database.html); ESCO 1.1.1 classification, English CSV edition (European Commission,
Decision 2011/833/EU, https://esco.ec.europa.eu/en/use-esco/download). Skipped where the files are not there.
"""

from __future__ import annotations

from collections import Counter, defaultdict

import networkx as nx
import pytest
from small_company import NO_REFERENCE, REFERENCE

from loaders.open_data import esco_files
from loaders.open_data.esco import load_esco
from loaders.open_data.esco_files import EscoFiles, is_esco
from loaders.open_data.faults import Faults
from loaders.open_data.onet import is_onet, load_onet
from loaders.open_data.onet_sheets import KNOWLEDGE, SKILLS, read_sheet
from loaders.report import Loaded
from ontology.snapshot.snapshot import Snapshot
from tests.benchmarks.similar_roles import measure_agreement, read_related

ONET = REFERENCE / "onet"
ESCO = REFERENCE / "esco"
needs_onet = pytest.mark.skipif(not ONET.is_dir(), reason=NO_REFERENCE)
needs_esco = pytest.mark.skipif(not ESCO.is_dir(), reason=NO_REFERENCE)


@pytest.fixture(scope="module")
def onet() -> Loaded:
    return load_onet(ONET)


@pytest.fixture(scope="module")
def onet_snapshot(onet: Loaded) -> Snapshot:
    return Snapshot(onet.records)


@pytest.fixture(scope="module")
def esco() -> Loaded:
    return load_esco(ESCO)


# ---- O*NET 29.2 ----


@needs_onet
def test_onet_folder_is_recognised_and_loads_without_errors(onet: Loaded) -> None:
    """The official files hold no error, only gaps."""
    assert is_onet(ONET)
    assert not [f for f in onet.findings if f.severity == "error"]
    assert onet.label.startswith("O*NET 29.2 Database")


@needs_onet
def test_onet_has_1016_occupations_of_which_137_have_no_ratings(onet: Loaded) -> None:
    """O*NET 29.2: Occupation Data has 1,016 codes, Skills rates 879 of them."""
    assert len(onet.records["roles"]) == 1016
    assert len({r.role for r in onet.records["requirements"]}) == 879
    unrated = {f.value for f in onet.findings if f.source == "Occupation Data.xlsx" and f.row}
    assert len(unrated) == 137
    assert "15-1252.00" in unrated
    assert any(f.reason.startswith("137 of 1016 occupations") for f in onet.findings)


@needs_onet
@pytest.mark.parametrize(
    ("file", "rows", "importance", "level"),
    [(SKILLS, 61_530, 79_763.02, 73_107.82), (KNOWLEDGE, 58_014, 65_921.36, 61_276.72)],
)
def test_onet_ratings_are_read_whole(file: str, rows: int, importance: float, level: float) -> None:
    """Row counts and sums of the official column Data Value, O*NET 29.2, summed outside this project."""
    sheet = read_sheet(ONET, file)
    sums: Counter[str] = Counter()
    for _, (_soc, _element, scale, value, _suppress, _relevant) in sheet.iterate():
        sums[scale] += value
    assert len(sheet.rows) == rows
    assert (round(sums["IM"], 2), round(sums["LV"], 2)) == (importance, level)


@needs_onet
@pytest.mark.parametrize(
    ("role", "importance", "level", "rank"),
    [("11-1011.00", 4.12, 4.62, 5), ("29-1141.00", 3.88, 4.25, 4), ("47-2111.00", 3.12, 3.25, 3)],
)
def test_onet_reading_comprehension(
    onet_snapshot: Snapshot, role: str, importance: float, level: float, rank: int
) -> None:
    """O*NET 29.2, Skills, 2.A.1.a: chief executives, registered nurses, electricians."""
    found = onet_snapshot.get_record("requirements", (role, "2.A.1.a"))
    assert (found.weight, found.measured_level, found.level) == (importance, level, rank)


@needs_onet
def test_onet_competencies_are_the_rated_elements_and_those_above(onet: Loaded) -> None:
    """O*NET 29.2 content model: 35 skills and 33 kinds of knowledge, in a tree by dotted ids."""
    competencies = onet.records["competencies"]
    rated = [c for c in competencies if c.scale != "onet-level"]
    assert Counter(c.kind for c in rated) == {"skill": 35, "knowledge": 33}
    ids = {c.id for c in competencies}
    assert all(c.broader == ((c.id.rpartition(".")[0],) if "." in c.id else ()) for c in competencies)
    assert {parent for c in competencies for parent in c.broader} <= ids
    assert {c.id: (c.label, c.kind) for c in competencies}["2.C.4"] == ("Mathematics and Science", "knowledge")


@needs_onet
def test_onet_anchors_stand_at_their_levels(onet: Loaded) -> None:
    """O*NET 29.2, Level Scale Anchors: three anchors for each of the 68 rated elements; for 2.A.1.a at 2, 4 and 6."""
    anchored = [level for level in onet.records["scales"] if level.description]
    assert len(anchored) == 68 * 3
    assert [level.rank for level in anchored if level.scale == "onet-2.A.1.a"] == [2, 4, 6]
    assert len(onet.records["scales"]) == 69 * 7


@needs_onet
def test_onet_families_are_job_zones(onet: Loaded) -> None:
    """O*NET 29.2: 923 occupations have a job zone; chief executives are in zone five."""
    families = Counter(role.family for role in onet.records["roles"])
    assert families[""] == 1016 - 923
    assert len(families) == 6
    (chief,) = [role for role in onet.records["roles"] if role.id == "11-1011.00"]
    assert chief.family == "Job Zone Five: Extensive Preparation Needed"


@needs_onet
def test_onet_requirements_are_what_is_relevant_from_half_a_level_up(onet: Loaded) -> None:
    """Counted from the rows themselves: level >= 0.5 and Not Relevant not Y; suppressed levels carry a remark."""
    relevant, suppressed = 0, 0
    for file in (SKILLS, KNOWLEDGE):
        for _, (_soc, _element, scale, value, suppress, not_relevant) in read_sheet(ONET, file).iterate():
            if scale == "LV" and value >= 0.5 and not_relevant != "Y":
                relevant += 1
                suppressed += suppress == "Y"
    requirements = onet.records["requirements"]
    assert len(requirements) == relevant
    assert sum("level" in r.remark for r in requirements) == suppressed > 0
    assert all(1 <= r.level <= 7 and abs(r.level - r.measured_level) <= 0.5 for r in requirements)


# ---- ESCO 1.1.1 ----


@needs_esco
def test_esco_zips_are_recognised_and_load_with_the_counts_of_the_release(esco: Loaded) -> None:
    """ESCO 1.1.1: 3,007 occupations, 13,896 skills (and 640 groups), 123,855 relations of which 123,788 are usable."""
    assert is_esco(ESCO)
    assert esco.label.startswith("ESCO 1.1.1 (en)")
    assert esco.count() == {"scales": 1, "competencies": 13_896 + 640, "roles": 3007, "requirements": 123_788}
    assert sum(len(role.exact_match) for role in esco.records["roles"]) == 3007


@needs_esco
def test_esco_occupations_have_their_essential_and_optional_skills(esco: Loaded) -> None:
    """ESCO 1.1.1: data scientist (2511.4) 54 + 21, electrician (7411.1) 21 + 34."""
    counts = Counter((r.role, r.necessity) for r in esco.records["requirements"])
    labels = {role.id: role.label for role in esco.records["roles"]}
    for code, label, essential, optional in (("2511.4", "data scientist", 54, 21), ("7411.1", "electrician", 21, 34)):
        assert labels[code] == label
        assert (counts[code, "essential"], counts[code, "desirable"]) == (essential, optional)


@needs_esco
def test_esco_relations_are_as_many_as_published() -> None:
    """ESCO 1.1.1: 64,946 essential and 58,909 optional relations; 20,656 broader links; 619 ISCO groups."""
    faults = Faults()
    with EscoFiles(ESCO) as files:
        relations = files.read(esco_files.RELATIONS)
        links = files.read(esco_files.BROADER_LINKS)
        groups = files.read(esco_files.ISCO_GROUPS)
    assert Counter(relation for _, (_, relation, _) in relations.iterate(faults)) == {
        "essential": 64_946,
        "optional": 58_909,
    }
    assert (len(links.rows), len(groups.rows)) == (20_656, 619)
    assert not faults.findings


@needs_esco
def test_esco_skill_pillar_is_acyclic_with_several_parents_and_a_longest_chain_of_ten(esco: Loaded) -> None:
    """ESCO 1.1.1: 4,646 concepts with several parents, longest chain 10 links; networkx as the outside judge.

    Of the 20,656 published links 7 dangle: the rest is kept.
    """
    graph = nx.DiGraph((c.id, parent) for c in esco.records["competencies"] for parent in c.broader)
    assert graph.number_of_edges() == 20_656 - 7
    assert nx.is_directed_acyclic_graph(graph)
    assert nx.dag_longest_path_length(graph) == 10
    assert sum(len(c.broader) > 1 for c in esco.records["competencies"]) == 4646


@needs_esco
def test_esco_faults_are_found_with_their_addresses(esco: Loaded) -> None:
    """ESCO 1.1.1: 67 relations to one missing occupation; 7 concepts and 1 broader concept dangle; 6 blank types."""
    values: defaultdict[tuple[str, str, str], list[str]] = defaultdict(list)
    for finding in esco.findings:
        values[finding.severity, finding.source, finding.column].append(finding.value)
    missing = values["error", "occupationSkillRelations.csv", "occupationUri"]
    assert (len(missing), len(set(missing))) == (67, 1)
    assert len(set(values["error", "broaderRelationsSkillPillar.csv", "conceptUri"])) == 7
    known = {c.exact_match[0] for c in esco.records["competencies"]}
    concepts = set(values["error", "broaderRelationsSkillPillar.csv", "conceptUri"])
    dangling = set(values["error", "broaderRelationsSkillPillar.csv", "broaderUri"])
    assert len(dangling) == 1
    assert not (dangling | concepts) & known
    assert len(values["remark", "skills_en.csv", "skillType"]) == 6
    assert len(values["remark", "skillSkillRelations.csv", "relatedSkillUri"]) == 1
    assert sum(f.severity == "error" for f in esco.findings) == 67 + 7 + 3


# ---- similar roles ----


@needs_onet
def test_similar_roles_agree_with_the_published_related_occupations(onet_snapshot: Snapshot) -> None:
    """O*NET 29.2, Related Occupations, over the 879 rated occupations: mean ROC AUC and recall in the first 20."""
    agreement = measure_agreement(onet_snapshot, read_related(ONET))
    assert agreement.n == 879
    assert agreement.auc >= 0.945
    assert agreement.recall >= 0.465
