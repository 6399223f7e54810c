"""Which form of a resource the caller takes: by ``?format=`` or by Accept (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from flask import Request

from api.errors import NotAcceptableError

JSON: Final = "application/json"
JSON_LD: Final = "application/ld+json"
TURTLE: Final = "text/turtle"
N_QUADS: Final = "application/n-quads"
SVG: Final = "image/svg+xml"
PNG: Final = "image/png"
DOT: Final = "text/vnd.graphviz"
CALENDAR: Final = "text/calendar"
HTML: Final = "text/html"
WORKBOOK: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

RECORD_FORMS: Final[Mapping[str, str]] = {"json": JSON, "json-ld": JSON_LD, "turtle": TURTLE}
COMMIT_FORMS: Final[Mapping[str, str]] = {"json": JSON, "turtle": TURTLE, "n-quads": N_QUADS}
ANSWER_FORMS: Final[Mapping[str, str]] = {"json": JSON}
DIAGRAM_FORMS: Final[Mapping[str, str]] = {"svg": SVG, "png": PNG, "dot": DOT}
SHEET_FORMS: Final[Mapping[str, str]] = {"json": JSON, "html": HTML, "xlsx": WORKBOOK}
PLAN_FORMS: Final[Mapping[str, str]] = {"json": JSON, "ics": CALENDAR, "xlsx": WORKBOOK}


def name_content(media_type: str) -> str:
    """Return the Content-Type of a media type: text is UTF-8."""
    return f"{media_type}; charset=utf-8" if media_type.startswith("text/") else media_type


def choose_form(request: Request, forms: Mapping[str, str]) -> str:
    """Return the name of the form to answer in; the first of `forms` where the caller takes anything.

    Parameters
    ----------
    request : Request
        ``?format=NAME`` wins over the Accept header.
    forms : Mapping of form name to media type
        What the resource can be had as, the preferred one first.

    Raises
    ------
    NotAcceptableError
        None of them is taken.
    """
    available = {"available": [f"{name} ({media_type})" for name, media_type in forms.items()]}
    # most do not ask for a form, and reading the parameters a second way costs as much as a short answer
    query = request.query_string
    asked = request.args.get("format") if b"format" in query or b"%" in query else None
    if asked is not None:
        if asked in forms:
            return asked
        raise NotAcceptableError(
            f"Format {asked!r} is not available here; take one of {', '.join(forms)}.", **available
        )
    header = request.environ.get("HTTP_ACCEPT", "").strip()
    if not header:
        return next(iter(forms))
    taken = [(str(value), float(quality)) for value, quality in request.accept_mimetypes]
    best, best_quality = "", 0.0
    for name, media_type in forms.items():
        quality = _get_quality(media_type, taken)
        if quality > best_quality:
            best, best_quality = name, quality
    if not best:
        raise NotAcceptableError(
            f"This cannot be had as {header!r}; take one of {', '.join(forms.values())}.",
            **available,
        )
    return best


def _get_quality(media_type: str, taken: Iterable[tuple[str, float]]) -> float:
    """Return the quality of the most specific range that holds a media type, whatever its parameters (charset).

    Examples
    --------
    >>> _get_quality("text/turtle", [("*/*", 0.1), ("text/*", 0.5), ("text/turtle; charset=utf-8", 0.0)])
    0.0
    """
    ranges = {value.partition(";")[0].strip().lower(): quality for value, quality in taken}
    for held in (media_type, media_type.partition("/")[0] + "/*", "*/*"):
        if held in ranges:
            return ranges[held]
    return 0.0
