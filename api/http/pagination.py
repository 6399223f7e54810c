"""Pages of a list and their links (RFC 8288)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar
from urllib.parse import urlencode

from flask import Request, Response

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Page(Generic[_T]):
    """One page of a list; `page` counts from 1, an empty list has one empty page."""

    items: Sequence[_T]
    page: int
    page_size: int
    total: int

    @property
    def last_page(self) -> int:
        """Number of the last page."""
        return max(1, -(-self.total // self.page_size))


def cut_page(items: Sequence[_T], page: int, page_size: int) -> Page[_T]:
    """Return page `page` of `items`; empty beyond the last one."""
    start = (page - 1) * page_size
    return Page(items[start : start + page_size], page, page_size, len(items))


def add_links(response: Response, request: Request, page: Page[_T]) -> None:
    """Write the Link header (first, prev, next, last) and the count of everything into X-Pagination."""
    numbers = {"first": 1, "last": page.last_page}
    if page.page > 1:
        numbers["prev"] = min(page.page - 1, page.last_page)
    if page.page < page.last_page:
        numbers["next"] = page.page + 1
    order = [rel for rel in ("first", "prev", "next", "last") if rel in numbers]
    response.headers["Link"] = ", ".join(
        f'<{_build_url(request, numbers[rel], page.page_size)}>; rel="{rel}"' for rel in order
    )
    response.headers["X-Pagination"] = json.dumps(
        {"total": page.total, "total_pages": page.last_page, "page": page.page, "page_size": page.page_size}
    )


def _build_url(request: Request, page: int, page_size: int) -> str:
    kept = [(k, v) for k, v in request.args.items(multi=True) if k not in ("page", "page_size")]
    return f"{request.base_url}?{urlencode([*kept, ('page', page), ('page_size', page_size)])}"
