"""Work on a draft: changes of the framework that nobody else sees until it is published.

`newel draft start ID --title TEXT` begins one, `newel load PATH --draft ID` brings tables onto it, `newel draft show
ID` tells what it changes, `newel publish ID` makes it what everybody sees. `newel draft start ID --undo-of RELEASE`
takes a release back.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import click

from api.terminal.draft_call import ask_about_drafts
from api.terminal.options import json_option, store_option
from ontology.model.retirable import RETIRABLE

#: Commands that name a draft and say nothing else.
_PLAIN: Final = {
    "show": "Tell what a draft is and what it changes.",
    "changes": "Tell what a draft changes, row by row.",
    "findings": "Tell what the state a draft leads to would break.",
    "conflicts": "Tell what a draft and others changed differently.",
    "withdraw": "Close a draft: nobody's answers ever differed.",
    "open": "Open a draft again that was withdrawn.",
    "delete": "Delete a draft that was withdrawn, for good.",
}


@click.group("draft", help=__doc__)
def run() -> None:
    """Work on a draft."""


@run.command("list")
@json_option
@store_option
def list_all(as_json: bool, store: Path) -> None:
    """List the drafts, open ones first."""
    ask_about_drafts("list", store, as_json=as_json)


@run.command("start")
@click.argument("draft", metavar="ID")
@click.option("--title", metavar="TEXT", help="What it is called; the id when left out.")
@click.option("--base", metavar="STATE", help="A revision, a day or a release; the present state when left out.")
@click.option("--undo-of", metavar="STATE", help="The revision or release whose change it takes back.")
@json_option
@store_option
def start(draft: str, title: str | None, base: str | None, undo_of: str | None, as_json: bool, store: Path) -> None:
    """Start a draft."""
    asked = {"title": title or draft, "base": base, "undo_of": undo_of}
    ask_about_drafts("start", store, draft=draft, asked=asked, as_json=as_json)


@run.command("rebase")
@click.argument("draft", metavar="ID")
@click.option("--all", "everywhere", type=click.Choice(["draft", "published"]), help="Decide every conflict so.")
@click.option(
    "--take",
    multiple=True,
    metavar="TABLE/ID#COLUMN=SIDE",
    help="Decide one: SIDE is draft or published; without #COLUMN the whole record. May be given again.",
)
@json_option
@store_option
def rebase(draft: str, everywhere: str | None, take: tuple[str, ...], as_json: bool, store: Path) -> None:
    """Bring a draft to the present, deciding conflicts."""
    if everywhere and take:
        raise click.UsageError("Decide all for one side, or one by one.")
    asked = {"all": everywhere, "take": "\n".join(take) or None}
    ask_about_drafts("rebase", store, draft=draft, asked=asked, as_json=as_json)


@run.command("retire")
@click.argument("draft", metavar="ID")
@click.argument("table", type=click.Choice(RETIRABLE), metavar="TABLE")
@click.argument("old", metavar="OLD")
@click.option(
    "--by",
    multiple=True,
    metavar="NEW[:CARRY]",
    help="What takes its place; several are its parts. CARRY says how levels are read: same, declared or none.",
)
@click.option("--why", "reason", metavar="TEXT", help="Why it is retired.")
@json_option
@store_option
def retire(
    draft: str, table: str, old: str, by: tuple[str, ...], reason: str | None, as_json: bool, store: Path
) -> None:
    """Retire a competency, role or course in a draft; what named it names what takes its place."""
    asked = {"table": table, "id": old, "by": "\n".join(by) or None, "reason": reason}
    ask_about_drafts("retire", store, draft=draft, asked=asked, as_json=as_json)


@run.command("scale")
@click.argument("draft", metavar="ID")
@click.argument("competency", metavar="COMPETENCY")
@click.argument("scale", metavar="SCALE")
@click.option(
    "--map",
    "ranks",
    metavar="RANKS",
    help="What each rank until now counts as, from the first on, like 0,1,1,2; by the map in the draft when left out.",
)
@click.option("--why", "reason", metavar="TEXT", help="Why it moves.")
@json_option
@store_option
def scale(
    draft: str, competency: str, scale: str, ranks: str | None, reason: str | None, as_json: bool, store: Path
) -> None:
    """Move a competency to another scale in a draft; what asks, teaches or needs it says levels by the map."""
    asked = {"competency": competency, "scale": scale, "ranks": ranks, "reason": reason}
    ask_about_drafts("scale", store, draft=draft, asked=asked, as_json=as_json)


@run.command("ranks")
@click.argument("draft", metavar="ID")
@click.argument("scale", metavar="SCALE")
@click.option("--level", "levels", multiple=True, metavar="LABEL", help="A level it has from now on, lowest first.")
@click.option("--map", "ranks", metavar="RANKS", help="What each rank becomes, from the first on, like 1,2,4.")
@click.option("--why", "reason", metavar="TEXT", help="Why they change.")
@json_option
@store_option
def ranks(
    draft: str,
    scale: str,
    levels: tuple[str, ...],
    ranks: str | None,
    reason: str | None,
    as_json: bool,
    store: Path,
) -> None:
    """Give a scale other ranks in a draft; all that is recorded on it is read by the map."""
    asked = {"scale": scale, "levels": "\n".join(levels) or None, "ranks": ranks, "reason": reason}
    ask_about_drafts("scale", store, draft=draft, asked=asked, as_json=as_json)


@run.command("replacements")
@click.argument("draft", metavar="ID")
@click.option(
    "--match", type=click.Choice(["known", "suggested"]), default="known", help="By what records are the same."
)
@click.option("--except", "left_out", multiple=True, metavar="TABLE/ID", help="A published record to leave out.")
@json_option
@store_option
def replacements(draft: str, match: str, left_out: tuple[str, ...], as_json: bool, store: Path) -> None:
    """Write into a draft what took the place of what, so that old addresses lead on."""
    asked = {"match": match, "except": "\n".join(left_out) or None}
    ask_about_drafts("replacements", store, draft=draft, asked=asked, as_json=as_json)


def _add(name: str, about: str) -> None:
    def command(draft: str, as_json: bool, store: Path) -> None:
        ask_about_drafts(name, store, draft=draft, as_json=as_json)

    decorated: Callable[..., Any] = click.argument("draft", metavar="ID")(json_option(store_option(command)))
    run.command(name, help=about)(decorated)


for _name, _about in _PLAIN.items():
    _add(_name, _about)
