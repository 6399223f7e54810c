"""newel find, and names in place of ids in the words of a call."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from api.terminal.program import program
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("names") / "store"
    graph = LiveGraph.open(folder, create=True)
    load_paths(graph, [SCENARIO])
    graph.close()
    return str(folder)


def run(store: str, *words: str) -> Result:
    return CliRunner().invoke(program, [*words, "--store", store])


def ask(store: str, *words: str) -> dict[str, Any]:
    result = run(store, *words, "--json")
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return answer


def test_find_lists_ids_by_name(store: str) -> None:
    answer = ask(store, "find", "MIRELA")
    assert [(row["kind"], row["id"], row["label"]) for row in answer["matches"]] == [
        ("person", "p008", "Mirela Tanaka")
    ]
    printed = run(store, "find", "treatment", "operator").output
    assert printed.index("senior-treatment-operator") > printed.index("Treatment operator")
    assert "treatment-operator" in printed


def test_find_tells_near_spellings_and_how_many_more(store: str) -> None:
    assert "Mirela Tanaka  person      p008" in run(store, "find", "Mirella", "Tanaka").output
    assert "Nothing is called" in run(store, "find", "xyzzy").output
    answer = ask(store, "find", "operator", "--limit", "2")
    assert len(answer["matches"]) == 2 < answer["found"]
    assert f"And {answer['found'] - 2} more" in run(store, "find", "operator", "--limit", "2").output


@pytest.mark.parametrize(
    ("by_name", "by_id"),
    [
        (["gap", "Mirela Tanaka", "treatment operator"], ["gap", "p008", "treatment-operator"]),
        (["gap", "mirela", "Laboratory analyst"], ["gap", "p008", "laboratory-analyst"]),
        (["gap", "--from", "Sampler", "Laboratory analyst"], ["gap", "--from", "sampler", "laboratory-analyst"]),
        (["coverage", "water TREATMENT", "--away", "mirela, p010"], ["coverage", "treatment", "--away", "p008,p010"]),
        (["reachable-roles", "Mirela Tanaka"], ["reachable-roles", "p008"]),
        (["similar", "Sampler"], ["similar", "sampler"]),
        (["stand-ins", "treatment", "--person", "mirela"], ["stand-ins", "treatment", "--person", "p008"]),
    ],
)
def test_a_name_that_means_one_record_is_as_good_as_its_id(store: str, by_name: list[str], by_id: list[str]) -> None:
    on = [] if by_name[0] == "similar" else ["--on", "2026-11-24"]
    assert ask(store, *by_name, *on) == ask(store, *by_id, *on)


def test_a_name_that_means_several_is_a_wrong_call_that_lists_them(store: str) -> None:
    result = run(store, "gap", "p008", "operator")
    assert result.exit_code == 2
    assert "sludge-operator (Sludge operator)" in result.stderr
    assert "treatment-operator (Treatment operator)" in result.stderr
    again = run(store, "gap", "p008", "treatment-operator")  # the store was let go of
    assert again.exit_code == 0


def test_an_unknown_name_is_answered_with_near_spellings(store: str) -> None:
    result = run(store, "gap", "Mirela Tanakka", "treatment-operator")
    assert (result.exit_code, "Did you mean p008 (Mirela Tanaka)?" in result.stderr) == (1, True)
    result = run(store, "coverage", "treatment", "--away", "Mirela Tanakka")
    assert (result.exit_code, "Did you mean p008 (Mirela Tanaka)?" in result.stderr) == (1, True)
    problem = json.loads(run(store, "coverage", "watr treatment", "--json").stdout)
    assert (problem["status"], problem["near"]) == (404, ["treatment"])


def test_an_id_wins_over_a_name(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    (tmp_path / "roles.csv").write_text("id,label\nsampler,Analyst\nanalyst,Sampler\n")
    load_paths(graph, [tmp_path / "roles.csv"])
    graph.close()
    assert ask(str(tmp_path / "store"), "similar", "sampler")["role"] == "sampler"
