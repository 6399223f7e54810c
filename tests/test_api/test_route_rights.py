"""Every address of the application has a right, and one without stops it."""

from __future__ import annotations

import pytest
from flask import Flask

from api.access.kinds import TABLE_KINDS
from api.access.rights import Kind, Verb
from api.desk.question import DRAFT
from api.http.collection import COLLECTIONS
from api.http.route_rights import OPEN, RouteRight, find_right, list_rightless, require_rights
from api.questions import list_questions


def test_every_address_of_the_application_has_a_right(shared_app: Flask) -> None:
    assert list(list_rightless(shared_app)) == []
    require_rights(shared_app)


def test_an_address_without_one_is_named_and_stops_the_start() -> None:
    app = Flask("with a page nobody thought of")
    app.add_url_rule("/salaries", "salaries", lambda: "", methods=["GET", "POST"])
    app.add_url_rule("/people/<id>/salary", "salary", lambda id: "")
    app.add_url_rule("/api/salaries", "more", lambda: "")
    with pytest.raises(RuntimeError) as caught:
        require_rights(app)
    for address in ("GET /salaries", "POST /salaries", "GET /people/<id>/salary", "GET /api/salaries"):
        assert address in str(caught.value)
    assert "/static" not in str(caught.value)


def test_what_is_open_to_everyone_is_no_table_and_no_question(shared_app: Flask) -> None:
    """Help, health, style, and the way in."""
    rights = {rule.rule: find_right(rule.rule, "GET") for rule in shared_app.url_map.iter_rules()}
    is_open = {rule for rule, right in rights.items() if right is not None and right.kind is None}
    assert is_open == {
        "/static/<path:filename>",
        "/problems",
        "/words",
        "/health/live",
        "/health/ready",
        "/api/health",
    }
    names = {collection.name for collection in COLLECTIONS.values()} | {q.segment for q in list_questions()}
    assert names.isdisjoint(OPEN)


@pytest.mark.parametrize("table", TABLE_KINDS)
def test_records_need_the_right_to_their_table(table: str) -> None:
    kind, name = TABLE_KINDS[table], COLLECTIONS[table].name
    rules = {f"/api/{name}": "", f"/api/{name}/<path:id>": table, f"/{name}": "", f"/{name}/<id>": table}
    for rule, of in rules.items():
        for method, verb in (("GET", Verb.SEE), ("HEAD", Verb.SEE), ("PUT", Verb.CHANGE), ("DELETE", Verb.REMOVE)):
            assert find_right(rule, method) == RouteRight(kind, verb, of), (rule, method)
    for form, verb in (("new", Verb.CHANGE), ("edit", Verb.CHANGE), ("remove", Verb.REMOVE)):
        # to see a form that changes something one must be allowed to change it
        for method in ("GET", "POST"):
            assert find_right(f"/{form}/{name}", method) == RouteRight(kind, verb)
            assert find_right(f"/{form}/{name}/<path:id>", method) == RouteRight(kind, verb, table)


def test_an_answer_its_page_and_its_picture_need_the_same() -> None:
    for question in list_questions():
        for subject in question.asks:
            path = question.get_path(subject, "<id>")
            if question.name == "schedule":
                continue  # its page can be carried out, and that is tried below
            rights = {find_right(f"{front}{path}{end}", "GET") for front in ("", "/api") for end in ("", "/diagram")}
            (right,) = rights
            assert right is not None
            if subject is DRAFT:  # whatever is asked of a draft needs the right to drafts
                assert right == find_right("/drafts/<id>", "GET")
                continue
            assert (right.verb, right.table, right.question) == (Verb.SEE, subject.value, question.name)


def test_some_rights() -> None:
    for rule, method, kind, verb in (
        ("/people/<id>/routes", "GET", Kind.EXPLORATION, Verb.SEE),
        ("/people/<id>/roles", "GET", Kind.EXPLORATION, Verb.SEE),
        ("/people/<id>", "GET", Kind.PERSON, Verb.SEE),
        ("/api/people/<id>/assessments", "POST", Kind.ASSESSMENTS, Verb.CHANGE),
        ("/api/teams/<id>/members", "GET", Kind.PERSON, Verb.SEE),
        ("/people/<id>/schedule", "POST", Kind.ASSESSMENTS, Verb.CHANGE),
        ("/session-plan", "POST", Kind.ABSENCES, Verb.CHANGE),
        ("/loads/new", "GET", Kind.LOAD_FRAMEWORK, Verb.CHANGE),
        ("/my-data", "GET", Kind.OWN_ACCOUNT, Verb.SEE),
        ("/framework-review", "GET", Kind.REVIEW, Verb.SEE),
        ("/", "GET", Kind.OWN_ACCOUNT, Verb.SEE),
        ("/api/", "GET", Kind.FRAMEWORK, Verb.SEE),
    ):
        right = find_right(rule, method)
        assert right is not None, rule
        assert (right.kind, right.verb) == (kind, verb), rule
    for rule, hangs in (("/people/<id>/gap", True), ("/roles/<id>/gap", False), ("/people/<id>/routes", False)):
        right = find_right(rule, "GET")
        assert right is not None
        assert right.hangs_on_role is hangs
