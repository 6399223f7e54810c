"""The program `newel`: its commands, and how errors end it.

Exit status: 0 done, 1 errors that stop the work, 2 a wrong call, 3 something outside is missing.

Commands are listed without importing them, and a command imports only what it needs.
"""

from __future__ import annotations

import io
import json
import sys
from typing import Any, Final

import click

from api.memory import collect_seldom
from api.questions import find_titles, get_room, load_question
from api.terminal.commands import find_commands, load_command
from ontology.errors import Finding, FindingsError, NewelError

_AS_JSON: Final = "newel.as_json"
#: Of the list of commands: room of the questions -> heading.
_ROOMS: Final = {
    "person": "Questions about a person or a role",
    "team": "Questions about a team",
    "company": "Questions about the company",
    "framework": "Questions about the framework, its states and drafts",
}


class _Program(click.Group):
    """A group whose errors end the program with the exit status of their class, and one sentence."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_AS_JSON] = "--json" in args
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*find_commands(), *find_titles()})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in find_titles():
            from api.terminal.dispatch import ask_and_print
            from api.terminal.question_commands import build_question_command

            return build_question_command(load_question(cmd_name), ask_and_print)
        return load_command(cmd_name) if cmd_name in find_commands() else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        sections: dict[str, dict[str, str]] = {heading: {} for heading in _ROOMS.values()}
        for name, title in find_titles().items():
            room = get_room(name)
            sections.setdefault(_ROOMS.get(room, f"Questions about a {room}"), {})[name] = title
        sections["Store and server"] = dict(find_commands())
        widest = max(map(len, self.list_commands(ctx)))
        for heading, commands in sections.items():
            with formatter.section(heading):
                # as wide a first column in every section
                formatter.write_dl([(name.ljust(widest), title) for name, title in commands.items()])

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except NewelError as error:
            from api.errors import build_problem, get_exit_code
            from api.terminal.call import ToldError

            told = error if isinstance(error, ToldError) else None
            if ctx.meta[_AS_JSON]:
                problem = told.problem if told else build_problem(error)
                click.echo(json.dumps(problem, ensure_ascii=False, indent=2))
            else:
                for finding in _list_findings(error):
                    click.echo(finding.format())
            for one in error.list_all():
                click.echo(f"newel: {one.detail}", err=True)
            ctx.exit(told.exit_code if told else get_exit_code(error))


def _list_findings(error: NewelError) -> list[Finding]:
    """Return the findings that an error holds, also one that the server told."""
    found = [finding for one in error.list_all() if isinstance(one, FindingsError) for finding in one.findings]
    told = getattr(error, "problem", {}).get("errors", ())
    return found + [
        Finding(
            "error",
            one["source"],
            one.get("row", 0),
            one["pointer"].removeprefix("/"),
            one["value"],
            one["reason"],
        )
        for one in told
        if "source" in one
    ]


def _print_version(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    if value and not ctx.resilient_parsing:
        from api.version import get_version

        click.echo(f"newel, version {get_version()}")
        ctx.exit()


@click.group(
    cls=_Program,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="A store is a folder: --store, or NEWEL_STORE, or ./newel-store. Options stand after the command.",
)
@click.option("--version", is_flag=True, expose_value=False, is_eager=True, callback=_print_version,
              help="Show the version and exit.")  # fmt: skip
def program() -> None:
    """Ask a competency framework: gaps, learning paths, routes between roles, team cover."""


def main() -> None:
    """Run the program."""
    collect_seldom()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that cannot show a name shows a mark in its place
    program(prog_name="newel")
