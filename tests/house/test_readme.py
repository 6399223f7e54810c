"""The README says what is so: its tour prints what stands there, its commands are those of the Makefile."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def load_tour() -> object:
    """Return the module beside this file that runs the tour."""
    spec = importlib.util.spec_from_file_location("tour", Path(__file__).with_name("tour.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["tour"] = module
    spec.loader.exec_module(module)
    return module


def test_every_command_of_the_tour_prints_what_stands_below_it() -> None:
    written = load_tour().write_outputs(README)  # type: ignore[attr-defined]
    assert written == README, "run: python tests/house/tour.py"


def test_the_targets_the_readme_names_are_in_the_makefile() -> None:
    targets = set(re.findall(r"(?:^|`)make ([a-z]+)", README, re.MULTILINE))
    makefile = (ROOT / "Makefile").read_text("utf-8")
    assert {"demo", "test", "benchmarks"} <= targets
    assert all(re.search(rf"^{target}:", makefile, re.MULTILINE) for target in targets)
    assert all(f"\n{target}:" in makefile for target in ("demo", "test", "benchmarks"))


def test_the_documents_name_files_that_exist() -> None:
    text = README + (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = set(re.findall(r"`((?:api|ontology|loaders|tests|data)/[A-Za-z0-9_./-]*[A-Za-z0-9_/])`", text))
    assert named
    assert {name for name in named if not (ROOT / name).exists()} == set()


def test_every_picture_that_the_readme_shows_is_there_and_is_a_picture() -> None:
    shown = re.findall(r"!\[[^]]+\]\(([^)]+)\)", README)
    assert len(shown) >= 3
    for name in shown:
        content = (ROOT / name).read_bytes()
        assert content.startswith(b"\x89PNG") if name.endswith(".png") else b"</svg>" in content[-20:], name
