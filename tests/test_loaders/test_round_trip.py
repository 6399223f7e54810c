"""Load, export, load: the same graph by value, for every kind of file that is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from working_companies import build_working_company

from loaders.linked_data.writer import export_linked_data
from loaders.pipeline import load_paths
from loaders.tables.table_writers import export_csv, export_workbook
from ontology.live.live_graph import LiveGraph
from ontology.model.keeping_records import Translation
from ontology.model.several import join_values
from ontology.model.tables import TABLES
from ontology.model.validity import fill_valid_until
from ontology.rdf.namespaces import DATA_GRAPHS, Quad

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"
NAMES = ("out.xlsx", "out", "out.ttl", "out.nt", "out.nq", "out.trig", "out.jsonld", "out.rdf")
#: Texts that some kind of file could take for something else: formulas, quotes, escapes, separators, line ends.
HARD = (
    "=HYPERLINK(1)",
    "'=1",
    "''-1",
    "'quoted'",
    "'",
    "@x",
    "+1",
    "-",
    "＝1",
    'a "b", c;d\te',
    "one\ntwo",
    "one\r\ntwo",
    "one\rtwo",
    "_x000D_",
    "a|b",
    "a\\",
    "\\|",
    "C:\\\\x",
    "&lt; <b> ]]> &#13;",
    "007",
    "1e5",
    "TRUE",
    "2026-11-24",
    "مرحبا 😀 ÿ",
    "a\u2028b\u0085c",
)


def read_all(graph: LiveGraph) -> set[Quad]:
    return {quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)}


def build_hard_company(seed: int) -> dict[str, list[Any]]:
    """A random company whose free texts are the hard ones."""
    records = build_working_company(seed, size=8)
    texts = iter(HARD * 20)
    for name, field in (("courses", "method"), ("courses", "label"), ("people", "name"), ("requirements", "remark")):
        records[name] = [replace(record, **{field: next(texts)}) for record in records[name]]
    records["competencies"] = [
        replace(record, label=f"{next(texts)} {place}", alt_labels=tuple({next(texts), f"{next(texts)} or {place}"}))
        for place, record in enumerate(records["competencies"])
    ]
    competencies = {record.id: record for record in records["competencies"]}
    records["assessments"] = [fill_valid_until(a, competencies[a.competency]) for a in records["assessments"]]
    return records | _build_retired(records, seed)


def _build_map(records: dict[str, list[Any]]) -> list[Any]:
    """Return a map from the first scale to the last one."""
    ranks: dict[str, list[int]] = {}
    for level in records["scales"]:
        ranks.setdefault(level.scale, []).append(level.rank)
    one, other = min(ranks), max(ranks)
    top = max(ranks[other])
    rows = [(rank, min(rank - 1, top)) for rank in ranks[one]] if one != other else []
    build = TABLES["level_maps"].build
    return [build(from_scale=one, from_rank=rank, to_scale=other, to_rank=to) for rank, to in rows]


def _translate(records: dict[str, list[Any]], seed: int) -> Iterator[Any]:
    """Yield texts in other languages, of one record of each kind, a retired one among them."""
    level, competency = records["scales"][0], records["competencies"][0]
    texts = iter(HARD * 2)
    for table, record_id, column, language in (
        ("scales", f"{level.scale}~{level.rank}", "description", "fr"),
        ("competencies", competency.id, "label", "fr"),
        ("competencies", competency.id, "label", "pt-br"),
        ("competencies", competency.id, "definition", "zh-hant-tw"),
        ("competencies", "gone", "label", "fr"),
        ("roles", "gone", "label", "fr"),
        ("courses", "gone", "label", "fr"),
        ("teams", records["teams"][0].id, "label", "fr"),
        ("framework", "this", "description", "fr"),
    ):
        yield Translation(table, record_id, column, language, next(texts))
    others = join_values((f"{HARD[seed]} too", "either|or"))
    yield Translation("competencies", competency.id, "alt_labels", "fr", others)


def _build_retired(records: dict[str, list[Any]], seed: int) -> dict[str, list[Any]]:
    """Return tables with what the framework is called, and one of each that was retired, for another or for none."""
    scale = records["competencies"][0].scale
    rows = {
        "competencies": {"id": "gone", "label": HARD[seed], "scale": scale},
        "roles": {"id": "gone", "label": HARD[seed]},
        "courses": {"id": "gone", "label": HARD[seed], "hours": 1.5},
    }
    made = {
        name: [*records[name], TABLES[name].build(**row, retired_on=date(2026, 1, 31))] for name, row in rows.items()
    }
    new = {"table": "competencies", "old": "gone", "new": records["competencies"][0].id, "carry": "declared"}
    made["replacements"] = [TABLES["replacements"].build(**new, reason=HARD[seed])] if seed % 2 else []
    made["level_maps"] = _build_map(records)
    made["translations"] = list(_translate(records, seed))
    about = {"description": HARD[seed], "creator": "C", "publisher": "P", "language": "de", "licence": "L"}
    homepage = {"homepage": "https://elsewhere.example/"}
    made["framework"] = [TABLES["framework"].build(id="this", title=HARD[seed], **(about | homepage if seed else {}))]
    return made


@cache
def build_graph(source: str) -> LiveGraph:
    graph = LiveGraph.in_memory()
    if source == "scenario":
        load_paths(graph, [SCENARIO])
    else:
        graph.load(build_hard_company(int(source)), who="test", why="company")
    return graph


def export(graph: LiveGraph, path: Path) -> None:
    if path.suffix == ".xlsx":
        export_workbook(graph.get_snapshot(), path)
    elif not path.suffix:
        export_csv(graph.get_snapshot(), path)
    else:
        export_linked_data(read_all(graph), path)


#: What is written by other hands each; the kinds between differ from these in their syntax alone.
LARGE = ("out.xlsx", "out", "out.ttl", "out.jsonld")


@pytest.mark.parametrize(("source", "name"), [*product(("0", "1"), NAMES), *(("scenario", name) for name in LARGE)])
def test_what_is_exported_loads_as_the_same_graph(source: str, name: str, tmp_path: Path) -> None:
    graph = build_graph(source)
    quads = read_all(graph)
    assert len(quads) > 200
    export(graph, tmp_path / name)
    again = LiveGraph.in_memory()
    load_paths(again, [tmp_path / name])
    assert read_all(again) == quads


def test_an_export_into_a_used_folder_does_not_bring_back_what_is_gone(tmp_path: Path) -> None:
    export(build_graph("0"), tmp_path / "out")
    assert (tmp_path / "out" / "assessments.csv").stat().st_size > 100
    fewer = LiveGraph.in_memory()
    fewer.load({"scales": build_working_company(0)["scales"]}, who="test", why="company")
    export(fewer, tmp_path / "out")
    again = LiveGraph.in_memory()
    load_paths(again, [tmp_path / "out"])
    assert read_all(again) == read_all(fewer)


def test_the_companies_of_the_round_trips_fill_every_optional_column() -> None:
    filled = {
        (name, column.name)
        for seed in range(6)
        for name, records in build_hard_company(seed).items()
        for column in TABLES[name].columns
        for record in records
        if not column.is_required and getattr(record, column.attribute) != column.get_default(_Fields(record))
    }
    assert filled == {(name, c.name) for name, table in TABLES.items() for c in table.columns if not c.is_required}


class _Fields(dict[str, Any]):
    """A record's fields by name, for defaults that hang on other columns."""

    def __init__(self, record: Any) -> None:
        super().__init__({name: getattr(record, name) for name in record.__slots__})
