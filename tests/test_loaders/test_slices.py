"""A slice goes out as a workbook, is edited and comes back onto a draft: only what was edited is a change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from drafted import edit, fill, publish, record
from sliced import Sheets, cut_to, edit_book, find_row, read_sheets

from loaders import limits
from loaders.slice_load import SliceLoad, load_slice_onto, plan_slice_load
from loaders.slices import SLICED_TABLES, SliceFilter, cut_slice, require_known
from loaders.tables.slice_book import is_slice, read_slice
from loaders.tables.workbook import load_workbook
from ontology.errors import FileFormatError, FindingsError, InputError, LimitError
from ontology.live.live_graph import Change, LiveGraph


@pytest.fixture
def graph() -> LiveGraph:
    return fill(LiveGraph.in_memory())


def set_cell(table: str, record_id: str, column: str, value: Any) -> Callable[[Sheets], None]:
    def change(sheets: Sheets) -> None:
        row, places = find_row(sheets, table, record_id)
        row[places[column]] = value

    return change


def send(graph: LiveGraph, path: Path, draft: str = "d") -> SliceLoad:
    return load_slice_onto(graph, draft, read_slice(path), who="Ana", why="workbook", may_begin=True)[0]


def tell(load: SliceLoad) -> list[tuple[str, str, list[tuple[str, str, str, bool]]]]:
    return [
        (
            f"{row.table}/{row.id}",
            row.change,
            [(one.column, one.before, one.after, one.is_conflict) for one in row.cells],
        )
        for row in load.rows
    ]


def test_the_workbook_has_its_columns_labels_remove_and_a_note(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), roles="r")
    sheets = read_sheets(path)
    assert list(sheets)[-1] == "slice"
    assert {"roles", "requirements", "slice"} <= sheets.keys()
    assert "competencies" not in sheets, "no row of it names a role"
    head, row = sheets["requirements"]
    assert (head[:4], head[-1]) == (["role", "#role", "competency", "#competency"], "remove")
    assert row[:2] == ["r", "R"]
    present = graph.get_snapshot()
    assert sheets["slice"][:3] == [["store", present.store_id], ["revision", "1"], ["roles", "r"]]
    assert is_slice(path)
    whole = read_sheets(cut_to(tmp_path / "all.xlsx", present))
    assert [*whole] == [*SLICED_TABLES, "slice"], "none of them about people"
    refused = load_workbook(path).findings
    assert any("--draft ID" in finding.reason for finding in refused), "it is no load of everybody's state"


@pytest.mark.parametrize(
    ("texts", "parameter"),
    [
        *(({"tables": "roles,people"}, "tables"), ({"tables": "x"}, "tables"), ({"roles": "x"}, "roles")),
        *(({"families": "x"}, "families"), ({"below": "x"}, "below"), ({"courses": "x"}, "courses")),
    ],
)
def test_a_filter_that_names_nothing_is_refused(graph: LiveGraph, texts: dict[str, str], parameter: str) -> None:
    with pytest.raises(InputError) as refused:
        require_known(graph.get_snapshot(), SliceFilter.parse(texts))
    assert refused.value.context["parameter"] == parameter


def test_what_is_below_a_competency_and_a_family_are_cut(graph: LiveGraph) -> None:
    present = graph.get_snapshot().competencies
    publish(graph, *(("competencies", replace(present[one], broader=(above,))) for one, above in ("ba", "cb")))
    publish(graph, record("roles", id="q", label="Q", family="plant"))
    publish(graph, record("requirements", role="q", competency="c", level=1))
    snapshot = graph.get_snapshot()
    cut = cut_slice(snapshot, SliceFilter.parse({"below": "b"}))
    assert [list(cut[name]) for name in ("competencies", "requirements")] == [[("b",), ("c",)], [("q", "c")]]
    cut = cut_slice(snapshot, SliceFilter.parse({"families": "plant", "tables": "requirements,competencies"}))
    assert list(cut["requirements"]) == [("q", "c")]
    assert len(cut["competencies"]) == len(snapshot.competencies), "asked by name, and names no role"


def test_an_edited_cell_changes_that_cell_and_nothing_that_others_changed(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), tables="roles,requirements")
    edit_book(path, set_cell("requirements", "r~a", "level", 1))
    edit_book(path, set_cell("requirements", "r~a", "#role", "=1+1"))
    publish(
        graph,
        record("roles", id="r", label="Renamed"),
        record("requirements", role="r", competency="a", level=2, weight=2.5),
    )
    load = send(graph, path)
    assert tell(load) == [("requirements/r~a", "changed", [("level", "2", "1", False)])]
    seen = graph.drafts.get_state("d").snapshot
    requirement = seen.get_table("requirements")["r", "a"]
    assert (requirement.level, requirement.weight) == (1, 2.5)
    assert requirement.entry_level == 1, "what follows another column goes with it"
    assert seen.roles["r"].label == "Renamed"
    assert not graph.drafts.get_state("d").conflicts
    assert send(graph, path).rows == (), "once is enough"


def test_what_both_changed_is_a_conflict_of_the_draft(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), roles="r")
    edit_book(path, set_cell("roles", "r", "label", "Mine"))
    publish(graph, record("roles", id="r", label="Theirs"))
    load = send(graph, path)
    assert tell(load) == [("roles/r", "changed", [("label", "Theirs", "Mine", True)])]
    (conflict,) = graph.drafts.get_state("d").conflicts
    assert (conflict.column, conflict.base, conflict.draft, conflict.published) == ("label", "R", "Mine", "Theirs")


def test_where_the_draft_has_no_words_for_a_conflict_the_cell_is_held_back(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), roles="r")
    edit_book(path, set_cell("roles", "r", "label", "Mine"))
    publish(graph, record("roles", id="r", label="Theirs"))
    graph.drafts.start("d", "D", who="Ana")
    load = send(graph, path)
    assert (load.rows, [(one.column, one.sent, one.present) for one in load.held_back]) == (
        (),
        [("label", "Mine", "Theirs")],
    )
    edit(graph, record("roles", id="r", label="The draft's"))
    assert [one.present for one in send(graph, path).held_back] == ["The draft's"]
    graph.drafts.edit("d", Change(remove=(("requirements", ("r", "a")), ("roles", ("r",)))), who="Ana", why="gone")
    assert [(one.column, one.present) for one in send(graph, path).held_back] == [(None, "-")]
    edit(graph, record("roles", id="r", label="The draft's"))
    assert graph.drafts.get_state("d").snapshot.roles["r"].label == "The draft's"


def test_rows_go_by_remove_alone_and_a_missing_one_is_named(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), tables="competencies,requirements")

    def change(sheets: Sheets) -> None:
        row, places = find_row(sheets, "competencies", "b")
        row[places["remove"]] = "yes"
        find_row(sheets, "competencies", "c")[0][0] = "d"
        del sheets["requirements"][1]

    load = send(graph, edit_book(path, change))
    assert [(row.id, row.change) for row in load.rows] == [("b", "removed"), ("d", "added")]
    assert load.missing == {"competencies": ("c",), "requirements": ("r~a",)}
    assert any("a new row and a missing one" in remark for remark in load.remarks)
    assert set(graph.drafts.get_state("d").snapshot.competencies) == {"a", "c", "d"}


def test_a_row_that_others_changed_or_removed_meanwhile_stays_a_conflict(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), tables="competencies")
    edit_book(path, set_cell("competencies", "b", "remove", "yes"))
    edit_book(path, set_cell("competencies", "c", "label", "Mine"))
    theirs = replace(graph.get_snapshot().competencies["b"], label="Theirs")
    publish(graph, ("competencies", theirs), remove=(("competencies", ("c",)),))
    load = send(graph, path)
    told = [(row.id, row.change, row.is_conflict) for row in load.rows]
    assert told == [("b", "removed", True), ("c", "changed", True)]
    assert [(one.id, one.column) for one in graph.drafts.get_state("d").conflicts] == [("b", None), ("c", None)]


def test_an_id_that_is_there_outside_the_slice_is_not_overwritten(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), below="a", tables="competencies")
    edit_book(path, lambda sheets: sheets["competencies"].append(["b", "Taken", *sheets["competencies"][1][2:]]))
    load = send(graph, path)
    assert (load.rows, [one.id for one in load.held_back]) == ((), ["b"])


def test_a_column_that_is_not_there_was_not_edited(graph: LiveGraph, tmp_path: Path) -> None:
    publish(graph, record("requirements", role="r", competency="a", level=2, weight=2.5))
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), tables="requirements")

    def drop(sheets: Sheets) -> None:
        place = sheets["requirements"][0].index("weight")
        for row in sheets["requirements"]:
            del row[place]

    assert send(graph, edit_book(path, drop)).rows == ()


def test_of_another_store_it_is_compared_with_now(graph: LiveGraph, tmp_path: Path) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), "another", roles="r")
    publish(graph, record("roles", id="r", label="Theirs"))
    load = plan_slice_load(graph, "d", read_slice(path))
    assert (load.revision, [row.id for row in load.rows]) == (2, ["r"])
    assert "another store" in load.remarks[0]


def test_a_wrong_workbook_is_refused_whole(graph: LiveGraph, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = cut_to(tmp_path / "s.xlsx", graph.get_snapshot(), roles="r")
    kept = path.read_bytes()
    for change in (
        set_cell("roles", "r", "remove", "perhaps"),
        set_cell("requirements", "r~a", "level", "high"),
        lambda sheets: sheets.update(other=[["a"]]),
    ):
        path.write_bytes(kept)
        with pytest.raises(FindingsError):
            send(graph, edit_book(path, change))
    for change, error in (
        (lambda sheets: sheets.update(people=[["id", "name"]]), InputError),
        (lambda sheets: sheets["slice"].__setitem__(1, ["revision", "99"]), InputError),
        (lambda sheets: sheets["slice"].__setitem__(1, ["revision", "1e9"]), FileFormatError),
        (lambda sheets: sheets["slice"].append(["tables", "people"]), InputError),
    ):
        path.write_bytes(kept)
        with pytest.raises(error):
            send(graph, edit_book(path, change))
    path.write_bytes(kept)
    monkeypatch.setattr(limits, "MAX_TABLE_ROWS", 1)
    with pytest.raises(LimitError):
        send(graph, path)
    assert graph.drafts.list_all() == []
