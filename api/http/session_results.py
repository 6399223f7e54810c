"""The results of a session over REST: read, and entered for the whole class at once. Flask."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Final

from flask import Response, request
from marshmallow import Schema, fields

from api.access.actor import LOCAL_OWNER
from api.desk.desk import get_utc_day
from api.errors import FieldError, FieldsError
from api.http import json_fields as values
from api.http.actors import get_who
from api.http.answer_schemas import build_part_schema
from api.http.arguments import read_values
from api.http.context import get_graph, get_snapshot
from api.http.etags import compute_etag, require_match
from api.http.negotiation import ANSWER_FORMS, JSON, choose_form
from api.http.openapi import DescribedBlueprint, add_route, describe, describe_part
from api.http.record_schemas import RecordSchema, load_members
from api.http.request_body import read_json_object
from api.http.responses import PRIVATE_RULES, respond_with_tag
from api.http.result_services import store_results
from api.http.told_fields import tell
from api.json_text import dump_json
from ontology.analysis.sessions.results import ResultFault, SessionResult, SessionResults, get_results

_REMARKS_SHOWN: Final = 20


class EnteredResult(RecordSchema):
    """What came of a session for one person, as it is entered."""

    person = values.JsonId(required=True, metadata=tell("Id of a person with a seat in the session."))
    attended = values.JsonFlag(required=True, metadata=tell("Whether they were there."))
    passed = values.JsonFlag(
        load_default=False, metadata=tell("Whether they passed: the outcomes of the course are recorded.")
    )


class EnteredResults(RecordSchema):
    """What came of a session, as it is entered."""

    session = values.JsonId(metadata=tell("Id of the session, as in the path."))
    entered_by = values.JsonText(
        is_part_of_id=True, metadata=tell("Who enters it and saw what is recorded (an id is best).")
    )
    rows = fields.List(
        fields.Nested(EnteredResult), required=True, metadata=tell("One for each person that something is told of.")
    )


def build_results_blueprint() -> DescribedBlueprint:
    """Return the blueprint of the results of sessions."""
    blueprint = DescribedBlueprint("results of sessions", "Who attended a session, and who passed.")
    views = {"GET": show_results, "PUT": put_results}
    add_route(blueprint, "/sessions/<id>/results", views, "results", [describe_part("Id of a session.")])
    return blueprint


@describe(
    "Read the results of a session",
    returns=build_part_schema(SessionResults),
    query=Schema,
    headers=("ETag",),
    request_headers=("If-None-Match",),
    errors=(404, 406, 422),
)
def show_results(id: str) -> Response:
    """Show who attended and who passed, with the tag that a change of it wants."""
    choose_form(request, ANSWER_FORMS)
    snapshot = get_snapshot()
    session = snapshot.require_session(id)
    read_values((), request.args)
    return _respond(get_results(snapshot, session))


@describe(
    "Enter the results of a session",
    returns=build_part_schema(SessionResults),
    query=Schema,
    body=EnteredResults,
    headers=("ETag", "Newel-Remarks"),
    request_headers=("If-Match",),
    errors=(400, 403, 404, 406, 412, 413, 415, 422, 428),
    description=(
        "Bookings become attended or missed, the session held, and who passed has the outcomes of the course from its "
        "last day on: in one commit, or not at all. Entering the same twice changes nothing; results told otherwise "
        "before are taken back; who is not told of stays as they are."
    ),
)
def put_results(id: str) -> Response:
    """Store the results, and show what is recorded now."""
    choose_form(request, ANSWER_FORMS)
    snapshot = get_snapshot()
    present = get_results(snapshot, snapshot.require_session(id))
    read_values((), request.args)
    body = read_json_object(request)
    _check(present)
    told = load_members(EnteredResults, body, "sheet of results")
    if told.get("session", id) != id:
        wrong = FieldError("/session", told["session"], f"must be {id!r}, as in the path")
        raise FieldsError("The body is about another session than the path.", [wrong])
    stored = store_results(
        get_graph(),
        id,
        [SessionResult(**row) for row in told["rows"]],
        entered_by=told.get("entered_by") or LOCAL_OWNER.name,
        who=get_who(),
        today=get_utc_day(),
        refuse=_refuse,
        check=_check,
    )
    response = _respond(stored.results)
    if stored.remarks:
        response.headers["Newel-Remarks"] = json.dumps(stored.remarks[:_REMARKS_SHOWN])
    return response


def _check(present: SessionResults) -> None:
    require_match(request, get_results_tag(present))


def _refuse(faults: Sequence[ResultFault]) -> FieldsError:
    return FieldsError(
        "The results are refused as a whole; nothing was stored.",
        [
            FieldError(
                f"/{fault.member}" if fault.row is None else f"/rows/{fault.row}/{fault.member}",
                fault.value,
                fault.reason,
            )
            for fault in faults
        ],
    )


def get_results_tag(results: SessionResults) -> str:
    """Return what stands for the results of a session: a form or a PUT is made for one state of them."""
    return compute_etag(f"/api/sessions/{results.session}/results", JSON, dump_json(results))


def _respond(results: SessionResults) -> Response:
    # it says of people whether they passed
    return respond_with_tag(get_results_tag(results), lambda: dump_json(results), rules=PRIVATE_RULES)
