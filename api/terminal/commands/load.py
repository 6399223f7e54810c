"""Load tables, workbooks, linked data or open data sets into the store, in one commit.

The store folder is made when it is not there. Every finding is printed with its file and row.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from api.errors import build_finding, get_exit_code
from api.json_text import print_json
from api.reason_text import check_reason
from api.terminal.options import json_option, open_graph, store_option
from api.terminal.who import get_who
from loaders.pipeline import KINDS, load_paths
from loaders.report import LoadReport, count_kinds
from ontology.errors import Finding, FindingsError
from ontology.live.live_graph import LiveGraph
from ontology.live.outside import OutsideFrameworks
from ontology.model.tables import TABLES
from ontology.store.folder import StoreFolder

#: Above this many findings a load ends with how often each kind comes; at most so many kinds are shown.
MANY_FINDINGS = 20
MOST_KINDS = 20

#: What to do where another process has the store open.
_LOCKED = "Stop the server that serves it, then load."


@click.command("load", help=__doc__)
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=click.Path(path_type=Path, readable=False))
@click.option("--as", "kind", type=click.Choice(KINDS), help="What the files are (guessed when left out).")
@click.option("--as-scale", metavar="SCHEME", help="Make an ordered scale of this SKOS scheme, by notation.")
@click.option("--scale", metavar="ID", help="Scale of the items of a CASE package that name no level.")
@click.option("--dry-run", "is_trial", is_flag=True, help="Check everything, store nothing.")
@click.option("--skip-faulty", is_flag=True, help="Store the sound rest; without it one error stores nothing.")
@click.option("--draft", metavar="ID", help="Load onto this draft, begun where there is none, and change nothing else.")
@click.option("--whole", "is_whole", is_flag=True, help="With --draft: what the files' tables lack goes.")
@click.option("--why", default="", metavar="TEXT", help="Why, for the history: at most 500 characters.")
@click.option(
    "--outside",
    metavar="ID",
    help="Keep it beside the own framework, to compare with and map to; it replaces what had this id.",
)
@json_option
@store_option
def run(
    paths: tuple[Path, ...],
    kind: str | None,
    as_scale: str | None,
    scale: str | None,
    is_trial: bool,
    skip_faulty: bool,
    draft: str | None,
    is_whole: bool,
    why: str,
    outside: str | None,
    as_json: bool,
    store: Path,
) -> None:
    """Load, and print what came of it."""
    if is_whole and not draft:
        raise click.UsageError("--whole takes away what the files lack: name a draft to see it on, --draft ID.")
    if draft and outside:
        raise click.UsageError("A framework of others is no draft: name --draft or --outside.")
    if draft:
        from api.terminal.draft_load import load_onto

        options = {"kind": kind, "as_scale": as_scale, "is_whole": is_whole, "skip_faulty": skip_faulty}
        with open_graph(store, if_locked=_LOCKED) as graph:
            told = _tell_why(paths, why)
            load_onto(graph, draft, paths, options, why=told, is_trial=is_trial, as_json=as_json, tell=_print_findings)
        return
    with ExitStack() as stack:
        # a trial on a store that does not exist yet must not make one; what stands beside a store has files of its own
        if (is_trial and not store.exists()) or (outside and StoreFolder(store).exists()):
            graph = LiveGraph.in_memory()
            stack.callback(graph.close)
        else:
            graph = stack.enter_context(open_graph(store, create=True, if_locked=_LOCKED))
        progress = stack.enter_context(_make_progress())
        tasks: dict[str, Any] = {}

        def show(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = progress.add_task(what, total=total or None)
            progress.update(tasks[what], completed=done, total=total or None)

        load = partial(
            load_paths,
            paths=paths,
            kind=kind,
            as_scale=as_scale,
            scale=scale,
            is_trial=is_trial,
            skip_faulty=skip_faulty,
            progress=show,
            who=get_who(),
            why=_tell_why(paths, why),
        )
        try:
            report = _load_outside(store, outside, load, is_trial=is_trial) if outside else load(graph)
        except FindingsError as error:
            progress.stop()
            if as_json:
                raise
            _print_findings(error.context.get("notices") or (), error.findings)
            click.echo(f"newel: {error.detail}", err=True)
            raise SystemExit(get_exit_code(error)) from error
    if as_json:
        click.echo(print_json(_build_answer(report)))
        return
    _print_findings(report.notices, report.findings)
    counts = ", ".join(TABLES[name].count(number) for name, number in report.counts.items())
    if report.n_extra:
        counts = ", ".join(filter(None, (counts, f"{report.n_extra:,} triples of others")))
    verb = "Stored" if report.is_stored else "Checked, not stored:"
    skipped = f"; {report.n_skipped:,} faulty left out" if report.n_skipped else ""
    where = ""
    if report.is_stored:
        where = f" As {outside}, beside {store}." if outside else f" Revision {report.revision} of {store}."
    click.echo(f"{verb} {counts or 'nothing'}{skipped}.{where}")


def _tell_why(paths: Iterable[Path], reason: str) -> str:
    """Return what the history says of the load: its files, and the reason where one is given."""
    wrong = check_reason(reason.strip(), may_be_empty=True)
    if wrong:
        raise click.UsageError(f"--why {wrong}.")
    told = f"load {', '.join(path.absolute().name for path in paths)}"
    return f"{told}: {reason.strip()}" if reason.strip() else told


def _load_outside(
    store: Path, outside_id: str, load: Callable[[LiveGraph], LoadReport], *, is_trial: bool
) -> LoadReport:
    """Load an outside framework; a trial leaves the one that has this id."""
    return OutsideFrameworks(None if is_trial else store, LiveGraph).replace(outside_id, load)


def _build_answer(report: LoadReport) -> dict[str, Any]:
    return {
        "revision": report.revision,
        "is_stored": report.is_stored,
        "counts": report.counts,
        "foreign_triples": report.n_extra,
        "skipped": report.n_skipped,
        "notices": list(report.notices),
        "findings": [build_finding(finding) for finding in report.findings],
    }


def _print_findings(notices: Iterable[str], findings: Sequence[Finding]) -> None:
    """Print the notices, every finding, and where there are many how often each kind of fault comes."""
    for notice in notices:
        click.echo(notice)
    for finding in findings:
        click.echo(finding.format())
    if len(findings) <= MANY_FINDINGS:
        return
    kinds = count_kinds(findings)
    click.echo(f"{len(findings):,} findings, by kind:")
    for kind, number in kinds[:MOST_KINDS]:
        click.echo(f"{number:>9,} × {kind}")
    if len(kinds) > MOST_KINDS:
        rest = sum(number for _, number in kinds[MOST_KINDS:])
        click.echo(f"{rest:>9,} × one of {len(kinds) - MOST_KINDS:,} other kinds")


def _make_progress() -> Progress:
    return Progress(
        SpinnerColumn(),
        TextColumn("{task.description}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=Console(file=sys.stderr),
        transient=True,
        disable=not sys.stderr.isatty(),
    )
