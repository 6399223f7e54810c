"""The README's table of settings is the one of the program."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.settings import Setting, list_settings

README = (Path(__file__).resolve().parents[2] / "README.md").read_text("utf-8")


@pytest.mark.parametrize("setting", list_settings(), ids=lambda setting: setting.name)
def test_the_readme_tells_the_option_the_variable_the_default_and_the_meaning(setting: Setting) -> None:
    option = f"--{setting.name.replace('_', '-')}"
    is_text = isinstance(setting.default, str)
    told = (setting.default or "none") if is_text else f"{setting.default:,} {setting.unit}".rstrip()
    row = f"| `{option}` | `{setting.variable}` | {told} | {setting.about} |"
    assert row in README
