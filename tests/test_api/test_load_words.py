"""What a checked load comes to, in sentences: what is wrong, and what goes when the sound rest is stored."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest
from rest_company import build_company

from api.pages.load_words import find_left_out, say_left_out, say_wrong
from loaders.pipeline import LoadCheck, check_paths
from loaders.tables.written import WrittenTable, read_written
from ontology.live.live_graph import LiveGraph


@pytest.fixture(scope="module")
def graph() -> LiveGraph:
    return build_company()


def check(graph: LiveGraph, folder: Path, tables: Mapping[str, str]) -> tuple[LoadCheck, list[WrittenTable]]:
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    paths = [folder / f"{name}.csv" for name in tables]
    return check_paths(graph, paths), read_written(paths, {})


PEOPLE = "id,name,team\np8,Dora,works\np9,Emil,works\n"
ABSENCES = "person,from,to\np8,2026-12-01,2026-12-02\np9,2026-12-01,2026-12-02\n"


@pytest.mark.parametrize(
    ("tables", "wrong", "button", "goes"),
    [
        (
            {"people": PEOPLE + "p9,Again,works\n"},
            "1 row is wrong",
            "Store the rest without this row",
            "",
        ),
        (
            {"people": PEOPLE.replace("p8,Dora", "p8,"), "absences": ABSENCES},
            "1 cell is wrong",
            "Store the rest without this row",
            "With them goes 1 absence, which names them.",
        ),
        (
            {"people": PEOPLE.replace("name", "nom", 1), "absences": ABSENCES, "sites": "id,label\ns,S\n"},
            "2 column headings are wrong",
            "Store the rest without people",
            "With them go 2 absences, which name them.",
        ),
        (
            {"people": PEOPLE.replace("team", "team,sex", 1).replace("works", "works,x")},
            "1 column heading is wrong",
            "Store the rest without these columns",
            "",
        ),
        (
            {"nothing": "id\nx\n", "sites": "id,label\ns,S\nt,\n"},
            "1 cell and 1 sheet or file are wrong",
            "Store the rest without this row",
            "",
        ),
    ],
    ids=["duplicate", "cell", "table", "column", "unknown file"],
)
def test_what_is_wrong_and_what_goes_with_it(
    tables: dict[str, str], wrong: str, button: str, goes: str, graph: LiveGraph, tmp_path: Path
) -> None:
    found, written = check(graph, tmp_path, tables)
    assert say_wrong(found.whole.findings) == wrong
    assert found.rest is not None
    left = find_left_out(found.whole, found.rest, written)
    assert say_left_out(left) == (button, goes)
    # every row that was written is stored, or told as left out
    n_stored = sum(found.rest.counts.values())
    n_gone = left.n_rows + sum(left.others.values()) + sum(t.n_rows for t in written if t.table in left.tables)
    assert n_stored + n_gone == sum(table.n_rows for table in written if table.table)


def test_where_nothing_sound_is_left_there_is_no_rest_to_store(graph: LiveGraph, tmp_path: Path) -> None:
    found, _ = check(graph, tmp_path, {"sites": "id,label\n!,S\n"})
    assert found.whole.is_refused
    assert found.rest is None or not any(found.rest.counts.values())
