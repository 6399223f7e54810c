"""The index of the API and its health. Imports Flask."""

from __future__ import annotations

from typing import Any, Final

from flask import Response, request

from api.answers import dump_json
from api.collection import COLLECTIONS
from api.context import get_snapshot
from api.negotiation import ANSWER_FORMS, JSON, choose_form
from api.openapi import add_route, build_blueprint, describe
from api.responses import add_cache_rules
from api.schemas.answers import Health, Index
from api.schemas.parameters import NoParameters, load_parameters

#: Answers as URI templates (RFC 6570), by who asks.
ANSWERS: Final = {
    "gap": "/api/people/{id}/gap{?role,on}",
    "gap_of_roles": "/api/roles/{id}/gap{?from,on}",
    "learning_path": "/api/people/{id}/learning-path{?role,minimise,desirable,on,time_limit}",
    "learning_path_of_roles": "/api/roles/{id}/learning-path{?from,minimise,desirable,on,time_limit}",
    "routes": "/api/people/{id}/routes{?to,max_moves,preparation_limit,level_limit,on,time_limit}",
    "routes_of_roles": "/api/roles/{id}/routes{?to,max_moves,preparation_limit,level_limit,on,time_limit}",
    "reachable_roles": "/api/people/{id}/reachable-roles{?preparation_limit,level_limit,on,time_limit}",
    "reachable_roles_of_roles": "/api/roles/{id}/reachable-roles{?preparation_limit,level_limit,on,time_limit}",
    "similar": "/api/roles/{id}/similar{?limit}",
    "coverage": "/api/teams/{id}/coverage{?on,away}",
    "single_points_of_failure": "/api/teams/{id}/single-points-of-failure{?on,away}",
    "staffing": "/api/teams/{id}/staffing{?on,away}",
    "cross_training": "/api/teams/{id}/cross-training{?on,away,hours_limit,tolerance,weigh_criticality,time_limit}",
}
_OF_ROUTES: Final = "{?to,max_moves,preparation_limit,level_limit,on,time_limit,layout,page,format}"
DIAGRAMS: Final = {
    "role": "/api/roles/{id}/diagram{?layout,page,format}",
    "competency": "/api/competencies/{id}/diagram{?layout,page,format}",
    "learning_path": "/api/people/{id}/learning-path/diagram"
    "{?role,minimise,desirable,on,time_limit,layout,page,format}",
    "routes": "/api/people/{id}/routes/diagram" + _OF_ROUTES,
    "learning_path_of_roles": "/api/roles/{id}/learning-path/diagram"
    "{?from,minimise,desirable,on,time_limit,layout,page,format}",
    "routes_of_roles": "/api/roles/{id}/routes/diagram" + _OF_ROUTES,
    "coverage": "/api/teams/{id}/coverage/diagram{?on,away,layout,page,format}",
}


def build_index_blueprint() -> Any:
    """Return the blueprint of the index."""
    blueprint = build_blueprint("index", "Where to begin.")
    add_route(blueprint, "/", {"GET": show_index}, "index")
    add_route(blueprint, "/health", {"GET": show_health}, "health")
    return blueprint


@describe("What there is", returns=Index, query=NoParameters, errors=(406, 422))
def show_index() -> Response:
    """Show the collections with their counts, and the answers as URI templates."""
    choose_form(request, ANSWER_FORMS)
    load_parameters(NoParameters, request.args)
    snapshot = get_snapshot()
    collections = [
        {"name": c.name, "href": f"/api/{c.name}", "count": len(c.get_items(snapshot))} for c in COLLECTIONS.values()
    ]
    index = {
        "collections": collections,
        "answers": ANSWERS,
        "diagrams": DIAGRAMS,
        "openapi": "/api/openapi.json",
        "browse": "/api/browse/",
        "health": "/api/health",
        "revision": snapshot.revision,
    }
    return add_cache_rules(Response(dump_json(index), content_type=JSON))


@describe("Whether the service answers", returns=Health, query=NoParameters, errors=(406, 422))
def show_health() -> Response:
    """Show that the service answers, and the revision it answers from."""
    choose_form(request, ANSWER_FORMS)
    load_parameters(NoParameters, request.args)
    health = {"status": "ok", "revision": get_snapshot().revision}
    return add_cache_rules(Response(dump_json(health), content_type=JSON))
