"""Tell what was changed, when, by whom and why: all changes, those of one revision, or the life of a record.

`newel history competencies treatment-control` tells the life of a record; without words, all changes, newest first.
"""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.dispatch import ask_and_print
from api.terminal.look import build_call
from api.terminal.options import json_option, language_option, state_options, store_option


@click.command("history", help=__doc__)
@click.argument("table", required=False, default="")
@click.argument("record", required=False, default="", metavar="[ID]")
@click.option("--revision", type=click.IntRange(min=1), metavar="N", help="What this revision changed.")
@click.option("--since", metavar="DAY", help="Only changes from this day on (UTC).")
@click.option("--until", metavar="DAY", help="Only changes up to this day.")
@click.option("--who", metavar="NAME", help="Only changes by this author.")
@click.option("--of", "of_table", metavar="TABLE", help="Only changes of records of this table.")
@click.option("--most", type=click.IntRange(min=1, max=1000), metavar="N", help="At most so many changes.")
@json_option
@store_option
@state_options
@language_option
def run(
    table: str,
    record: str,
    revision: int | None,
    of_table: str | None,
    most: int | None,
    as_json: bool,
    store: Path,
    as_of: str | None,
    people_as_of: str | None,
    draft: str | None,
    language: str | None,
    **filters: str | None,
) -> None:
    """Ask for the history and print it."""
    if table and not record:
        raise click.UsageError("Name the record: newel history TABLE ID.")
    given = {"revision": revision, **filters, "table": of_table, "page_size": most}
    asked = {name: str(value) for name, value in given.items() if value is not None}
    if asked and (table or (revision is not None and len(asked) > 1)):
        raise click.UsageError("A record and a revision are told whole, without filters.")
    state = {"as_of": as_of, "people_as_of": people_as_of, "draft": draft, "language": language}
    ask_and_print(
        build_call("history", as_json=as_json, table=table, subject=record, asked=asked, **state), None, store
    )
