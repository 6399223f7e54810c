"""A page's forms as a browser would send them (HTML Standard, section 4.10.21.4, constructing the entry list)."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

__all__ = ["Form", "find_form", "list_links", "read_page"]


@dataclass
class Form:
    """A form: where it is sent, how, and its fields in order."""

    action: str
    method: str
    fields: dict[str, str] = field(default_factory=dict)
    choices: dict[str, list[str]] = field(default_factory=dict)


class _Reader(HTMLParser):
    """Collects forms, links, headings and texts of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.links: list[str] = []
        self.text: list[str] = []
        self._name = ""
        self._area: list[str] | None = None
        self._select = ""
        self._open: Form | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "a" and "href" in has:
            self.links.append(has["href"])
        if tag == "form":
            self._open = Form(has.get("action", ""), has.get("method", "get"))
            self.forms.append(self._open)
        if self._open is None:
            return
        if tag == "input" and has.get("name"):
            self._take_input(has)
        elif tag == "textarea":
            self._name, self._area = has["name"], []
        elif tag == "select":
            self._select = has["name"]
        elif tag == "option" and self._select:
            self._open.choices.setdefault(self._select, []).append(has.get("value", ""))
            if self._select not in self._open.fields or "selected" in has:
                self._open.fields[self._select] = has.get("value", "")

    def _take_input(self, has: dict[str, str]) -> None:
        assert self._open is not None
        if has.get("type") in ("radio", "checkbox"):
            self._open.choices.setdefault(has["name"], []).append(has.get("value", "on"))
            if "checked" in has:
                self._open.fields[has["name"]] = has.get("value", "on")
        elif has.get("type") not in ("submit", "button"):
            # a line holds no line breaks
            self._open.fields[has["name"]] = has.get("value", "").replace("\n", "").replace("\r", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea" and self._open is not None and self._area is not None:
            text = "".join(self._area).replace("\r\n", "\n")
            # the first line break after the tag is no part of the text, and what is sent has both characters
            self._open.fields[self._name] = text.removeprefix("\n").replace("\n", "\r\n")
            self._area = None

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._area.append(data)
        self.text.append(data)


def read_page(html: str) -> _Reader:
    """Return a page's forms, links and text."""
    reader = _Reader()
    reader.feed(html)
    return reader


def find_form(html: str, method: str = "post") -> Form:
    """Return the first form of a page that is sent so."""
    return next(form for form in read_page(html).forms if form.method == method)


def list_links(html: str) -> list[str]:
    """Return the addresses a page leads to."""
    return read_page(html).links
