"""Write today's schedule to a role down as what is agreed with a person, in one commit.

The courses of the schedule become an agreed plan, each with its first and last day; `newel agreed-plan` says later how
it stands. Refused where there is nothing to learn, or where a plan agreed before has not ended. A schedule asked for in
another way is agreed with `newel schedule ... --agree`.
"""

from __future__ import annotations

from pathlib import Path

import click

from api.terminal.dispatch import ask_and_print
from api.terminal.look import build_call
from api.terminal.options import json_option, store_option


@click.command("agree", help=__doc__)
@click.argument("person")
@click.argument("role")
@click.option("--with", "agreed_with", metavar="NAME", default="", help="Who agrees for the company (an id is best).")
@click.option("--note", metavar="TEXT", default="", help="What else is agreed.")
@json_option
@store_option
def run(person: str, role: str, agreed_with: str, note: str, as_json: bool, store: Path) -> None:
    """Ask for the schedule, print it, and write it down."""
    said = {"agreed_with": agreed_with, "note": note}
    call = build_call(
        "schedule", as_json=as_json, table="people", subject=person, asked={"role": role}, act="agree", said=said
    )
    ask_and_print(call, None, store)
