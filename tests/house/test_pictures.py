"""Graphviz lays out every picture: nothing here places anything, and one file alone calls the program."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FILES = {path.name: path.read_text("utf-8") for path in sorted((ROOT / "api" / "pictures").glob("*.py"))}


def test_no_position_is_given_to_graphviz() -> None:
    for name, text in FILES.items():
        assert not re.search(r"\bpos\s*=|[\"']pos[\"']|neato|splines|-n2", text), name


def test_one_file_alone_calls_the_program() -> None:
    assert [name for name, text in FILES.items() if "subprocess" in text] == ["render.py"]


def test_boxes_are_never_dashed() -> None:
    # Graphviz 2.43 crashes on -Txdot where a table or cell of an HTML-like label is
    for name, text in FILES.items():
        assert not re.search(r"STYLE=\\?\"(DASHED|DOTTED)\\?\"", re.sub(r'""".*?"""', "", text, flags=re.DOTALL)), name
