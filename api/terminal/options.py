"""Options that several commands share, and opening the store they name."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from api.settings import FILE, PREFIX, Settings, list_settings, load_settings_file, read_settings
from ontology.errors import StoreLockedError, UnavailableError

if TYPE_CHECKING:
    from api.access.database import Database
    from ontology.live.live_graph import LiveGraph

#: Folder of the store, in the one one is in.
DEFAULT_STORE: Final = "newel-store"
_F = TypeVar("_F", bound=Callable[..., Any])


def store_option(command: _F) -> _F:
    """Add --store."""
    return click.option(
        "--store",
        type=click.Path(path_type=Path, file_okay=False),
        envvar="NEWEL_STORE",
        default=Path(DEFAULT_STORE),
        show_default=True,
        help="Folder of the store.",
    )(command)


def json_option(command: _F) -> _F:
    """Add --json."""
    return click.option("--json", "as_json", is_flag=True, help="Print the answer as the API gives it.")(command)


def language_option(command: _F) -> _F:
    """Add --language."""
    about = "Read names and descriptions in a language, where they are translated: de, pt-br."
    return click.option("--language", metavar="TAG", help=about)(command)


def state_options(command: _F) -> _F:
    """Add --as-of, --people-as-of and --draft."""
    command = click.option("--draft", metavar="ID", help="A draft on top of the present state.")(command)
    about = "Ask on the state of a revision, a day or a release."
    command = click.option("--people-as-of", type=click.Choice(["now"]), help="Today's teams and people on it.")(
        command
    )
    return click.option("--as-of", metavar="STATE", help=about)(command)


def release_options(command: _F) -> _F:
    """Add --reason, --author and --date of a release."""
    command = click.option("--date", metavar="DAY", help="Its day; today when left out, never a day to come.")(command)
    command = click.option("--author", metavar="NAME", help="Who stands behind it; whoever calls when left out.")(
        command
    )
    about = "Why, for the history: at most 500 characters."
    return click.option("--reason", required=True, metavar="TEXT", help=about)(command)


def settings_options(command: _F) -> _F:
    """Add an option for each setting."""
    for setting in reversed(list_settings()):
        flag = "--" + setting.name.replace("_", "-")
        unit = f"In {setting.unit}; default" if setting.unit else "Default"
        default = (setting.default or "none") if isinstance(setting.default, str) else f"{setting.default:,}"
        about = f"{setting.about} {unit}: {default}, or {setting.variable}, or newel.toml."
        metavar = "TEXT" if setting.kind is str else "N"
        command = click.option(flag, setting.name, type=setting.kind, metavar=metavar, help=about)(command)
    return command


def get_settings(given: Mapping[str, Any]) -> Settings:
    """Return the settings of this process; a usage error says what is wrong with them."""
    named = os.environ.get(PREFIX + "SETTINGS", "")
    path = Path(named or FILE)
    try:
        of_file = load_settings_file(path) if named or path.exists() else {}
        return read_settings(os.environ, given, of_file)
    except ValueError as error:
        raise click.UsageError(f"{error}.") from None


@contextmanager
def open_graph(store: Path, *, create: bool = False, if_locked: str = "") -> Iterator[LiveGraph]:
    """Open the store of a command, or make it where there is none and `create` is said, and close it afterwards.

    `if_locked` is a sentence that says what to do where another process has it open.

    Raises
    ------
    StoreLockedError
        Another process has it open.
    UnavailableError
        It cannot be read.
    """
    from ontology.live.live_graph import LiveGraph  # brings the store's engine

    try:
        graph = LiveGraph.open(store, create=create)
    except StoreLockedError as error:
        raise StoreLockedError(f"{error.detail} {if_locked}".strip(), **error.context) from error
    except OSError as error:
        raise UnavailableError(f"The store in {store} cannot be opened: {error.strerror or error}.") from error
    try:
        _warn_of_readers(store)
        _end_erasures(graph)
        _name_authors(graph)
        yield graph
    finally:
        graph.close()


def find_beside(store: Path) -> Path:
    """Return where the database of a store on disk is, be it there or not."""
    from api.access.database import find_database  # brings SQLAlchemy: whoever has no accounts need not wait for it

    path = find_database(store)
    assert path is not None, "a store on disk has a place beside it"
    return path


def open_database(store: Path | None) -> Database | None:
    """Return the database beside a store; None where there is none."""
    path = find_beside(store) if store is not None else None
    if path is None or not path.exists():
        return None
    from api.access.database import Database

    return Database(path)


def _end_erasures(graph: LiveGraph) -> None:
    """Do what a killed process left of an erasure beside the store."""
    database = open_database(graph.store.path) if graph.past.get_erasures().keys else None
    if database is not None:
        from api.access.erasing import catch_up

        catch_up(graph, database)


def _name_authors(graph: LiveGraph) -> None:
    """Have authors of the history called as their accounts are, where there are any; opened by the first of them."""

    def tell(who: str) -> str:
        database = open_database(graph.store.path) if who.startswith("account ") else None
        if database is None:
            return who
        from api.access.authors import build_teller

        return build_teller(lambda: database)(who)

    graph.tell_author = tell


def _warn_of_readers(store: Path) -> None:
    from ontology.store.folder import is_open_to_others

    if is_open_to_others(store):
        click.echo(
            f"newel: other users of this machine may read the store, all that is about people too: chmod 700 {store}",
            err=True,
        )
