"""Follows every link of every page through the test client, and reports what does not answer: page and link."""

from __future__ import annotations

import re
import time
from collections import Counter, deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from html import unescape
from typing import Final
from urllib.parse import parse_qsl, unquote, urldefrag, urljoin, urlsplit

from flask.testing import FlaskClient
from werkzeug.exceptions import HTTPException

__all__ = ["Crawl", "crawl"]

_ATTRIBUTE: Final = re.compile(r'\s(id|(?:xlink:)?href|src)="([^"]*)"')
_BASE: Final = "http://localhost"
#: Seconds of processor time for pages of one kind; the rest of a kind that takes long is as good as those asked.
_MOST_S: Final = 1.5


def _find_links(text: str) -> tuple[dict[str, None], set[str]]:
    """Return where a page leads, with what it loads, and the places in it to which one can be led.

    Every value of ours stands between double quotes, and none stands in a text unescaped; a parser of HTML takes as
    long as writing the page.
    """
    links: dict[str, None] = {}
    places: set[str] = set()
    for name, value in _ATTRIBUTE.findall(text):
        if name == "id":
            places.add(unescape(value))
        else:
            links[unescape(value)] = None
    return links, places


@dataclass
class Crawl:
    """Pages that were read, how many of each kind (route and parameters), and faults as sentences."""

    pages: dict[str, set[str]] = field(default_factory=dict)
    kinds: Counter[str] = field(default_factory=Counter)
    faults: dict[str, None] = field(default_factory=dict)
    asked: int = 0


class _Crawler:
    def __init__(self, client: FlaskClient, most: int, has_every_kind: bool) -> None:
        self.client = client
        self.map = client.application.url_map.bind("localhost")
        self.most = most
        self.has_every_kind = has_every_kind
        self.found = Crawl()
        self.spent_s: Counter[str] = Counter()
        self.waiting: deque[tuple[str, str, str]] = deque()
        self.known: set[str] = set()
        self.anchors: list[tuple[str, str, str]] = []

    def add(self, address: str, source: str) -> None:
        """Take note of an address, once; what is no page is asked once of each kind."""
        if address in self.known:
            return
        self.known.add(address)
        path, _, query = address.partition("?")
        try:
            endpoint, _ = self.map.match(unquote(path), method="GET")
        except HTTPException as error:
            self.found.faults[f"{source} -> {address}: {error.code}, there is no such address"] = None
            return
        names = sorted(value if name == "format" else name for name, value in parse_qsl(query))
        kind = " ".join((str(endpoint), *names))
        is_page = not path.startswith(("/api", "/static"))
        if is_page or kind not in self.found.kinds:
            self.found.kinds[kind] += 1
            self.waiting.append((address, source, kind))

    def run(self) -> Crawl:
        """Ask all that was noted; beyond the most pages only what is the first of its kind."""
        while self.waiting:
            address, source, kind = self.waiting.popleft()
            is_worth_it = len(self.found.pages) < self.most and self.spent_s[kind] < _MOST_S
            if is_worth_it or (self.has_every_kind and self.found.kinds[kind] == 1):
                begun = time.process_time()
                self.ask(address, source)
                self.spent_s[kind] += time.process_time() - begun
        for source, address, place in self.anchors:
            if place not in self.found.pages.get(address, {place}):
                self.found.faults[f"{source} -> {address}#{place}: there is no such place"] = None
        return self.found

    def ask(self, address: str, source: str) -> None:
        """Ask for one address; of a page, note where it leads."""
        response = self.client.get(address, base_url=_BASE)
        self.found.asked += 1
        if response.status_code in (301, 302, 303, 308):
            self.add(_get_path(urljoin(_BASE + address, response.headers["Location"])), source)
        elif response.status_code not in (200, 202):
            self.found.faults[f"{source} -> {address}: status {response.status_code}"] = None
        elif response.mimetype == "text/html":
            self.read(address, response.get_data(as_text=True))
        response.close()

    def read(self, address: str, text: str) -> None:
        """Note where a page leads."""
        links, places = _find_links(text)
        self.found.pages[address] = places
        for link in links:
            whole, place = urldefrag(urljoin(_BASE + address, link))
            if not whole.startswith(f"{_BASE}/"):
                if not link.startswith("data:"):
                    self.found.faults[f"{address} -> {link}: leads elsewhere"] = None
                continue
            target = _get_path(whole)
            self.add(target, address)
            if place:
                self.anchors.append((address, target, unquote(place)))


def _get_path(whole: str) -> str:
    parts = urlsplit(whole)
    return parts.path + (f"?{parts.query}" if parts.query else "")


def crawl(client: FlaskClient, begin: Iterable[str], most: int, *, has_every_kind: bool = True) -> Crawl:
    """Visit pages breadth first from some addresses, each once.

    Parameters
    ----------
    client : FlaskClient
    begin : iterable of str
    most : int
        Pages that are read. Beyond them, or once a kind has taken long, a link must still lead to an address of ours,
        and the first of each kind is asked; so is the first of each kind of file, picture and JSON.
    has_every_kind : bool
        Without it nothing is asked beyond the most pages.

    Returns
    -------
    Crawl
    """
    crawler = _Crawler(client, most, has_every_kind)
    for address in begin:
        crawler.add(address, "the site map")
    return crawler.run()
