"""Texts that stand beside records: what is said of commits, drafts, releases, and in the frameworks of others."""

from __future__ import annotations

from dataclasses import replace

from ontology.live.live_graph import Change, LiveGraph

__all__ = ["say_beside"]


def say_beside(graph: LiveGraph, words: str, role_id: str, rows_of: str = "neighbour") -> None:
    """Say it of a change of a role, of a release and of a draft, each "marked", and in another framework "marked"."""
    role = graph.get_snapshot().roles[role_id]
    graph.apply(Change((("roles", replace(role, label=f"{role.label}!")),)), who=words, why=f"said {words}")
    graph.releases.name_present("marked", who=words, reason=f"agreed {words}")
    graph.drafts.start("marked", f"Marked {words}", who=words)
    graph.drafts.edit("marked", Change((("roles", role),)), who=words, why=f"edited {words}")
    theirs = graph.outside.get(rows_of).snapshot
    rows = {name: list(theirs.get_all(name).values()) for name in ("framework", "scales", "competencies")}
    rows["framework"] = [replace(one, title=words) for one in rows["framework"]]
    rows["competencies"] = [replace(one, label=one.label + words) for one in rows["competencies"]]
    graph.outside.replace("marked", lambda other: other.load(rows, who="them", why=words))
