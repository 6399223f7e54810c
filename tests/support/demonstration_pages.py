"""The pages of the demonstration scenario: each address of the site map once, each question once."""

from __future__ import annotations

from typing import Final
from urllib.parse import unquote

from api.http.collection import COLLECTIONS
from api.pages.addresses import build_record_address
from ontology.snapshot.snapshot import Snapshot

#: The day on which the scenario is told; every browser test looks at it on this day.
ON: Final = "2026-11-24"

#: Question -> the address of its page.
QUESTIONS: Final[dict[str, str]] = {
    "agenda": "/teams/networks/agenda",
    "agreed-plan": "/people/p070/agreed-plan",
    "assessment-round": "/assessment-round?time_limit=2",
    "assessor-agreement": "/assessor-agreement?from=2026-09-01&until=2026-11-24",
    "attendance-sheet": "/sessions/briefing-dec-3/attendance-sheet",
    "bookings": "/people/p021/bookings",
    "company-cover": "/company-cover",
    "company-obligations": "/company-obligations",
    "compare": "/compare?from=0",
    "coverage": "/teams/treatment/coverage?away=p014,p013",
    "coverage-timeline": "/teams/treatment/coverage-timeline",
    "cross-training": "/teams/laboratory/cross-training",
    "demand": "/courses/safety-briefing-again/demand",
    "development-plan": "/people/p063/development-plan?role=laboratory-analyst&with_routes=yes",
    "effect": "/drafts/spring/effect",
    "filled-places": "/teams/treatment/filled-places?away=p014",
    "find": "/find?text=treatment+operator",
    "findings": "/findings",
    "fragile-needs": "/teams/treatment/fragile-needs",
    "framework-review": "/framework-review",
    "gap": "/people/p008/gap?role=treatment-operator",
    "headcount": "/teams/treatment/headcount?net_hours=1600",
    "holders": "/competencies/cert-first-aid/holders",
    "leave-check": "/teams/wastewater/leave-check?person=p037&from=2026-12-28&to=2027-01-08",
    "learning-path": "/people/p063/learning-path?role=laboratory-analyst",
    "levels": "/people/p008/levels",
    "map": "/mappings/proposals?framework=neighbour",
    "missing-translations": "/translations/missing?language=de",
    "obligations": "/teams/networks/obligations",
    "open-orientation": "/orientation",
    "orientation": "/people/p071/orientation",
    "person-agenda": "/people/p021/agenda",
    "person-changes": "/people/p008/changes?since=0",
    "person-obligations": "/people/p010/obligations",
    "practice": "/teams/wastewater/practice",
    "proof": "/places/treat-night-operator/proof?day=2026-10-14",
    "reach-gains": "/people/p008/reach-gains",
    "reachable-roles": "/people/p008/reachable-roles",
    "rotation": "/teams/treatment/rotation?purpose=relieve-strain&intervals=2&time_limit=2",
    "routes": "/people/p008/routes?to=senior-treatment-operator",
    "schedule": "/people/p063/schedule?role=laboratory-analyst",
    "session-plan": "/session-plan?until=2027-01-31&time_limit=2",
    "similar": "/roles/treatment-operator/similar",
    "single-points-of-failure": "/teams/treatment/single-points-of-failure",
    "staffing": "/teams/treatment/staffing",
    "stand-ins": "/teams/treatment/stand-ins?person=p008",
    "team-changes": "/teams/treatment/changes?since=0",
    "to-mend": "/to-mend",
    "training-timetable": "/teams/treatment/training-timetable",
    "waiting-list": "/sessions/briefing-dec-3/waiting-list",
    "who-can": "/who-can?team=treatment&competency=disinfection-control&level=3",
}

#: What the site map has beside the questions and the records.
DESIGNED: Final = (
    "/",
    "/search",
    "/search?q=chlor",
    "/framework",
    "/competencies",
    "/competencies?show=tree",
    "/roles",
    "/courses",
    "/scales",
    "/roles/treatment-operator/gap?from=treatment-assistant",
    "/edit/roles/treatment-operator/requirements",
    "/loads/new",
    "/history",
    "/history/1",
    "/history/roles/treatment-operator",
    "/outside",
    "/outside/neighbour/removal",
    "/retire/competencies/membrane-uv",
    "/drafts/spring/scale-changes?competency=water-chemistry&scale=craft",
    "/competencies/paper-permits?retired=yes",
    "/drafts",
    "/new/drafts",
    "/releases",
    "/me",
    "/people/p008",
    "/people/p008/roles",
    "/people/p008/roles?show=like",
    "/people/p008/roles?show=all",
    "/people/p008/schedule?role=treatment-operator&levels=entry",
    "/me/kept",
    "/teams",
    "/new/assessments",
    "/teams/treatment/assess",
    "/teams/treatment/assess?competency=disinfection-control",
    "/people",
    "/people?competency=disinfection-control&level=3",
    "/my-data",
    "/words",
    "/problems",
    "/sparql",
    "/sparql?example=what-a-role-asks",
    "/sparql?example=as-skos",
)

#: Tables whose records have a page of their own.
OF_THEIR_OWN: Final = ("competencies", "roles", "courses", "scales", "people", "teams", "sessions")


def list_tables() -> tuple[str, ...]:
    """Return the tables as addresses name them."""
    return tuple(table.replace("_", "-") for table in COLLECTIONS)


def list_record_pages(snapshot: Snapshot) -> dict[str, str]:
    """Return the page of one record of each table that has records, by table."""
    items = {name: collection.get_items(snapshot) for name, collection in COLLECTIONS.items()}
    return {
        name: build_record_address(name, unquote(COLLECTIONS[name].get_path_id(listed[0])))
        for name, listed in items.items()
        if listed
    }


def list_read_pages(snapshot: Snapshot) -> list[str]:
    """Return what is read and made for its subject: the designed pages, and every question."""
    records = list_record_pages(snapshot)
    return list(dict.fromkeys([*DESIGNED, *QUESTIONS.values(), *(records[table] for table in OF_THEIR_OWN)]))


def list_table_pages(snapshot: Snapshot) -> list[str]:
    """Return what all tables have alike: the list, and the page of a record."""
    lists = [f"/{table}" for table in list_tables()]
    pages = [*lists, *list_record_pages(snapshot).values()]
    return [page for page in pages if page not in list_read_pages(snapshot)]


def list_form_pages(snapshot: Snapshot) -> list[str]:
    """Return the forms of every table: of a new record, to change one, to remove one."""
    records = list_record_pages(snapshot).values()
    news = [f"/new/{table}" for table in list_tables()]
    return [*news, *(f"/{verb}{address}" for address in records for verb in ("edit", "remove"))]


def list_pages(snapshot: Snapshot) -> list[str]:
    """Return every address of the site map, each kind of page at least once."""
    return [*list_read_pages(snapshot), *list_table_pages(snapshot), *list_form_pages(snapshot)]
