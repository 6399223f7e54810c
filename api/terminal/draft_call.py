"""A command about drafts or releases as a call, answered here or by the server of the store."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from api.terminal.call import Call
from api.terminal.dispatch import ask_and_print
from api.terminal.look import find_look


def ask_about_drafts(
    act: str, store: Path, *, draft: str = "", asked: Mapping[str, str | None] | None = None, as_json: bool = False
) -> None:
    """Do something with a draft and print what came of it; what is None was not said."""
    look = find_look()
    call = Call(
        question="draft",
        table="",
        subject=draft,
        asked={name: text for name, text in (asked or {}).items() if text is not None},
        form="json" if as_json else "text",
        width=look.width,
        colours=look.colours,
        is_plain=look.is_plain,
        act=act,
    )
    ask_and_print(call, None, store)
