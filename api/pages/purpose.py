"""Why an architect looks at people: a reason, a line, a team or a person, before anything is seen."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.purposes import LONGEST_S
from api.pages.page import Link, Page

__all__ = ["PurposeView", "describe_purpose"]


@dataclass(frozen=True, slots=True)
class PurposeView:
    """The form as it was filled in, what is wrong with it, and the people of the name in it, as (id, words)."""

    reasons: tuple[str, ...]
    reason: str = ""
    words: str = ""
    team: str = ""
    person: str = ""
    wrong: str = ""
    called: tuple[tuple[str, str], ...] = ()


def describe_purpose(view: PurposeView) -> Page:
    """Return the page on which a purpose is stated."""
    values = {"view": view, "hours": int(LONGEST_S // 3600)}
    return Page("purpose.html", values, trail=(Link("Your account", "/account"),))
