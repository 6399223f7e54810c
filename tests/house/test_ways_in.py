"""The README's pictures of the three ways in: kept beside the command that makes them, and small."""

from __future__ import annotations

import re

from ways_in import FOLDER, PICTURES, ROOT


def test_every_picture_is_kept_and_small() -> None:
    kept = {path.name: path.read_bytes() for path in FOLDER.iterdir()}
    assert kept.keys() == {f"{name}.png" for name in PICTURES}
    for name, content in kept.items():
        assert content.startswith(b"\x89PNG"), name
        assert len(content) < 200_000, name


def test_the_readme_shows_no_picture_that_is_not_kept() -> None:
    shown = re.findall(r"\]\(([^)]+\.png)\)|src=\"([^\"]+\.png)\"", (ROOT / "README.md").read_text("utf-8"))
    assert [one for pair in shown for one in pair if one and "://" not in one and not (ROOT / one).is_file()] == []
