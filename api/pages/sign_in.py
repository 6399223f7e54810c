"""The way in and the way out: a name and a password, or a provider's page; a button to leave by."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.passwords import LEAST, MOST
from api.pages.page import Page

__all__ = ["InvitationView", "SignInView", "describe_invitation", "describe_sign_in", "describe_sign_out"]


@dataclass(frozen=True, slots=True)
class SignInView:
    """What stands on the page: where one is led to, the name as typed, what is wrong, the address of a provider."""

    to: str
    name: str = ""
    wrong: str = ""
    provider: str = ""
    told: str = ""


@dataclass(frozen=True, slots=True)
class InvitationView:
    """Whom an invitation is for ("" where it holds no longer), what is wrong with the password, a provider."""

    name: str
    wrong: str = ""
    provider: str = ""


def describe_sign_in(view: SignInView) -> Page:
    """Return the page on which one signs in."""
    return Page("sign_in.html", {"view": view})


def describe_sign_out(name: str) -> Page:
    """Return the page with the button to sign out by."""
    return Page("sign_out.html", {"name": name})


def describe_invitation(view: InvitationView) -> Page:
    """Return the page on which somebody who was invited sets a password."""
    return Page("invitation.html", {"view": view, "least": LEAST, "most": MOST})
