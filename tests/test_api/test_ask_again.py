"""A question that cannot be answered as asked comes back as its form, with all that was typed."""

from __future__ import annotations

from flask.testing import FlaskClient


def test_a_question_without_what_it_needs_is_asked_for_it_and_nothing_is_called_wrong(client: FlaskClient) -> None:
    reply = client.get("/people/p1/routes")
    assert reply.status_code == 200
    assert "say first what you want to know." in reply.text
    assert 'class="wrong"' not in reply.text
    assert '<option value="chief">Chief</option>' in reply.text
    assert 'name="to"' in reply.text


def test_what_is_wrong_stands_at_its_field_and_nothing_typed_is_lost(client: FlaskClient) -> None:
    reply = client.get("/people/p1/routes", query_string={"to": "chief", "max_moves": "77", "avoid": "operator"})
    assert reply.status_code == 422
    assert "<title>1 value is wrong" in reply.text
    assert '<a href="#ask-max_moves">Moves at most</a>: must be a whole number from 1 to 10' in reply.text
    at_field = reply.text.split('class="field bad"', 1)[1].split('class="field"', 1)[0]
    assert 'Must be a whole number from 1 to 10</p>\n<input id="ask-max_moves" name="max_moves" value="77"' in at_field
    assert 'aria-describedby="wrong-max_moves about-max_moves"' in at_field
    assert '<option value="chief" selected>' in reply.text
    assert 'value="Operator"' in reply.text


def test_an_answer_says_in_a_sentence_what_was_asked(client: FlaskClient) -> None:
    page = client.get("/teams/works/single-points-of-failure?away=p1").text
    name = client.get("/api/people/p1").get_json()["name"]
    assert f"Asked with supposed away: {name}." in page, "paper has no form"
    assert "Asked with" not in client.get("/teams/works/single-points-of-failure").text


def test_what_is_no_day_is_shown_as_it_was_typed(client: FlaskClient) -> None:
    reply = client.get("/teams/works/single-points-of-failure?on=2026-99-01")
    assert reply.status_code == 422
    assert 'name="on" value="2026-99-01" type="text"' in reply.text, "a field for days would show nothing"


def test_an_unknown_name_and_an_unknown_subject(client: FlaskClient) -> None:
    assert client.get("/people/p1/gap?role=Nothing+of+this+name").status_code == 422
    assert client.get("/people/nobody/gap?role=operator").status_code == 404
    # for programs all stays as it was
    reply = client.get("/api/people/p1/routes")
    assert (reply.status_code, reply.mimetype) == (422, "application/problem+json")


def test_a_name_the_question_does_not_know_is_told(client: FlaskClient) -> None:
    reply = client.get("/teams/works/coverage?colour=blue")
    assert reply.status_code == 422
    assert "colour" in reply.text
    assert "is not known here" in reply.text


def test_what_must_be_said_comes_first_and_nothing_stands_chosen_that_nobody_chose(client: FlaskClient) -> None:
    for asked in ("", "?to=nobody-has-it"):
        text = client.get(f"/people/p1/routes{asked}").text
        assert text.index('name="to"') < text.index('name="on"')
        choice = text.split('<select id="ask-to" name="to" required', 1)[1].split("</select>")[0]
        assert choice.split(">", 1)[1].startswith('<option value=""')
        assert "selected" not in choice.split("</option>", 1)[1]
