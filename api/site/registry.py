"""Which pages there are: every file of this room that has a `build_blueprint`.

`PAGES` of a file names the questions whose page it writes itself, as (table of the subject, name of the question);
`RECORDS` the tables whose records have their page there; `NEEDS_ACCOUNTS` that its pages are there only with sign-in.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from types import ModuleType

from flask import Blueprint

import api.site

__all__ = ["build_site_blueprints", "list_designed_pages", "list_designed_records"]


def build_site_blueprints(*, has_accounts: bool) -> list[Blueprint]:
    """Return the blueprints of all pages; of accounts where there are some."""
    return [
        module.build_blueprint()
        for module in _list_modules()
        if hasattr(module, "build_blueprint") and (has_accounts or not getattr(module, "NEEDS_ACCOUNTS", False))
    ]


@cache
def list_designed_pages() -> frozenset[tuple[str, str]]:
    """Return the questions whose page is designed, not made from their sheet."""
    return frozenset(pair for module in _list_modules() for pair in getattr(module, "PAGES", ()))


@cache
def list_designed_records() -> frozenset[str]:
    """Return the tables whose records have a designed page."""
    return frozenset(table for module in _list_modules() for table in getattr(module, "RECORDS", ()))


def _list_modules() -> Iterator[ModuleType]:
    for found in pkgutil.iter_modules(api.site.__path__):
        if found.name != __name__.rpartition(".")[2]:
            yield import_module(f"api.site.{found.name}")
