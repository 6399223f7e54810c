"""Templates put out what Jinja would: text escaped, HTML as it is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup

from api.pages.templates import Templates

#: Every way a template puts something out: text, a macro, a filter, a block that is set, a call, what is joined.
TEXT = (
    "{% macro bold(words) %}<b>{{ words }}{{ caller() if caller else '' }}</b>{% endmacro %}"
    "{% set kept %}<i>{{ value }}</i>{% endset %}"
    "{{ value }}{{ bold(value) }}{{ kept }}{% call bold(value) %}{{ value }}{% endcall %}{{ value ~ '<' ~ kept }}"
    "{% for one in (value, value) %}{{ one }}{{ loop.index }}{% endfor %}{{ value|upper }}{{ missing }}{{ '<&' }}"
)


class Worded:
    """Something that tells its HTML itself."""

    def __html__(self) -> str:
        return "<em>&amp;</em>"

    def __str__(self) -> str:
        return "worded <"


@pytest.mark.parametrize(
    "value", ["plain", "a < b & \"c\" 'd'", "", Markup("<u>&amp;</u>"), 7, None, 1.5, Worded()], ids=str
)
def test_a_template_puts_out_what_jinja_puts_out(value: Any, tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text(TEXT, "utf-8")
    plain = Environment(loader=FileSystemLoader(tmp_path), autoescape=True)
    ours = Templates(tmp_path, {}, {})
    assert ours.get_template("page.html").render(value=value) == plain.get_template("page.html").render(value=value)
