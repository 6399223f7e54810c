"""DEVELOPERS.md stays true: every path in its table exists, and every room stands in it."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")
TABLE = TEXT.split("| to change | look in |", 1)[1].split("\n## ", 1)[0]
PATHS = re.findall(r"`((?:api|ontology|loaders|data|tests)/[^`]*)`", TABLE)


def list_rooms() -> set[str]:
    """Return every folder that holds production code or data of its own, as it is written in the table."""
    rooms = set()
    for top in ("api", "ontology", "loaders"):
        for folder in (ROOT / top).rglob("*"):
            name = folder.relative_to(ROOT).as_posix()
            is_room = (folder.is_dir() and any(folder.glob("*.py"))) or name in (
                "ontology/vocabulary",
                "ontology/shapes",
            )
            if is_room and "__pycache__" not in name:
                rooms.add(f"{name}/")
    return rooms


def test_every_path_in_the_table_exists() -> None:
    assert PATHS
    assert [path for path in PATHS if not (ROOT / path).exists()] == []


def test_every_room_stands_in_the_table() -> None:
    # a room of rooms stands there by what is in it
    of_rooms = {"ontology/analysis/"}
    assert sorted(list_rooms() - set(PATHS) - of_rooms) == []


def test_every_path_elsewhere_in_the_text_exists() -> None:
    paths = re.findall(r"`((?:api|ontology|loaders|tests|data)/[\w/.-]+)`", TEXT)
    assert [path for path in paths if not (ROOT / path).exists()] == []
