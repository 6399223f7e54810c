"""Asking from the command line: the store opened, names made ids, the desk asked, the answer printed or written."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from api.desk.desk import Answer, Desk
from api.desk.parameters import Asks, list_parameters
from api.desk.question import Question, Subject, SubjectKind
from api.desk.rights import LOCAL_OWNER
from api.json_text import to_json
from api.terminal.naming import get_id, get_ids
from api.terminal.sheet_text import print_sheet
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ask_and_print"]


def ask_and_print(
    question: Question,
    kind: SubjectKind,
    subject: str,
    asked: Asks,
    as_json: bool,
    to_file: Path | None,
    store: Path,
) -> None:
    """Ask a store's desk and print the sheet, or the JSON answer, or write a file."""
    from api.terminal.options import open_graph
    from api.terminal.serving import get_settings

    with open_graph(store) as graph:
        desk = Desk(graph, get_settings({}))
        state = desk.get_state()
        snapshot = state.snapshot
        about = Subject(kind, get_id(snapshot, kind.value, subject) if kind.value else "")
        answer = desk.ask(LOCAL_OWNER, state, question, about, resolve_all(snapshot, asked))
    if to_file is not None:
        write_answer(answer, to_file)
    elif as_json:
        click.echo(json.dumps(to_json(answer.members), ensure_ascii=False, indent=2))
    else:
        print_sheet(answer.build_sheet(), snapshot.revision)


def resolve_all(snapshot: Snapshot, asked: Asks) -> Asks:
    """Return what is asked with names in parameters made ids."""
    changed: dict[str, Any] = {}
    for parameter in list_parameters(type(asked)):
        value = getattr(asked, parameter.field)
        if parameter.kind.name == "id" and value is not None:
            changed[parameter.field] = get_id(snapshot, parameter.kind.table, value)
        elif parameter.kind.name == "ids" and parameter.kind.table:
            changed[parameter.field] = get_ids(snapshot, parameter.kind.table, value)
    return dataclasses.replace(asked, **changed)


def write_answer(answer: Answer, path: Path) -> None:
    """Write an answer to a file in the form its ending names."""
    from api.http.forms import build_form

    question = answer.enquiry.question
    forms: Mapping[str, str] = {"xlsx": "", "html": "", **dict.fromkeys(question.files, "")}
    form = path.suffix.removeprefix(".").lower()
    if form not in forms:
        raise click.UsageError(f"A file of this can end in {', '.join('.' + name for name in forms)}.")
    path.write_bytes(build_form(answer, form))
    click.echo(f"Written to {path}.")
