"""The page where the framework is asked in SPARQL: what was found, the query that was asked, and worked ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from api.desk.sheet import Table
from api.desk.sparql_sheet import build_rows_table, tell_answer
from api.pages.page import Link, Page
from api.pages.sparql_examples import EXAMPLES, Example
from ontology.store.query_process import QueryAnswer

__all__ = ["SparqlView", "build_sparql_view", "describe_sparql", "find_example", "tell_sparql"]

#: Rows of an answer that stand on the page; a file holds all of them.
_ROWS_SHOWN: Final = 150
_FILES: Final = {
    "json": (("JSON", "json"), ("XML", "xml"), ("CSV", "csv"), ("TSV", "tsv")),
    "turtle": (("Turtle", "turtle"), ("N-Triples", "n-triples")),
}


@dataclass(frozen=True, slots=True)
class SparqlView:
    """What stands on the page: the sentence, the query, what was found as rows or as a text, and its files.

    `wrong` is why the query was not answered, "" where it was or none was asked.
    """

    lead: str
    text: str
    wrong: str
    table: Table | None
    graph: str
    files: tuple[Link, ...]
    examples: tuple[tuple[Link, str], ...]
    revision: int


def find_example(example_id: str) -> Example | None:
    """Return a worked query by its id; None where there is none."""
    return next((example for example in EXAMPLES if example.id == example_id), None)


def tell_sparql(answer: QueryAnswer | None) -> str:
    """Return the first sentence of the page.

    Examples
    --------
    >>> tell_sparql(QueryAnswer(b'{"head":{},"boolean":false}', "json", 1, False))
    'No.'
    """
    if answer is not None:
        return tell_answer(answer)
    return f"Ask the framework, its courses and its vocabulary in SPARQL: {len(EXAMPLES)} worked queries to begin with."


def build_sparql_view(text: str, answer: QueryAnswer | None, wrong: str, revision: int) -> SparqlView:
    """Return the page of a query, answered or not; text "" where none was asked."""
    table, graph = None, ""
    files: tuple[Link, ...] = ()
    if answer is not None:
        files = tuple(
            Link(words, f"/api/sparql?{urlencode({'query': text, 'format': form})}")
            for words, form in _FILES[answer.form]
        )
        if answer.form == "json":
            table = _cut(build_rows_table(answer))
        else:
            graph = answer.content.decode()
    examples = tuple(
        (Link(example.asks, f"/sparql?{urlencode({'example': example.id})}"), example.shows) for example in EXAMPLES
    )
    lead = "The query was not answered." if wrong else tell_sparql(answer)
    return SparqlView(lead, text, wrong, table, graph, files, examples, answer.revision if answer else revision)


def _cut(table: Table | None) -> Table | None:
    if table is None or len(table.rows) <= _ROWS_SHOWN:
        return table
    note = f"The first {_ROWS_SHOWN:,} rows stand here; the files hold all of them."
    return Table(table.title, table.columns, table.rows[:_ROWS_SHOWN], table.empty, note)


def describe_sparql(view: SparqlView) -> Page:
    """Return the page."""
    trail = (Link("Framework", "/framework"),)
    return Page("sparql.html", {"view": view}, way="framework", trail=trail)
