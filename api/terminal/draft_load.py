"""`newel load --draft`: files onto a draft, with what goes told by count before it goes."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from api.errors import build_finding, get_exit_code
from api.json_text import to_json
from api.terminal.who import get_who
from loaders.draft_load import DraftLoad, TableLoad, load_onto_draft, plan_draft_load
from ontology.errors import Finding, FindingsError
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

__all__ = ["load_onto"]


def load_onto(
    graph: LiveGraph,
    draft_id: str,
    paths: Sequence[Path],
    options: Mapping[str, Any],
    *,
    why: str,
    is_trial: bool,
    as_json: bool,
    tell: Callable[[Iterable[str], Sequence[Finding]], None],
) -> None:
    """Load files onto a draft and print what came of it; errors end it as they end a load.

    `options` are those of `plan_draft_load`, `tell` prints notices and findings.
    """
    try:
        plan = plan_draft_load(graph, draft_id, paths, **options)
    except FindingsError as error:
        if as_json:
            raise
        tell((), error.findings)
        click.echo(f"newel: {error.detail}", err=True)
        raise SystemExit(get_exit_code(error)) from error
    if not as_json:
        tell(_list_notices(plan), plan.findings)
    number = None if is_trial else load_onto_draft(graph, draft_id, plan, who=get_who(), why=why).number
    if as_json:
        told = {
            "draft": draft_id,
            "number": number,
            "is_stored": not is_trial,
            "counts": to_json(plan.tables),
            "foreign_triples": plan.n_extra,
            "skipped": plan.n_skipped,
            "findings": [build_finding(finding) for finding in plan.findings],
        }
        click.echo(json.dumps(told, ensure_ascii=False, indent=2))
        return
    counts = "; ".join(map(_tell_table, plan.tables)) or "nothing that it does not say already"
    verb = "Checked, not stored:" if is_trial else f"On draft {draft_id}:"
    click.echo(f"{verb} {counts}. See it: newel draft show {draft_id}")


def _list_notices(plan: DraftLoad) -> list[str]:
    notices = [f"Goes: {one.gone:,} {_name(one.table, one.gone)}, not in the files." for one in plan.tables if one.gone]
    if plan.n_extra:
        notices.append(f"{plan.n_extra:,} triples of others are left out: a draft holds records.")
    return notices


def _tell_table(one: TableLoad) -> str:
    numbers = ((one.new, "new"), (one.changed, "changed"), (one.gone, "gone"))
    told = ", ".join(f"{number:,} {verb}" for number, verb in numbers if number)
    return f"{one.table.replace('_', ' ')} {told}"


def _name(table: str, number: int) -> str:
    return TABLES[table].segment.replace("-", " ") if number == 1 else table.replace("_", " ")
