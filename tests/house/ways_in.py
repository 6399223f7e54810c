"""The README's pictures of the three ways in: ``python tests/house/ways_in.py`` makes them anew.

The demonstration scenario is served on its day, looked at as the person whose way it is, and taken at the size of a
desk's screen and of a phone. The pictures are kept beside this file.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "tests" / "house" / "ways_in"
if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "support")]

from served_scenario import serve_scenario  # noqa: E402
from visitors import DESK, PHONE, open_browser, visit  # noqa: E402

#: Picture -> the page, who looks, and on what.
PICTURES: Final = {
    "framework": ("/roles/treatment-operator", "p001", DESK),
    "where_i_stand": ("/people/p008", "p008", DESK),
    "team_cover": ("/teams/treatment/coverage?away=p014", "p001", DESK),
    "today_on_a_phone": ("/", "p001", PHONE),
}


def take(folder: Path) -> None:
    """Write every picture into a folder."""
    folder.mkdir(exist_ok=True)
    with serve_scenario() as base, open_browser() as browser:
        for name, (address, person, size) in PICTURES.items():
            with visit(browser, base, size, person=person) as visitor:
                if visitor.go(address) != 200:
                    raise SystemExit(f"{address} cannot be looked at")
                visitor.page.screenshot(path=folder / f"{name}.png")


if __name__ == "__main__":
    take(FOLDER)
