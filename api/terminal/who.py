"""Who works at the command line: a user of this machine."""

from __future__ import annotations

import getpass


def get_who() -> str:
    """Return what the history and the log of looks call who types: "command line, ada"."""
    try:
        return f"command line, {getpass.getuser()}"
    except (OSError, KeyError):  # a user without a name
        return "command line"
