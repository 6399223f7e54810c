"""Where the links of pages lead: those that are closed to who was shown them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from urllib.parse import urlsplit

from flask.testing import FlaskClient
from html_forms import list_links

__all__ = ["find_closed"]

#: So many addresses of each kind are followed.
EACH = 3
CLOSED = (401, 403, 404)
#: Kinds of addresses that the pages of anybody who has signed in lead to.
LEAST_KINDS = 20


def find_closed(client: FlaskClient, pages: Mapping[str, str], statuses: Mapping[str, int]) -> list[str]:
    """Return links that are closed to their reader.

    Parameters
    ----------
    client : FlaskClient
    pages : mapping
        Address -> text.
    statuses : mapping
        Of what was asked before.
    """
    adapter = client.application.url_map.bind("")
    followed: Counter[str] = Counter()
    closed = []
    for page, text in pages.items():
        for link in dict.fromkeys(list_links(text)):
            parts = urlsplit(link)
            if not parts.path.startswith("/") or parts.path.startswith(("/static", "/sign-out")):
                continue
            rule, _ = adapter.match(parts.path, "GET", return_rule=True)
            kind = f"{rule.rule} {parts.query.split('=')[0]}"
            if link in statuses or followed[kind] < EACH:
                status = statuses[link] if link in statuses else _follow(client, link, followed[kind] == 0)
                followed[kind] += link not in statuses
                if status in CLOSED:
                    closed.append(f"{page} -> {link}: {status}")
    assert len(followed) > LEAST_KINDS, "or it would show nothing"
    return closed


def _follow(client: FlaskClient, link: str, is_first: bool) -> int:
    """Return how a link answers: a page that is the first of its kind as a whole.

    Of all else it is asked as by who has it already, who is told before it is made anew whether they may have it.
    """
    is_whole = is_first and not link.startswith("/api/")
    return client.get(link, headers={} if is_whole else {"If-None-Match": "*"}).status_code
