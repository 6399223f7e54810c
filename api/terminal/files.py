"""newel load, export, template, check, backup, restore. Imports the loaders and the checks."""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from api.errors import build_finding, get_exit_code
from api.terminal.options import get_today, json_option, open_graph, store_option
from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES
from loaders.linked_data.writer import export_linked_data
from loaders.pipeline import KINDS, load_paths
from loaders.report import LoadReport, count_kinds, sort_findings
from loaders.tables.table_writers import export_csv, export_workbook
from loaders.tables.template import export_template
from ontology.checks.changes import check_everything
from ontology.errors import Finding, FindingsError, InputError
from ontology.live.live_graph import LiveGraph
from ontology.mapping.foreign import count_foreign
from ontology.plurals import format_count
from ontology.rdf.namespaces import DATA_GRAPHS
from ontology.store.backups import backup_store, restore_store

EXPORT_KINDS = ("workbook", "csv", "linked-data")
#: Above this many findings a load ends with how often each kind comes; at most so many kinds are shown.
MANY_FINDINGS = 20
MOST_KINDS = 20


@click.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=click.Path(path_type=Path, readable=False))
@click.option("--as", "kind", type=click.Choice(KINDS), help="What the files are (guessed when left out).")
@click.option("--as-scale", metavar="SCHEME", help="Make an ordered scale of this SKOS scheme, by notation.")
@click.option("--dry-run", "is_trial", is_flag=True, help="Check everything, store nothing.")
@click.option("--skip-faulty", is_flag=True, help="Store the sound rest; without it one error stores nothing.")
@json_option
@store_option
def load(
    paths: tuple[Path, ...],
    kind: str | None,
    as_scale: str | None,
    is_trial: bool,
    skip_faulty: bool,
    as_json: bool,
    store: Path,
) -> None:
    """Load tables, workbooks, linked data or open data sets into the store, in one commit.

    The store folder is made when it is not there. Every finding is printed with its file and row.
    """
    with ExitStack() as stack:
        # a trial on a store that does not exist yet must not make one
        if is_trial and not store.exists():
            graph = LiveGraph.in_memory()
            stack.callback(graph.close)
        else:
            graph = stack.enter_context(open_graph(store, create=True))
        progress = stack.enter_context(_make_progress())
        tasks: dict[str, Any] = {}

        def show(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = progress.add_task(what, total=total or None)
            progress.update(tasks[what], completed=done, total=total or None)

        try:
            report = load_paths(
                graph, paths, kind=kind, as_scale=as_scale, is_trial=is_trial, skip_faulty=skip_faulty, progress=show
            )
        except FindingsError as error:
            progress.stop()
            if as_json:
                raise
            _print_findings(error.context.get("notices") or (), error.findings)
            click.echo(f"newel: {error.detail}", err=True)
            raise SystemExit(get_exit_code(error)) from error
    if as_json:
        click.echo(json.dumps(_build_answer(report), ensure_ascii=False, indent=2))
        return
    _print_findings(report.notices, report.findings)
    counts = ", ".join(f"{number:,} {name.replace('_', ' ')}" for name, number in report.counts.items())
    if report.n_extra:
        counts = ", ".join(filter(None, (counts, f"{report.n_extra:,} triples of others")))
    verb = "Stored" if report.is_stored else "Checked, not stored:"
    skipped = f"; {report.n_skipped:,} faulty left out" if report.n_skipped else ""
    where = f" Revision {report.revision} of {store}." if report.is_stored else ""
    click.echo(f"{verb} {counts or 'nothing'}{skipped}.{where}")


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


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--as", "kind", type=click.Choice(EXPORT_KINDS), help="What to write (guessed from the name).")
@store_option
def export(path: Path, kind: str | None, store: Path) -> None:
    """Write everything to a workbook, a folder of CSV tables, or one file of linked data."""
    suffix = path.suffix.lower()
    if kind is None:
        kind = "workbook" if suffix == ".xlsx" else "linked-data" if suffix in LINKED_DATA_SUFFIXES else "csv"
        if kind == "csv" and suffix:
            raise InputError(
                f"{path.name}: write .xlsx, a linked-data suffix ({' '.join(sorted(LINKED_DATA_SUFFIXES))}) or the "
                "name of a folder for CSV tables; or say --as."
            )
    if store.resolve() in (path.resolve(), *path.resolve().parents):
        raise InputError(f"{path} lies in the store itself; name a place elsewhere.", path=str(path))
    with open_graph(store) as graph:
        snapshot = graph.get_snapshot()
        n_left_out = 0 if kind == "linked-data" else count_foreign(graph.store, snapshot)
        if kind == "workbook":
            export_workbook(snapshot, path)
        elif kind == "csv":
            export_csv(snapshot, path)
        else:
            quads = [quad for name in DATA_GRAPHS for quad in graph.store.read_graph(name)]
            export_linked_data(quads, path)
        if n_left_out:
            click.echo(f"Left out: {n_left_out:,} triples of others, which no table holds; linked data keep them.")
        click.echo(f"Wrote revision {snapshot.revision} to {path}.")


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
def template(path: Path) -> None:
    """Write an empty workbook to fill in: a sheet per table, explained, with drop-downs and checks."""
    export_template(path)
    click.echo(f"Wrote {path}; fill it in and load it with: newel load {path}")


@click.command()
@click.option(
    "--full", "is_full", is_flag=True, help="Check the shapes with pySHACL, not by queries (slow on large data)."
)
@json_option
@store_option
def check(is_full: bool, as_json: bool, store: Path) -> None:
    """Print every finding of the framework's own state; exit status 1 when there are errors."""
    with open_graph(store) as graph:
        found = check_everything(graph.store, graph.get_snapshot(), is_full=is_full, today=get_today())
        findings = sort_findings(found)
    counts = Counter(finding.severity for finding in findings)
    if as_json:
        click.echo(json.dumps([build_finding(finding) for finding in findings], ensure_ascii=False, indent=2))
    else:
        for finding in findings:
            click.echo(finding.format())
        click.echo(f"{format_count(counts['error'], 'error')}, {format_count(counts['remark'], 'remark')}.")
    if counts["error"]:
        raise SystemExit(1)


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@store_option
def backup(path: Path, store: Path) -> None:
    """Copy the store into a new folder, which is a store itself; one that is being served copies itself."""
    revision = backup_store(store, path)
    click.echo(f"Wrote revision {revision} of {store} to {path}.")


@click.command()
@click.argument("path", type=click.Path(path_type=Path))
@store_option
def restore(path: Path, store: Path) -> None:
    """Make the store what a backup holds; what the store held before is replaced in one step."""
    revision = restore_store(path, store)
    click.echo(f"{store} is at revision {revision} again, from {path}.")


COMMANDS = (load, export, template, check, backup, restore)
