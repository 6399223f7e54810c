"""One broken copy of the sound company for each rule on what is retired and what took its place."""

from __future__ import annotations

from datetime import date
from typing import Any

from framework_cases import row

GONE: dict[str, Any] = {"id": "c9", "label": "C9", "scale": "s5", "retired_on": date(2026, 1, 31)}

MAP: dict[str, Any] = {"from_scale": "s5", "to_scale": "s2"}

RETIRING_CASES: list[tuple[dict[str, Any], tuple[str, str, str, str], str]] = [
    (
        row("competencies", **GONE) | row("requirements", role="fitter", competency="c9", level=1),
        ("nothing names what is retired", "error", "requirements", "competency"),
        "names c9, which is retired; nothing took its place",
    ),
    (
        {"replacements": [{"table": "roles", "old": "gone", "new": "nowhere"}]},
        ("what took the place is there", "error", "replacements", "new"),
        "roles has no row 'nowhere'",
    ),
    (
        row("scales", scale="s9", rank=1, label="One")
        | row("competencies", **GONE | {"scale": "s9"})
        | {"replacements": [{"table": "competencies", "old": "c9", "new": "weld"}]},
        ("what took the place is measured alike", "error", "replacements", "new"),
        "c9 is measured on scale s9 and weld on s5",
    ),
    (
        {"replacements": [{"table": "competencies", "old": "weld", "new": "read"}]},
        ("replaced while in use", "remark", "replacements", "old"),
        "changes nothing while weld is in use",
    ),
    (
        {"level_maps": [MAP | {"from_rank": 1, "to_rank": 2}, MAP | {"from_rank": 2, "to_rank": 1}]}
        | row("scales", scale="s2", rank=1, label="One"),
        ("a map has every rank once and never falls", "error", "level_maps", "to_rank"),
        "a map never falls",
    ),
    (
        {"level_maps": [MAP | {"to_scale": "s5", "from_rank": 1, "to_rank": 1}]},
        ("a map to the same scale goes with its change", "error", "level_maps", "to_scale"),
        "goes with a change of its ranks",
    ),
]
