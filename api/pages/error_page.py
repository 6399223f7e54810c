"""What went wrong, as a page: the problem in words, what to do next, and small the status and the request's id.

An id that nobody has and one that may not be seen give the same page: which of the two it is would already tell.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import quote, unquote, urlencode, urlsplit

from api.pages.page import Link, Page

__all__ = ["ErrorView", "build_view", "describe_error", "is_hidden"]

_VERBS: Final = ("new", "edit", "remove", "history")
#: The end of the type of a problem of which anybody whom it meets may know why.
_NO_SECRET: Final = "#figures-alone"
#: Tables of what is told by name for a purpose.
_OF_TEAMS: Final = ("teams", "places")
_TODAY: Final = Link("Begin at today's page", "/")


@dataclass(frozen=True, slots=True)
class ErrorView:
    """What stands on the page: the problem, each wrong value with what would be right, and what to do next."""

    title: str
    lead: str
    wrong: tuple[tuple[str, str, str], ...]
    next_words: str
    acts: tuple[Link, ...]
    status: int
    request_id: str


def is_hidden(status: int, method: str) -> bool:
    """Tell whether the page must not say why: asked for what is not there, or for what may not be seen."""
    return status == HTTPStatus.NOT_FOUND or (status == HTTPStatus.FORBIDDEN and method == "GET")


def build_view(problem: Mapping[str, Any], address: str, method: str = "GET") -> ErrorView:
    """Return what stands on the page of a problem document (RFC 9457).

    Parameters
    ----------
    problem : Mapping
        With `title`, `detail` and `status`; `errors` and `request_id` where there are some.
    address : str
        That was asked for, its query included.
    method : str
        Of the request.
    """
    status = int(problem["status"])
    hides = is_hidden(status, method) and not str(problem.get("type", "")).endswith(_NO_SECRET)
    if status == HTTPStatus.GONE:
        next_words, acts = _lead_on(problem, address)
    else:
        next_words, acts = _find_next(HTTPStatus.NOT_FOUND if hides else status, address, method)
    return ErrorView(
        title="Not found" if hides else problem["title"],
        lead="There is nothing at this address, or nothing that you may see." if hides else problem["detail"],
        wrong=() if hides else tuple(map(_tell_wrong, problem.get("errors", ()))),
        next_words=next_words,
        acts=(*acts, _TODAY),
        status=HTTPStatus.NOT_FOUND if hides else status,
        request_id=problem.get("request_id", ""),
    )


def _tell_wrong(entry: Mapping[str, Any]) -> tuple[str, str, str]:
    where = entry.get("parameter") or str(entry.get("pointer", "")).removeprefix("/")
    value = entry.get("value")
    return str(where).replace("_", " "), "" if value is None else str(value), str(entry["reason"])


def _find_next(status: int, address: str, method: str) -> tuple[str, tuple[Link, ...]]:
    """Return what to do next, in words and as links."""
    path = urlsplit(address).path
    if status == HTTPStatus.NOT_FOUND:
        words = _name_what_was_asked(path)
        return "Look for it by its name.", (Link(f"Search for “{words}”", f"/search?{urlencode({'q': words})}"),)
    if status == HTTPStatus.SERVICE_UNAVAILABLE:
        return "Nothing is lost. Ask again in a few seconds.", (Link("Ask again", address),) if method == "GET" else ()
    if status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        return "Nothing you typed caused it, and nothing was stored.", ()
    if status == HTTPStatus.FORBIDDEN and method == "GET":
        _, table, *below = path.split("/")
        if not below or table not in _OF_TEAMS:
            return "Nobody is named in the answers about all teams.", ()
        team = f"?{urlencode({'team': unquote(below[0])})}" if table == "teams" else ""
        return "Names are told for a purpose.", (Link("State a purpose", f"/account/purpose{team}"),)
    if method == "GET":
        return "Go back to mend it: what you typed still stands there.", (Link("Ask without it", path),)
    return "Nothing was stored. Go back to mend it: what you typed still stands there.", ()


def _lead_on(problem: Mapping[str, Any], address: str) -> tuple[str, tuple[Link, ...]]:
    """Return why something is not in use any more, and the ways to what took its place and to how it last stood."""
    record = f"/{str(problem['table']).replace('_', '-')}/{quote(str(problem['id']))}"
    acts = [Link(f"Go to {one['label']}", one["href"]) for one in problem["replaced_by"]]
    if problem.get("retired_on"):
        acts.append(Link("Read it as it last stood", f"{record}?retired=yes"))
    acts.append(Link("All changes of it", f"/history{record}"))
    return f"Why: {problem['reason']}" if problem.get("reason") else "No reason was given.", tuple(acts)


def _name_what_was_asked(path: str) -> str:
    """Return the id in a path: of a question about a record it stands before the question, else at the end."""
    parts = [unquote(part) for part in path.strip("/").split("/")]
    at = 1 if len(parts) == 3 and parts[0] not in _VERBS else -1
    return parts[at].replace("-", " ")


def describe_error(view: ErrorView) -> Page:
    """Return the page."""
    return Page("error.html", {"view": view}, trail=(Link("Today", "/"),))
