"""The commands that are no questions, one module each, found by looking: its docstring is the help, `run` the command.

Listing them imports none of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import cast

import click

from api.titles import find_modules, read_title_of


@cache
def find_commands() -> Mapping[str, str]:
    """Return command name -> title, by name."""
    return {name: read_title_of(path) for name, path in find_modules(Path(__file__).parent, "*.py").items()}


def load_command(name: str) -> click.Command:
    """Return a command by its name; KeyError where there is none."""
    find_commands()[name]
    return cast(click.Command, import_module(f"{__name__}.{name}").run)
