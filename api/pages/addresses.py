"""Addresses of pages: of a question about a subject, of a record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from urllib.parse import quote, quote_plus

__all__ = ["add_form", "build_address", "build_query", "build_record_address"]


def build_address(table: str, subject: str, question: str, asked: Mapping[str, str] | None = None) -> str:
    """Return the address of a question's page; with /api before it, that of its answer.

    Examples
    --------
    >>> build_address("teams", "a b", "coverage", {"on": "2026-11-24"})
    '/teams/a%20b/coverage?on=2026-11-24'
    """
    path = "/".join(filter(None, (table, _quote(subject), question)))
    return f"/{path}?{build_query(asked.items())}" if asked else f"/{path}"


def build_query(asked: Iterable[tuple[str, str]]) -> str:
    """Return what an address asks, by name: the part behind the question mark.

    Examples
    --------
    >>> build_query([("q", "a & b"), ("on", "2026-11-24")])
    'q=a+%26+b&on=2026-11-24'
    """
    return "&".join([f"{_quote_text(name)}={_quote_text(text)}" for name, text in asked])


# the same few ids, days and names come again and again
@lru_cache(maxsize=20_000)
def _quote(part: str) -> str:
    return quote(part, safe="")


@lru_cache(maxsize=4096)
def _quote_text(text: str) -> str:
    return quote_plus(text)


@lru_cache(maxsize=20_000)
def build_record_address(table: str, record_id: str) -> str:
    """Return the address of a record's page; with /api before it, that of the record.

    Examples
    --------
    >>> build_record_address("cover_needs", "a/b")
    '/cover-needs/a%2Fb'
    """
    return f"/{table.replace('_', '-')}/{quote(record_id, safe='')}"


def add_form(address: str, form: str) -> str:
    """Return an address that asks for a form: "xlsx", "png", ...

    Examples
    --------
    >>> add_form("/api/x?on=2026-11-24", "xlsx"), add_form("/api/x", "png")
    ('/api/x?on=2026-11-24&format=xlsx', '/api/x?format=png')
    """
    return f"{address}{'&' if '?' in address else '?'}format={form}"
