"""Pages use the width there is: no text of one letter a line."""

from __future__ import annotations

import re

from flask.testing import FlaskClient


def test_group_descriptions_of_the_viewer_wrap_on_a_phone(client: FlaskClient) -> None:
    with client.get("/static/browse.css") as response:
        style = response.text
    narrow = style.partition("@media (max-width: 600px)")[2]
    assert re.search(r"\.opblock-tag \{[^}]*flex-wrap: wrap", narrow)
    assert re.search(r"\.opblock-tag small \{[^}]*100%", narrow)
