"""Print every finding of the framework's own state; exit status 1 when there are errors."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import click

from api.desk.desk import get_utc_day
from api.errors import build_finding
from api.json_text import print_json
from api.terminal.options import json_option, open_graph, store_option
from loaders.report import sort_findings
from ontology.checks.changes import check_everything
from ontology.plurals import format_count

#: What to do where another process has the store open.
_LOCKED = "Copy it with newel backup, and check the copy."


@click.command("check", help=__doc__)
@click.option(
    "--full", "is_full", is_flag=True, help="Check the shapes with pySHACL, not by queries (slow on large data)."
)
@json_option
@store_option
def run(is_full: bool, as_json: bool, store: Path) -> None:
    """Check, and print what was found."""
    with open_graph(store, if_locked=_LOCKED) as graph:
        found = check_everything(graph.store, graph.get_snapshot(), is_full=is_full, today=get_utc_day())
        findings = sort_findings(found)
    counts = Counter(finding.severity for finding in findings)
    if as_json:
        click.echo(print_json([build_finding(finding) for finding in findings]))
    else:
        for finding in findings:
            click.echo(finding.format())
        click.echo(f"{format_count(counts['error'], 'error')}, {format_count(counts['remark'], 'remark')}.")
    if counts["error"]:
        raise SystemExit(1)
