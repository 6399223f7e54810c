"""Give the present state a name, so that it can be asked by it: `newel coverage TEAM --as-of NAME`."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.draft_call import ask_about_drafts
from api.terminal.options import json_option, release_options, store_option


@click.command("release", help=__doc__)
@click.argument("version", metavar="NAME")
@release_options
@json_option
@store_option
def run(version: str, reason: str, author: str | None, date: str | None, as_json: bool, store: Path) -> None:
    """Name it and print the release."""
    asked = {"version": version, "reason": reason, "author": author, "date": date}
    ask_about_drafts("release", store, asked=asked, as_json=as_json)
