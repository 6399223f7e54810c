"""The password again, where something weighs more than the rest; what was typed before goes along with it."""

from __future__ import annotations

from dataclasses import dataclass

from api.pages.page import Page

__all__ = ["AGAIN", "ConfirmView", "describe_confirm"]

#: The field of the password that is given again.
AGAIN = "password-again"


@dataclass(frozen=True, slots=True)
class ConfirmView:
    """Where it is sent, what goes along, what is wrong; `provider` is where to sign in again without a password."""

    action: str
    carried: tuple[tuple[str, str], ...]
    wrong: str = ""
    provider: str = ""
    has_password: bool = True


def describe_confirm(view: ConfirmView) -> Page:
    """Return the page that asks for the password."""
    return Page("confirm.html", {"view": view, "field": AGAIN})
