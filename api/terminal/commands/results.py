"""Enter the results of a session from a CSV file with the columns person, attended and passed, in one commit.

Bookings become attended or missed, and who passed has the outcomes of the course from its last day on. One row that is
wrong and nothing is stored. Entering the same twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from api.terminal.options import json_option, open_graph, store_option

#: What to do where another process has the store open.
_LOCKED = "Stop the server that serves it, or send them to it: PUT /api/sessions/SESSION/results."
_FAULTY = "The results are refused as a whole; nothing was stored."


@click.command("results", help=__doc__)
@click.argument("session")
@click.argument("file", type=click.Path(path_type=Path, readable=False))
@click.option("--entered-by", metavar="WHO", help="Who enters them and saw what is recorded (an id is best).")
@click.option("--dry-run", "is_trial", is_flag=True, help="Check everything, store nothing.")
@json_option
@store_option
def run(session: str, file: Path, entered_by: str | None, is_trial: bool, as_json: bool, store: Path) -> None:
    """Enter them, and print what came of it."""
    # imported here, so that the list of commands stays short to make
    from api.access.actor import LOCAL_OWNER
    from api.desk.desk import get_utc_day
    from api.http.result_services import store_results
    from api.json_text import print_json, to_json
    from api.terminal.who import get_who
    from loaders.tables.results import load_results
    from ontology.analysis.sessions.results import ResultFault
    from ontology.errors import Finding, FindingsError

    loaded = load_results(file)
    if loaded.findings:
        raise FindingsError(_FAULTY, loaded.findings)
    rows = loaded.records.get("results", [])

    def refuse(faults: Sequence[ResultFault]) -> FindingsError:
        return FindingsError(_FAULTY, [tell(fault) for fault in faults])

    def tell(fault: ResultFault) -> Finding:
        known = None if fault.row is None else loaded.origins.get("results", (rows[fault.row].person,))
        source, number = known or (file.name, 0)
        value = "yes" if fault.value is True else str(fault.value or "")
        return Finding("error", source, number, fault.member, value, fault.reason)

    with open_graph(store, if_locked=_LOCKED) as graph:
        stored = store_results(
            graph,
            session,
            rows,
            entered_by=entered_by or LOCAL_OWNER.name,
            who=get_who(),
            today=get_utc_day(),
            refuse=refuse,
            is_trial=is_trial,
        )
    if as_json:
        answer = to_json(stored.results) | {"remarks": list(stored.remarks), "revision": stored.revision}
        click.echo(print_json(answer))
        return
    for remark in stored.remarks:
        click.echo(f"remark: {remark}")
    attended = sum(bool(row.attended) for row in stored.results.rows)
    passed = sum(bool(row.passed) for row in stored.results.rows)
    what = f"{attended} of {len(stored.results.rows)} attended, {passed} passed"
    if is_trial:
        click.echo(f"Checked, not stored: {what}.")
    elif stored.records:
        click.echo(f"Stored: {what}. Revision {stored.revision} of {store}.")
    else:
        click.echo(f"Nothing changes: {what}, as recorded. Revision {stored.revision} of {store}.")
