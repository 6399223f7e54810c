"""The program `newel`: its commands, and how errors end it. Imports the commands and the error table.

Exit status: 0 done, 1 errors that stop the work, 2 a wrong call, 3 something outside is missing.
"""

from __future__ import annotations

import json
from importlib.metadata import PackageNotFoundError, version
from typing import Any

import click

from api.errors import build_problem, get_exit_code
from api.questions import find_titles, load_question
from api.terminal import files, serving
from api.terminal.asking import ask_and_print
from api.terminal.question_commands import build_question_command
from ontology.errors import FindingsError, NewelError

_AS_JSON = "newel.as_json"


def _get_version() -> str:
    try:
        return version("newel")
    except PackageNotFoundError:  # run from the source folder without installing
        return "unknown"


class _Program(click.Group):
    """A group whose errors end the program with the exit status of their class, and one sentence."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        ctx.meta[_AS_JSON] = "--json" in args
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*super().list_commands(ctx), *find_titles()})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name in find_titles():
            return build_question_command(load_question(cmd_name), ask_and_print)
        return super().get_command(ctx, cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except NewelError as error:
            if ctx.meta[_AS_JSON]:
                click.echo(json.dumps(build_problem(error), ensure_ascii=False, indent=2))
            elif isinstance(error, FindingsError):
                for finding in error.findings:
                    click.echo(finding.format())
            click.echo(f"newel: {error.detail}", err=True)
            ctx.exit(get_exit_code(error))


@click.group(
    cls=_Program,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="A store is a folder: --store, or NEWEL_STORE, or ./newel-store. Options stand after the command.",
)
@click.version_option(_get_version(), prog_name="newel")
def program() -> None:
    """Ask a competency framework: gaps, learning paths, routes between roles, team cover."""


for _module in (serving, files):
    for _command in _module.COMMANDS:
        program.add_command(_command)


def main() -> None:
    """Run the program."""
    program(prog_name="newel")
