"""Signing in with the company's account at a provider, where one is set. Imports Flask."""

from __future__ import annotations

__all__ = ["build_confirm_address", "build_start_address"]


def build_start_address(to: str, *, is_invited: bool = False) -> str:
    """Return the address at which the way to the provider begins; "" where there is none."""
    return ""


def build_confirm_address(to: str) -> str:
    """Return the address at which one signs in again at the provider; "" where there is none."""
    return ""
