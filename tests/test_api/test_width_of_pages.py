"""Pictures and pages use the width there is: no empty third, no text of one letter a line."""

from __future__ import annotations

import re

from flask.testing import FlaskClient


def test_the_cards_reach_over_the_whole_width(client: FlaskClient) -> None:
    picture = client.get("/api/teams/works/staffing/diagram?on=2026-11-24&format=svg")
    assert picture.status_code == 200, picture.text
    width = float(re.findall(r'<svg[^>]* width="([\d.]+)pt"', picture.text)[0])
    edges = [
        float(pair.split(",")[0])
        for points in re.findall(r'<polygon[^>]*points="([^"]*)"', picture.text)[1:]
        for pair in points.split()
    ]
    assert max(edges) - min(edges) > 0.93 * width


def test_group_descriptions_of_the_viewer_wrap_on_a_phone(client: FlaskClient) -> None:
    with client.get("/static/browse.css") as response:
        style = response.text
    narrow = style.partition("@media (max-width: 600px)")[2]
    assert re.search(r"\.opblock-tag \{[^}]*flex-wrap: wrap", narrow)
    assert re.search(r"\.opblock-tag small \{[^}]*100%", narrow)
