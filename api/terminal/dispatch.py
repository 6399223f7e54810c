"""Where a call is answered: in this process, which opens the store, or by the one that serves it already."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click

from api.terminal.call import Call
from api.terminal.options import get_settings, open_graph
from ontology.errors import InputError, StoreLockedError


def dispatch(call: Call, store: Path) -> bytes:
    """Return what a call asks of a store, whether it is being served or not.

    Raises
    ------
    StoreLockedError
        Another process has it open, and none that serves it answers.
    NewelError
        What is asked has no answer.
    """
    if call.paths and is_all_of_files(call):
        from api.desk.desk import Desk
        from api.terminal.answering import answer_call
        from ontology.live.live_graph import LiveGraph

        with closing(LiveGraph.in_memory()) as graph:
            return answer_call(Desk(graph, get_settings({})), call)
    try:
        with open_graph(store) as graph:
            from api.terminal.answering import answer_call
            from api.terminal.command_desk import CommandDesk

            return answer_call(CommandDesk(graph, get_settings({})), call)
    except StoreLockedError as error:
        from api.terminal.remote import ask_server

        return ask_server(store, call, error)


def is_all_of_files(call: Call) -> bool:
    """Whether every state that a call speaks of is a file or folder, so that no store is asked."""
    from api.desk.parameters import list_parameters
    from api.desk.question import SubjectKind
    from api.questions import load_question

    parameters = list_parameters(load_question(call.question).asks[SubjectKind(call.table)])
    return {parameter.name for parameter in parameters if parameter.kind.name == "state"} == call.paths.keys()


def ask_and_print(call: Call, to_file: Path | None, store: Path) -> None:
    """Print an answer, or write it to a file."""
    content = dispatch(call, store)
    if to_file is None:
        click.echo(content.decode(), nl=False, color=True)
        return
    try:
        to_file.write_bytes(content)
    except OSError as error:
        raise InputError(f"{to_file} cannot be written: {error.strerror or error}.", path=str(to_file)) from error
    click.echo(f"Written to {to_file}.")
