"""One broken copy of the sound company for each rule on texts in other languages."""

from __future__ import annotations

from typing import Any


def say(**changes: str) -> dict[str, Any]:
    """Return one translation, with some of its values changed."""
    named = {"table": "roles", "id": "fitter", "column": "label", "language": "de", "joined": "Schlosser"}
    return {"translations": [named | changes]}


TRANSLATION_CASES: list[tuple[dict[str, Any], tuple[str, str, str, str], str]] = [
    *(
        (say(**changes), ("translations of what is there", "error", "translations", column), words)
        for changes, column, words in (
            ({"id": "turner"}, "id", "names 'turner', but roles has no row with this id"),
            ({"table": "scales", "id": "s5"}, "id", "names 's5', but scales has no row with this id"),
            ({"column": "alt_labels"}, "column", "must be one of those with translations here: label, family"),
            ({"language": "deutsch!"}, "language", "'deutsch!' is no tag of a language (RFC 5646)"),
            (
                {"language": "EN"},
                "language",
                "en is the main language of the framework; write the text",
            ),
            ({"joined": " "}, "text", "has no text"),
        )
    ),
    (
        {
            "translations": [
                say(table="competencies", id="weld", column=column, joined=text)["translations"][0]
                for column, text in (("label", "Schweißen"), ("alt_labels", "Fügen|Schweißen"))
            ]
        },
        ("names in a language differ", "error", "translations", "text"),
        "the label in de is among the alt_labels in de; the two are disjoint (SKOS S13)",
    ),
    (
        say() | {"framework": [{"id": "this", "title": "Trades", "language": "de"}]},
        ("translations of what is there", "error", "translations", "language"),
        "de is the main language of the framework",
    ),
]
