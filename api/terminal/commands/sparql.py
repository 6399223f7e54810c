"""Ask the framework in SPARQL: a file with one query, or - for what is typed.

It is asked of the vocabulary, the framework and the offers: nothing about persons and teams, no draft and no past.
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from api.desk.sparql import GRAPH_FORMS, ROW_FORMS
from api.terminal.dispatch import ask_and_print
from api.terminal.look import build_call
from api.terminal.options import json_option, store_option
from ontology.errors import InputError

_FORMS = (*ROW_FORMS, *GRAPH_FORMS)


@click.command("sparql", help=__doc__)
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@click.option("--as", "form", type=click.Choice(_FORMS), help="In which form; a table if not said.")
@click.option("--to", "to_file", type=click.Path(path_type=Path, dir_okay=False), help="Write it to a file.")
@json_option
@store_option
def run(file: Path, form: str | None, to_file: Path | None, as_json: bool, store: Path) -> None:
    """Ask, and print what was found."""
    try:
        text = sys.stdin.read() if str(file) == "-" else file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise InputError(f"{file} cannot be read: {reason}.", path=str(file)) from None
    ask_and_print(build_call("sparql", as_json=as_json, asked={"query": text}, form=form), to_file, store)
