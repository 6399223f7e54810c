"""A command about drafts or releases as a call, answered here or by the server of the store."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from api.terminal.dispatch import ask_and_print
from api.terminal.look import build_call


def ask_about_drafts(
    act: str, store: Path, *, draft: str = "", asked: Mapping[str, str | None] | None = None, as_json: bool = False
) -> None:
    """Do something with a draft and print what came of it; what is None was not said."""
    said = {name: text for name, text in (asked or {}).items() if text is not None}
    ask_and_print(build_call("draft", as_json=as_json, subject=draft, asked=said, act=act), None, store)
