"""Publish a draft as a release: one commit, and the next question of everybody is answered on it.

Refused where conflicts are open (`newel draft conflicts ID`) or a rule would be broken (`newel draft findings ID`).
"""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.draft_call import ask_about_drafts
from api.terminal.options import json_option, release_options, store_option


@click.command("publish", help=__doc__)
@click.argument("draft", metavar="ID")
@click.option("--version", required=True, metavar="NAME", help="Name of the release: an id, no number, no day.")
@release_options
@json_option
@store_option
def run(
    draft: str, version: str, reason: str, author: str | None, date: str | None, as_json: bool, store: Path
) -> None:
    """Publish it and print the release."""
    asked = {"version": version, "reason": reason, "author": author, "date": date}
    ask_about_drafts("publish", store, draft=draft, asked=asked, as_json=as_json)
