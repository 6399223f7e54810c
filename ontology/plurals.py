"""A count with its noun, as people say it."""

from __future__ import annotations


def format_count(count: int, one: str, many: str = "") -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> format_count(1, "course"), format_count(1300, "competency", "competencies")
    ('1 course', '1,300 competencies')
    """
    return f"{count:,} {one if count == 1 else many or one + 's'}"
