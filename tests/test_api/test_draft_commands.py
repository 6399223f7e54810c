"""A draft from its beginning to its end at the command line, on a store that is open here."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from api.terminal.program import program
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

ROLES = ("operator", "helper")


@pytest.fixture
def store(tmp_path: Path) -> Path:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    roles = tuple(("roles", TABLES["roles"].build(id=one, label=one.capitalize())) for one in ROLES)
    graph.apply(Change(put=roles), who="test", why="roles")
    graph.close()
    return tmp_path / "store"


def call(store: Path, *words: str) -> Result:
    return CliRunner().invoke(program, [*words, "--store", str(store)], prog_name="newel")


def ask(store: Path, *words: str) -> Any:
    result = call(store, *words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def rename(store: Path, label: str, draft: str = "") -> None:
    graph = LiveGraph.open(store)
    change = Change(put=(("roles", TABLES["roles"].build(id="operator", label=label)),))
    if draft:
        graph.drafts.edit(draft, change, who="test", why="x")
    else:
        graph.apply(change, who="ana", why="x")
    graph.close()


def test_a_draft_is_begun_published_and_taken_back(store: Path) -> None:
    assert "No draft is open." in call(store, "draft", "list").output
    started = call(store, "draft", "start", "rules", "--title", "New rules")
    assert "Draft New rules changes nothing yet; nobody's answers differ until it is published." in started.output
    assert call(store, "draft", "start", "rules").exit_code == 1
    rename(store, "Plant operator", "rules")
    assert ask(store, "draft", "changes", "rules")["rows"][0]["words"] == "renamed from Operator to Plant operator"
    assert "changes 1 role;" in call(store, "draft", "show", "rules").output
    assert {one["severity"] for one in ask(store, "draft", "findings", "rules")["findings"]} == {"remark"}
    assert call(store, "publish", "rules", "--version", "7", "--reason", "x").exit_code == 2
    published = call(store, "publish", "rules", "--version", "1.0", "--reason", "New plant")
    assert "Draft New rules is published as release 1.0, revision 2." in published.output, published.output
    assert call(store, "draft", "start", "back", "--undo-of", "1.0").exit_code == 0
    assert call(store, "publish", "back", "--version", "1.1", "--reason", "Too early").exit_code == 0
    graph = LiveGraph.open(store)
    assert graph.get_snapshot().roles["operator"].label == "Operator"
    graph.close()
    named = call(store, "release", "2027.1", "--reason", "The year begins", "--date", "2026-01-31")
    assert "Revision 3 is now called 2027.1." in named.output, named.output
    assert {one["version"] for one in ask(store, "releases")} == {"1.0", "1.1", "2027.1"}
    assert "3 releases; the latest is" in call(store, "releases").output


def test_all_that_stands_against_publishing_is_told_at_once(store: Path) -> None:
    call(store, "draft", "start", "rules")
    rename(store, "Mine", "rules")
    rename(store, "Theirs")
    refused = call(store, "publish", "rules", "--version", "7", "--reason", " ", "--date", "soon")
    assert refused.exit_code == 2
    told = [line for line in refused.output.splitlines() if line.startswith("newel: ")]
    assert [line.split()[1] for line in told] == ["version", "The", "The", "The"]
    assert "The reason must be filled in." in told[1]
    assert "decide them first" in told[3]
    problem = json.loads(call(store, "publish", "rules", "--version", "7", "--reason", " ", "--json").stdout)
    assert [one.get("parameter") for one in problem["errors"]] == ["version", "reason", None]


def test_conflicts_are_decided_and_a_draft_is_withdrawn(store: Path) -> None:
    call(store, "draft", "start", "rules")
    rename(store, "Mine", "rules")
    rename(store, "Theirs")
    told = call(store, "draft", "conflicts", "rules").output
    for words in ("roles/operator#label", "Mine", "Theirs", "Operator", "decide 1 conflict"):
        assert words in told
    refused = call(store, "publish", "rules", "--version", "1.0", "--reason", "x")
    assert (refused.exit_code, "decide them first" in refused.output) == (1, True)
    assert call(store, "draft", "rebase", "rules", "--take", "roles/operator").exit_code == 2
    decided = call(store, "draft", "rebase", "rules", "--take", "roles/operator#label=draft")
    assert "None: nothing is in conflict." in decided.output
    assert "is withdrawn" in call(store, "draft", "withdraw", "rules").output
    assert call(store, "draft", "rebase", "rules", "--all", "draft").exit_code == 1
    assert "changes 1 role;" in call(store, "draft", "open", "rules").output
    call(store, "draft", "withdraw", "rules")
    assert "Draft rules is deleted." in call(store, "draft", "delete", "rules").output
    assert call(store, "draft", "show", "rules").exit_code == 1


def test_a_role_is_retired_by_command(store: Path) -> None:
    call(store, "draft", "start", "fewer")
    retire = ("draft", "retire", "fewer", "roles", "helper", "--by", "operator", "--why", "One role is enough")
    assert ask(store, *retire)["number"] == 1
    assert "retired, replaced by Operator" in [one["words"] for one in ask(store, "draft", "changes", "fewer")["rows"]]
    refused = call(store, "draft", "retire", "fewer", "roles", "operator", "--by", "helper")
    assert (refused.exit_code, "not in use" in refused.output) == (2, True), refused.output
    assert call(store, "publish", "fewer", "--version", "1.0", "--reason", "Fewer").exit_code == 0
    graph = LiveGraph.open(store)
    assert list(graph.get_snapshot().retired.roles) == ["helper"]
    graph.close()


def test_scales_are_changed_by_command(store: Path, tmp_path: Path) -> None:
    steps = [f"{scale},{rank},Step {rank}" for scale, top in (("craft", 3), ("short", 1)) for rank in range(1, top + 1)]
    (tmp_path / "scales.csv").write_text("\n".join(("scale,rank,label", *steps)), "utf-8")
    (tmp_path / "competencies.csv").write_text("id,label,scale\npump,Pumps,craft\n", "utf-8")
    (tmp_path / "requirements.csv").write_text("role,competency,level\noperator,pump,2\n", "utf-8")
    for name in ("scales", "competencies", "requirements"):
        assert call(store, "load", str(tmp_path / f"{name}.csv")).exit_code == 0
    call(store, "draft", "start", "steps")
    levels = [word for rank in range(1, 5) for word in ("--level", f"New {rank}")]
    assert ask(store, "draft", "ranks", "steps", "craft", *levels, "--map", "2,3,4", "--why", "More")["number"] == 1
    for wrong, told in ((("nowhere", "--map", "1"), "names no scale"), (("short", "--map", "1,x"), "like 0,1,1,2")):
        refused = call(store, "draft", "scale", "steps", "pump", *wrong)
        assert (refused.exit_code, told in refused.output) == (2, True), refused.output
    assert call(store, "draft", "scale", "steps", "pump", "short", "--map", "0,0,1").exit_code == 1
    assert ask(store, "draft", "scale", "steps", "pump", "short", "--map", "0,0,1,1")["number"] == 2
    assert call(store, "publish", "steps", "--version", "1.0", "--reason", "Steps").exit_code == 0
    graph = LiveGraph.open(store)
    state = graph.get_snapshot()
    graph.close()
    assert [level.label for level in state.scales["craft"]] == ["New 1", "New 2", "New 3", "New 4"]
    # 2 became 3, and that is 1 on the short scale
    assert [(row.competency, row.level) for row in state.get_requirements("operator")] == [("pump", 1)]


def test_files_come_onto_a_draft_and_what_they_lack_goes_only_when_whole(store: Path, tmp_path: Path) -> None:
    rows = tmp_path / "roles.csv"
    rows.write_text("id,label\noperator,Plant operator\nsmith,Smith\n", "utf-8")
    words = ["load", str(rows), "--draft", "rules"]
    tried = call(store, *words, "--dry-run")
    assert (tried.exit_code, "Checked, not stored: roles 1 new, 1 changed." in tried.output) == (0, True), tried.output
    assert call(store, "draft", "show", "rules").exit_code == 1
    loaded = call(store, *words, "--why", "New forge")
    assert "On draft rules: roles 1 new, 1 changed." in loaded.output, loaded.output
    assert call(store, "load", str(rows), "--whole").exit_code == 2, "of everybody's state nothing is taken away so"
    whole = call(store, *words, "--whole")
    assert whole.output.index("Goes: 1 role, not in the files.") < whole.output.index("roles 1 gone")
    told = ask(store, "draft", "changes", "rules")
    assert [(row["id"], row["change"]) for row in told["rows"]] == [
        ("helper", "removed"),
        ("operator", "changed"),
        ("smith", "added"),
    ]
    again = ask(store, *words)
    assert (again["number"], again["counts"]) == (2, []), "what it says already is no edit"
    people = tmp_path / "people.csv"
    people.write_text("id,name,team\np1,Ana,works\n", "utf-8")
    assert call(store, "load", str(people), "--draft", "rules").exit_code == 2
    faulty = tmp_path / "faulty" / "roles.csv"
    faulty.parent.mkdir()
    faulty.write_text("id,label,months_to_full\nsmith,Smith,soon\n", "utf-8")
    assert call(store, "load", str(faulty), "--draft", "rules").exit_code == 1
    rest = call(store, "load", str(faulty), "--draft", "rules", "--whole", "--skip-faulty")
    assert (rest.exit_code, "nothing that it does not say already; 1 faulty left out" in rest.output) == (0, True)
    graph = LiveGraph.open(store)
    assert sorted(graph.get_snapshot().roles) == sorted(ROLES)
    assert graph.drafts.list_edits("rules")[1].why == "load roles.csv: New forge"
    graph.close()
