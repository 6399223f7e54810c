"""Pages use the width there is: no text of one letter a line."""

from __future__ import annotations

import re

from flask.testing import FlaskClient

from api.pages.cells import write_prose


def test_group_descriptions_of_the_viewer_wrap_on_a_phone(client: FlaskClient) -> None:
    with client.get("/static/browse.css") as response:
        style = response.text
    narrow = style.partition("@media (max-width: 600px)")[2]
    assert re.search(r"\.opblock-tag \{[^}]*flex-wrap: wrap", narrow)
    assert re.search(r"\.opblock-tag small \{[^}]*100%", narrow)


def test_a_long_word_has_places_to_break_however_many_there_are() -> None:
    word = "Abwasserdruckrohrleitungsinstandhaltungen"
    written = str(write_prose(f"{word} " * 5_000))
    assert written.count("<wbr>") == 5_000 * 3
    assert written.replace("<wbr>", "").split() == [word] * 5_000
    assert str(write_prose("Drinking-water hygiene certificate")) == "Drinking-water hygiene certificate"
