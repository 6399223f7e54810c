"""`newel load --draft`: files onto a draft, with what goes told by count before it goes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from api.desk.slices import tell_slice
from api.errors import build_finding, get_exit_code
from api.json_text import print_json
from api.terminal.slice_text import list_slice_lines
from api.terminal.who import get_who
from loaders.draft_load import DraftLoad, TableLoad, load_onto_draft, plan_draft_load
from loaders.slice_load import load_slice_onto, plan_slice_load
from loaders.tables.slice_book import is_slice, read_slice
from ontology.errors import Finding, FindingsError, InputError
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES


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
        if any(map(is_slice, paths)):
            _load_slice_onto(graph, draft_id, paths, options, why, is_trial, as_json)
            return
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
            "counts": plan.tables,
            "foreign_triples": plan.n_extra,
            "skipped": plan.n_skipped,
            "findings": [build_finding(finding) for finding in plan.findings],
        }
        click.echo(print_json(told))
        return
    counts = "; ".join(map(_tell_table, plan.tables)) or "nothing that it does not say already"
    verb = "Checked, not stored:" if is_trial else f"On draft {draft_id}:"
    skipped = f"; {plan.n_skipped:,} faulty left out" if plan.n_skipped else ""
    click.echo(f"{verb} {counts}{skipped}. See it: newel draft show {draft_id}")


def _load_slice_onto(
    graph: LiveGraph,
    draft_id: str,
    paths: Sequence[Path],
    options: Mapping[str, Any],
    why: str,
    is_trial: bool,
    as_json: bool,
) -> None:
    """Put an edited slice into a draft and print each row that changes."""
    if len(paths) > 1 or any(options.values()):
        raise InputError("A slice is loaded by itself, and only what was edited in it: give its file alone.")
    read = read_slice(paths[0])
    if is_trial:
        plan = plan_slice_load(graph, draft_id, read)
        number = next((draft.number for draft in graph.drafts.list_all() if draft.id == draft_id), None)
    else:
        plan, number = load_slice_onto(graph, draft_id, read, who=get_who(), why=why, may_begin=True)
    told = tell_slice(plan, draft_id, number, is_stored=not is_trial)
    if as_json:
        click.echo(print_json(told))
        return
    for line in list_slice_lines(told):
        click.echo(line)


def _list_notices(plan: DraftLoad) -> list[str]:
    notices = [f"Goes: {TABLES[one.table].count(one.gone)}, not in the files." for one in plan.tables if one.gone]
    if plan.n_extra:
        notices.append(f"{plan.n_extra:,} triples of others are left out: a draft holds records.")
    return notices


def _tell_table(one: TableLoad) -> str:
    numbers = ((one.new, "new"), (one.changed, "changed"), (one.gone, "gone"))
    told = ", ".join(f"{number:,} {verb}" for number, verb in numbers if number)
    return f"{one.table.replace('_', ' ')} {told}"
