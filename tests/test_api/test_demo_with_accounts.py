"""The demonstration with invitations: who is invited, and to what."""

from __future__ import annotations

from typing import Any

import pytest
from click.testing import CliRunner
from scenario import SCENARIO

from api.terminal.commands import demo
from api.terminal.program import program
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph


def test_the_demonstration_invites_four(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []
    monkeypatch.setattr("api.terminal.serving.run_server", lambda *_, accounts, **__: asked.append(accounts))
    assert CliRunner().invoke(program, ["demo", "--with-accounts"]).exit_code == 0
    assert CliRunner().invoke(program, ["demo"]).exit_code == 0
    (invited, nobody) = asked
    assert nobody is None
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    access = invited.open(graph)
    told: list[str] = []
    monkeypatch.setattr(demo.click, "echo", told.append)
    invited.tell(access, "http://127.0.0.1:8000")
    links = [line.partition(": ")[2] for line in told[1:]]
    assert all(link.startswith("http://127.0.0.1:8000/invitations/") for link in links)
    accounts = [access.accounts.get(access.invitations.find(link.rpartition("/")[2]) or 0) for link in links]
    assert [account.name for account in accounts] == [
        "Architect",
        "Lead of Wastewater",
        "Mirela Tanaka",
        "Administrator",
    ]
    snapshot = graph.get_snapshot()
    assert snapshot.people[accounts[2].person].name == "Mirela Tanaka"
    assert "Wastewater" in snapshot.teams[accounts[1].grants[0].team].label
    graph.close()
