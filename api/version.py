"""Which version of the program this is."""

from __future__ import annotations


def get_version() -> str:
    """Return the version of this program; "0" where it runs without being installed."""
    from importlib.metadata import PackageNotFoundError, version  # brings the parser of mail, and is seldom asked

    try:
        return version("newel")
    except PackageNotFoundError:
        return "0"
