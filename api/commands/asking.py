"""What every command that asks does: its words and options, the store opened, the answer as a table or as JSON."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from api import services
from api.answers import to_json
from api.commands.options import Ids, Named, get_graph_of_call, json_option, on_option, store_option
from api.terminal.naming import get_id
from ontology.graph.snapshot import Snapshot

_F = TypeVar("_F", bound=Callable[..., Any])
Show = Callable[[Snapshot, dict[str, Any]], None]


def answer(store: Path, as_json: bool, ask: Callable[[Snapshot], dict[str, Any]], show: Show) -> None:
    snapshot = get_graph_of_call(store).get_snapshot()
    found = ask(snapshot)
    if as_json:
        click.echo(json.dumps(to_json(found), ensure_ascii=False, indent=2))
    else:
        show(snapshot, found)


def with_common_options(command: _F) -> _F:
    return store_option(json_option(on_option(command)))


def with_person_and_role(role_option: str) -> Callable[[_F], _F]:
    """Add PERSON or --from, and the role asked about as a second argument or an option."""

    def decorate(command: _F) -> _F:
        command = click.option(
            role_option, "role_named", type=Named("roles"), metavar="ROLE", help="The role asked about."
        )(command)
        command = click.option(
            "--from", "from_role", type=Named("roles"), metavar="ROLE", help="Start from this role's full profile."
        )(command)
        command = click.argument("ids", nargs=-1, metavar="[PERSON] [ROLE]")(command)
        return command

    return decorate


def get_subject(ids: tuple[str, ...], from_role: str | None, role_named: str | None) -> tuple[str | None, str]:
    """Return the ids of (person or None, role) from the words of the call: ids or names."""
    rest = list(ids)
    person = rest.pop(0) if rest and from_role is None else None
    role = role_named if role_named is not None else (rest.pop(0) if rest else None)
    if rest:
        raise click.UsageError(f"One word too many: {rest[0]!r}.")
    if person is None and from_role is None:
        raise click.UsageError("Name a person, or --from a role.")
    if role is None:
        raise click.UsageError("Name the role.")
    snapshot = get_graph_of_call().get_snapshot()
    return person and get_id(snapshot, "people", person), get_id(snapshot, "roles", role)


def with_team(command: _F) -> _F:
    command = click.option(
        "--away", type=Ids("people"), default="", metavar="P1,P2", help="Suppose these people are away."
    )(command)
    return with_common_options(click.argument("team", type=Named("teams"))(command))


def with_limits(command: _F) -> _F:
    command = click.option(
        "--level-limit", type=click.IntRange(min=0), default=services.DEFAULT_LEVEL_LIMIT, show_default=True
    )(command)
    return click.option(
        "--preparation-limit",
        type=click.FloatRange(min=0),
        default=services.DEFAULT_PREPARATION_LIMIT,
        show_default=True,
        help="Study hours before one move.",
    )(command)
