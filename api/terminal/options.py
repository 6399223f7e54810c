"""Options that several commands share, and opening the store they name. Imports ontology.live.live_graph, path aims."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, TypeVar, cast

import click

from api.terminal.naming import get_id, get_ids
from ontology.analysis.paths.aims import AIMS
from ontology.errors import UnavailableError
from ontology.live.live_graph import LiveGraph

_F = TypeVar("_F", bound=Callable[..., Any])


class Date(click.ParamType[Any]):
    """A day as 2026-11-24."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the day, or end with a usage error."""
        if isinstance(value, date):
            return value
        try:
            if len(value) != 10:
                raise ValueError
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is not a valid date; write it as 2026-11-24", param, ctx)


class Named(click.ParamType[Any]):
    """An id of a table, or a name that means one of its records."""

    name = "id or name"

    def __init__(self, table: str) -> None:
        self.table = table

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return the id; InputError or UnknownIdError where no single record is meant."""
        return get_id(get_graph_of_call().get_snapshot(), self.table, value)


class Ids(click.ParamType[Any]):
    """Ids of a table, or names, separated by commas."""

    name = "ids"

    def __init__(self, table: str) -> None:
        self.table = table

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> frozenset[str]:
        """Return the set of ids; InputError or UnknownIdError where no single record is meant."""
        if isinstance(value, frozenset):
            return value
        texts = [part.strip() for part in value.split(",") if part.strip()]
        return get_ids(get_graph_of_call().get_snapshot(), self.table, texts) if texts else frozenset()


def get_today() -> date:
    """Return today's date, UTC, as the API counts it."""
    return datetime.now(UTC).date()


def store_option(command: _F) -> _F:
    """Add --store."""
    return click.option(
        "--store",
        type=click.Path(path_type=Path, file_okay=False),
        envvar="NEWEL_STORE",
        default=Path("newel-store"),
        show_default=True,
        is_eager=True,  # names in the other words of the call are looked up in it
        help="Folder of the store.",
    )(command)


def json_option(command: _F) -> _F:
    """Add --json."""
    return click.option("--json", "as_json", is_flag=True, help="Print the answer as the API gives it.")(command)


def on_option(command: _F) -> _F:
    """Add --on."""
    return click.option("--on", type=Date(), default=get_today, help="The day asked about (default: today, UTC).")(
        command
    )


def with_path_options(command: _F) -> _F:
    """Add what a learning path, and a calendar made of one, may be asked."""
    for option in (
        click.option("--time-limit", "time_limit_s", type=click.FloatRange(min=0, min_open=True),
                     help="Seconds to compute at the most."),
        click.option("--already-booked", type=Ids("courses"), default="", metavar="C1,C2",
                     help="Courses taken for granted."),
        click.option("--exclude", type=Ids("courses"), default="", metavar="C1,C2", help="Courses never used."),
        click.option("--max-cost", type=click.FloatRange(min=0), help="Budget of money."),
        click.option("--max-hours", type=click.FloatRange(min=0), help="Budget of study hours."),
        click.option("--desirable", "with_desirable", is_flag=True, help="Reach the desirable requirements too."),
        click.option("--minimise", type=click.Choice(AIMS), default="hours", show_default=True, help="The first aim."),
    ):  # fmt: skip
        command = option(command)
    return command


def get_graph_of_call(store: Path | None = None) -> LiveGraph:
    """Return the graph of the store that the call names; the store is opened once and closed when the program ends."""
    context = click.get_current_context()
    root = context.find_root()
    if root.obj is None:
        # of the program's own context: that of a command is not closed when one of its words is wrong
        root.obj = root.with_resource(open_graph(store or context.params["store"]))
    return cast(LiveGraph, root.obj)


@contextmanager
def open_graph(store: Path, *, create: bool = False) -> Iterator[LiveGraph]:
    """Open the store of a command and close it afterwards."""
    try:
        graph = LiveGraph.open(store, create=create)
    except OSError as error:
        raise UnavailableError(f"The store in {store} cannot be opened: {error.strerror or error}.") from error
    try:
        yield graph
    finally:
        graph.close()
