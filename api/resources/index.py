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

_ROUTES: Final = "{?to,max_moves,preparation_limit,level_limit,avoid,via,study_hours_per_week,on,time_limit"
_WISHES: Final = "minimise,desirable,max_hours,max_cost,exclude,already_booked,on,time_limit"
_PATH: Final = _WISHES + ",alternatives"
_CALENDAR: Final = _WISHES + ",start,study_hours_per_week,at_once,holidays"
#: Answers as URI templates (RFC 6570), by who asks.
ANSWERS: Final = {
    "gap": "/api/people/{id}/gap{?role,on}",
    "gap_of_roles": "/api/roles/{id}/gap{?from,on}",
    "learning_path": "/api/people/{id}/learning-path{?role," + _PATH + "}",
    "learning_path_of_roles": "/api/roles/{id}/learning-path{?from," + _PATH + "}",
    "routes": "/api/people/{id}/routes" + _ROUTES + "}",
    "routes_of_roles": "/api/roles/{id}/routes" + _ROUTES + "}",
    "reachable_roles": "/api/people/{id}/reachable-roles{?preparation_limit,level_limit,on,time_limit}",
    "reachable_roles_of_roles": "/api/roles/{id}/reachable-roles{?preparation_limit,level_limit,on,time_limit}",
    "reach_gains": "/api/people/{id}/reach-gains{?preparation_limit,level_limit,limit,on,time_limit}",
    "reach_gains_of_roles": "/api/roles/{id}/reach-gains{?preparation_limit,level_limit,limit,on,time_limit}",
    "framework_review": "/api/framework-review{?preparation_limit,level_limit,on,time_limit}",
    "similar": "/api/roles/{id}/similar{?limit}",
    "schedule": "/api/people/{id}/schedule{?role," + _CALENDAR + "}",
    "schedule_of_roles": "/api/roles/{id}/schedule{?from," + _CALENDAR + "}",
    "development_plan": "/api/people/{id}/development-plan{?role," + _CALENDAR + ",with_routes,format}",
    "coverage": "/api/teams/{id}/coverage{?on,away}",
    "coverage_timeline": "/api/teams/{id}/coverage-timeline{?from,until,weeks,on,away,time_limit}",
    "stand_ins": "/api/teams/{id}/stand-ins{?person,competency,level,limit,on,away}",
    "fragile_needs": "/api/teams/{id}/fragile-needs{?absence_rate,order_by,on,away,time_limit}",
    "headcount": "/api/teams/{id}/headcount{?net_hours,manned_hours,shifts,on,away}",
    "company_cover": "/api/company-cover{?absence_rate,limit,within_hours,on,away,time_limit}",
    "single_points_of_failure": "/api/teams/{id}/single-points-of-failure{?on,away}",
    "staffing": "/api/teams/{id}/staffing{?on,away,leaving}",
    "rotation": "/api/teams/{id}/rotation{?purpose,from,until,intervals,interval_weeks,minimum_stay,maximum_stay,"
    "practice,people,places,learners,renewals,on,away,time_limit}",
    "cross_training": "/api/teams/{id}/cross-training{?on,away,hours_limit,tolerance,holes,weigh_criticality,"
    "exclude_people,exclude_courses,by,fair,with_coach,lending_teams,time_limit}",
    "training_timetable": "/api/teams/{id}/training-timetable{?on,away,hours_limit,tolerance,holes,weigh_criticality,"
    "exclude_people,exclude_courses,by,fair,with_coach,lending_teams,show,due,time_limit,format}",
}
_SHOWN: Final = ",layout,page,format"
_OF_ROUTES: Final = _ROUTES + _SHOWN + "}"
DIAGRAMS: Final = {
    "role": "/api/roles/{id}/diagram{?layout,page,format}",
    "competency": "/api/competencies/{id}/diagram{?layout,page,format}",
    "learning_path": "/api/people/{id}/learning-path/diagram{?role," + _WISHES + _SHOWN + "}",
    "routes": "/api/people/{id}/routes/diagram" + _OF_ROUTES,
    "learning_path_of_roles": "/api/roles/{id}/learning-path/diagram{?from," + _WISHES + _SHOWN + "}",
    "routes_of_roles": "/api/roles/{id}/routes/diagram" + _OF_ROUTES,
    "schedule": "/api/people/{id}/schedule/diagram{?role," + _CALENDAR + _SHOWN + "}",
    "schedule_of_roles": "/api/roles/{id}/schedule/diagram{?from," + _CALENDAR + _SHOWN + "}",
    "coverage": "/api/teams/{id}/coverage/diagram{?on,away,layout,page,format}",
    "staffing": "/api/teams/{id}/staffing/diagram{?on,away,layout,page,format}",
    "training_timetable": "/api/teams/{id}/training-timetable/diagram{?on,away,hours_limit,tolerance,"
    "holes,weigh_criticality,exclude_people,exclude_courses,by,fair,with_coach,lending_teams,show,due,time_limit,layout,"
    "page,format}",
    "cross_training": "/api/teams/{id}/cross-training/diagram{?on,away,hours_limit,tolerance,holes,weigh_criticality,"
    "exclude_people,exclude_courses,by,fair,with_coach,lending_teams,time_limit" + _SHOWN + "}",
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
