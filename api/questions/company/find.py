"""The ids of people, roles, courses, competencies and teams by name, whole words or begun ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from api.access.rights import Kind
from api.desk.language_words import name_language
from api.desk.names import Names, count
from api.desk.parameters import Asks, param
from api.desk.question import COMPANY, Question, Subject
from api.desk.sheet import Cell, Column, Ref, Sheet, Table
from ontology.snapshot.search import FOUND, Match, NearMatch, find_hits, find_near
from ontology.snapshot.snapshot import Snapshot

_TABLES: Final = {kind: table for table, kind in FOUND.items()}


@dataclass(frozen=True, kw_only=True)
class AskFind(Asks):
    """By which words."""

    text: str = param("Words of the name, each whole or begun.", is_word=True)
    limit: int = param("Most records named.", default=20, minimum=1, maximum=1000)


@dataclass(frozen=True, slots=True)
class FindResult:
    """The records that a text finds."""

    text: Annotated[str, "What was looked for."]
    found: Annotated[int, "How many records fit."]
    matches: Annotated[tuple[Match, ...], "The first of them: whole names, then beginnings, then words, then inside."]
    near: Annotated[tuple[NearMatch, ...], "Where none fits: what is spelt nearly so."]


def compute(snapshot: Snapshot, company: Subject, asked: AskFind) -> FindResult:
    """Return the records that fit, or what is spelt nearly so where there is none."""
    hits = find_hits(snapshot, asked.text)
    near = () if hits else find_near(snapshot, asked.text)
    return FindResult(asked.text, len(hits), hits.take(0, asked.limit), near)


def show(result: FindResult, subject: Subject, asked: AskFind, names: Names) -> Sheet:
    """Return the records by name."""
    if result.found:
        lead = f"{count(result.found, 'record fits', 'records fit')}."
    elif result.near:
        lead = f"Nothing is called {result.text!r}; these are spelt nearly so."
    else:
        lead = f"Nothing is called {result.text!r}."
    rows: tuple[tuple[Cell, ...], ...] = tuple((_show(match), match.kind, match.id) for match in result.matches)
    rows = rows or tuple((Ref(_TABLES[near.kind], near.id, near.label), near.kind, near.id) for near in result.near)
    more = result.found - len(result.matches)
    return Sheet(
        title=f"What is called {result.text!r}",
        lead=lead,
        parts=(
            Table(
                "",
                (Column("name"), Column("what it is"), Column("id")),
                rows,
                "Try fewer words, or the beginning of one.",
                f"And {count(more, 'more', 'more')}; give more of the name." if more > 0 else "",
            ),
        ),
    )


def _show(match: Match) -> Ref:
    told = match.name if match.language is None else f"{match.name}, {name_language(match.language)}"
    also = "" if match.name in (match.label, match.id) else f" (also: {told})"
    return Ref(_TABLES[match.kind], match.id, match.label + also)


QUESTION = Question(
    asks={COMPANY: AskFind},
    answers=FindResult,
    compute=compute,
    cautions=(),
    needs=Kind.FRAMEWORK,
    is_of_seen=True,
    show=show,
)
