"""List the releases: names of states, each with its revision, day, author and reason."""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.draft_call import ask_about_drafts
from api.terminal.options import json_option, store_option


@click.command("releases", help=__doc__)
@json_option
@store_option
def run(as_json: bool, store: Path) -> None:
    """Print them."""
    ask_about_drafts("releases", store, as_json=as_json)
