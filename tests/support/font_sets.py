"""Sets of fonts as a machine may have them: one family for every word, whatever is asked for.

fontconfig reads the file that ``FONTCONFIG_FILE`` names; both dot and Chromium ask it. A folder holds the files of one
family, and a rule with a strong binding gives that family to every question (fontconfig's user manual, "edit").
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple


class FontSet(NamedTuple):
    """A family and the files of its two weights."""

    family: str
    files: tuple[str, str]


#: Fonts that many machines have, as narrow as those of offices, and much wider than any of them.
FONT_SETS = {
    "DejaVu": FontSet("DejaVu Sans", ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")),
    "Liberation": FontSet("Liberation Sans", ("LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf")),
    "wide": FontSet("DejaVu Sans Mono", ("DejaVuSansMono.ttf", "DejaVuSansMono-Bold.ttf")),
}
#: What the machine has, as it is.
OWN = "own"

_FOLDERS = (
    Path("/usr/share/fonts"),
    Path("/usr/local/share/fonts"),
    Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "fonts",
    Path.home() / ".fonts",
)
_CONFIGURATION = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig>
  <dir>{fonts}</dir>
  <cachedir>{cache}</cachedir>
  <match target="pattern">
    <edit name="family" mode="assign" binding="strong"><string>{family}</string></edit>
  </match>
</fontconfig>
"""


def find_fonts(name: str) -> list[Path] | None:
    """Return the files of a set; None where the machine lacks one."""
    found = [
        next((path for folder in _FOLDERS if folder.is_dir() for path in sorted(folder.rglob(file))), None)
        for file in FONT_SETS[name].files
    ]
    return [path for path in found if path is not None] if None not in found else None


def build_environment(name: str, folder: Path) -> dict[str, str]:
    """Return the variables with which a program sees this set only; `OWN` changes nothing."""
    if name == OWN:
        return {}
    paths = find_fonts(name)
    assert paths is not None, f"the fonts of {name} are not installed"
    fonts = folder / name
    fonts.mkdir(exist_ok=True)
    for path in paths:
        (fonts / path.name).unlink(missing_ok=True)
        (fonts / path.name).symlink_to(path)
    file = folder / f"{name}.conf"
    file.write_text(_CONFIGURATION.format(fonts=fonts, cache=folder / "cache", family=FONT_SETS[name].family))
    return {"FONTCONFIG_FILE": str(file)}


@contextmanager
def use_fonts(name: str, folder: Path) -> Iterator[None]:
    """Let programs that are started inside see this set only."""
    before = dict(os.environ)
    os.environ.update(build_environment(name, folder))
    try:
        yield
    finally:
        os.environ.clear()
        os.environ.update(before)
