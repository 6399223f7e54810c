"""The search: what is called so, by kind, with the words found in bold; and the few links below the field while typing.

What is found, and in which order, is for `ontology.snapshot.search` to say, here as in the question "find".
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final
from urllib.parse import urlencode

from markupsafe import Markup

from api.desk.language_words import name_language
from api.desk.names import Names, amount, count, join_names
from api.desk.sheet import Ref
from api.pages.addresses import build_record_address
from api.pages.page import Link, Page
from ontology.model.folding import split_words
from ontology.snapshot.search import FOUND, Match, find_hits, find_near
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "KINDS",
    "Hit",
    "SearchView",
    "Section",
    "build_suggestions",
    "build_view",
    "describe_search",
    "describe_suggestions",
    "mark_words",
]

#: Tables in the order of the page, with the words for one and for several of their records.
KINDS: Final = {
    "competencies": ("competency", "competencies"),
    "roles": ("role", "roles"),
    "courses": ("course", "courses"),
    "teams": ("team", "teams"),
    "people": ("person", "people"),
}
#: Hits of each kind that are shown beside the other kinds, and on a page of one kind alone.
_FIRST: Final = 10
PAGE_SIZE: Final = 50
#: Links below the field.
MOST_SUGGESTED: Final = 8
_TABLES: Final = {kind: table for table, kind in FOUND.items()}
_WORD: Final = re.compile(r"[^\W_]+")


@dataclass(frozen=True, slots=True)
class Hit:
    """A record found: what it is called, what tells it apart, and the other name that was found where it was one.

    A name in another language than the one read says in which.
    """

    address: str
    name: Markup
    also: Markup
    kind: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """The hits of one kind that are shown, of how many, and where all of them stand."""

    title: str
    total: int
    hits: tuple[Hit, ...]
    rest: Link | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchView:
    """All that the page of a search shows."""

    text: str
    lead: str
    sections: tuple[Section, ...]
    near: tuple[Ref, ...]
    pages: tuple[Link, ...]
    data: str
    revision: int


def mark_words(name: str, wanted: Sequence[str]) -> Markup:
    """Return a name as HTML, the words in bold that begin with one of those wanted (folded).

    Examples
    --------
    >>> str(mark_words("Förderpumpen & (P2)", ["p2", "forder"]))
    '<b>Förderpumpen</b> &amp; (<b>P2</b>)'
    """
    begun, pieces, end = tuple(wanted), [], 0
    for found in _WORD.finditer(name):
        if any(word.startswith(begun) for word in split_words(found[0])):
            pieces += [escape(name[end : found.start()]), f"<b>{found[0]}</b>"]
            end = found.end()
    return Markup("".join((*pieces, escape(name[end:]))))


def _describe(match: Match, wanted: Sequence[str], snapshot: Snapshot | None = None) -> Hit:
    table = _TABLES[match.kind]
    is_other = match.name != match.label
    also = mark_words(match.name, wanted) if is_other else Markup("")
    if match.language is not None:
        tag = match.language
        also = Markup('<span lang="{}">{}, {}</span>').format(tag, also, name_language(tag))
    return Hit(
        address=build_record_address(table, match.id),
        name=mark_words(match.label, () if is_other else wanted),
        also=Markup("id ") + also if is_other and match.name == match.id else also,
        kind=match.kind,
        note=_tell_apart(snapshot, table, match.id) if snapshot is not None else "",
    )


def _tell_apart(snapshot: Snapshot, table: str, record_id: str) -> str:
    """Return what tells records of one name apart."""
    match table:
        case "competencies":
            return snapshot.competencies[record_id].kind
        case "roles":
            return snapshot.roles[record_id].family
        case "courses":
            return f"{amount(snapshot.courses[record_id].hours)} h"
        case "people":
            team = snapshot.people[record_id].team
            return Names(snapshot).team(team) if team else ""
    return ""


def build_view(snapshot: Snapshot, text: str, tables: Sequence[str], only: str = "", page: int = 1) -> SearchView:
    """Return what a search shows.

    Parameters
    ----------
    snapshot : Snapshot
    text : str
        Begun words.
    tables : sequence of str
        Those of `KINDS` whose records may be seen.
    only : str
        One of them, whose hits alone are shown, page by page; "" for the first of all.
    page : int
        From 1; beyond the last one it is the last.

    Notes
    -----
    As `find_hits`: O(k log k) for k names that hold words which begin so.
    """
    hits, wanted = find_hits(snapshot, text, tables), split_words(text)
    totals = {table: hits.count(table) for table in KINDS if table in tables}
    shown = [table for table in totals if totals[table] and only in ("", table)]
    last = max(1, -(-totals.get(only, 0) // PAGE_SIZE))
    page = min(page, last)
    first, size = ((page - 1) * PAGE_SIZE, PAGE_SIZE) if only else (0, _FIRST)
    sections = []
    for table in shown:
        own = hits.take(first, first + size, only=table)
        taken = tuple(_describe(match, wanted, snapshot) for match in own)
        rest = Link(f"All {count(totals[table], *KINDS[table])}", _address(text, table))
        is_cut = not only and totals[table] > len(taken)
        sections.append(Section(KINDS[table][1].capitalize(), totals[table], taken, rest if is_cut else None))
    found = {table: totals[table] for table in shown}
    near = find_near(snapshot, text, tables) if wanted and not len(hits) else ()
    return SearchView(
        text=text,
        lead=_tell(text, wanted, found),
        sections=tuple(sections),
        near=tuple(Ref(_TABLES[match.kind], match.id, match.label) for match in near),
        pages=tuple(_list_pages(text, only, page, last)),
        data="/api/find?" + urlencode({"text": text}) if wanted else "",
        revision=snapshot.revision,
    )


def _address(text: str, table: str, page: int = 1) -> str:
    return "/search?" + urlencode({"q": text, "in": table} | ({"page": page} if page > 1 else {}))


def _list_pages(text: str, only: str, page: int, last: int) -> list[Link]:
    before = [Link("Before", _address(text, only, page - 1))] if page > 1 else []
    after = [Link("Next", _address(text, only, page + 1))] if page < last else []
    whole = [Link("All kinds", "/search?" + urlencode({"q": text}))] if only else []
    return [*before, *after, *whole]


def _tell(text: str, wanted: Sequence[str], found: dict[str, int]) -> str:
    if not wanted:
        return "Type the beginning of a word of a name, or an id."
    if not found:
        return f"Nothing has the words “{text}”."
    told = join_names(count(number, *KINDS[table]) for table, number in found.items())
    verb = "has" if sum(found.values()) == 1 else "have"
    return f"{told} {verb} the words “{text}”."


def build_suggestions(snapshot: Snapshot, text: str, tables: Sequence[str]) -> tuple[Hit, ...]:
    """Return the first records that a text finds, in the order of `find_hits`."""
    wanted = split_words(text)
    matches = find_hits(snapshot, text, tables).take(0, MOST_SUGGESTED)
    return tuple(_describe(match, wanted) for match in matches)


def describe_search(view: SearchView) -> Page:
    """Return the page of a search."""
    return Page("search.html", {"view": view, "searched": view.text}, trail=(Link("Today", "/"),))


def describe_suggestions(text: str, hits: tuple[Hit, ...]) -> Page:
    """Return the page whose block "suggestions" holds the links below the field."""
    return Page("search.html", {"text": text, "hits": hits})
