"""The development plan as a page to read and print: what a person takes to their manager.

The same words stand on the page that is served and in a file by itself, with its style and pictures inside.
"""

from __future__ import annotations

from base64 import b64encode
from datetime import date
from typing import Any, Final

from api.desk.desk import Answer
from api.desk.names import join_names
from api.desk.plain_cells import say_month
from api.json_text import to_json
from api.pages.addresses import build_address, build_record_address
from api.pages.page import Link, Page
from api.pictures.calendar import build_calendar_picture, count_pages
from api.pictures.render import is_available, render
from api.pictures.text import format_number
from api.questions.person._path import build_path_profile, name_aim
from api.questions.person._plan_calendar import ASKS
from ontology.analysis.profiles.belonging import get_person_on

__all__ = ["describe_plan"]

#: Parameters that the calendar's picture does not know.
_NOT_OF_PICTURE: Final = ("with_routes",)
_SOURCES: Final = {"certificate": "certificate", "assessor": "assessor", "manager": "manager or assessor"}


def describe_plan(answer: Answer, is_file: bool) -> Page:
    """Return what stands on the page of a plan; a file has its pictures inside, none without the program dot."""
    if is_file:
        screen, papers = _draw(answer)
        return _describe(answer, links={}, screen=screen, papers=papers)
    enquiry = answer.enquiry
    texts, person = enquiry.texts, enquiry.subject.id
    page = build_address("people", person, "development-plan")
    drawn = {name: text for name, text in texts.items() if name not in _NOT_OF_PICTURE}
    links = {
        form: "/api" + build_address("people", person, "development-plan", texts | {"format": form})
        for form in ("ics", "xlsx", "json")
    }
    links["picture"] = "/api" + build_address("people", person, "schedule/diagram", drawn)
    links["with_routes"] = build_address("people", person, "development-plan", texts | {"with_routes": "yes"}) or page
    papers = [f"{links['picture']}&layout=paper&page={n + 1}" for n in range(count_pages(answer.result.schedule))]
    return _describe(answer, links=links, screen=links["picture"], papers=papers)


def _draw(answer: Answer) -> tuple[str, list[str]]:
    """Return the pictures of a plan's calendar, for a screen and for paper, as addresses that hold them."""
    schedule, enquiry = answer.result.schedule, answer.enquiry
    if not is_available() or not schedule.courses:
        return "", []
    snapshot = enquiry.state.snapshot
    profile = build_path_profile(snapshot, enquiry.subject, enquiry.asked)
    papers = [
        _inline(build_calendar_picture(snapshot, profile, schedule, layout="paper", page=page + 1).dot)
        for page in range(count_pages(schedule))
    ]
    return _inline(build_calendar_picture(snapshot, profile, schedule).dot), papers


def _inline(dot: str) -> str:
    return f"data:image/svg+xml;base64,{b64encode(render(dot, 'svg')).decode()}"


def _describe(answer: Answer, **more: Any) -> Page:
    snapshot = answer.enquiry.state.snapshot
    person = snapshot.people[answer.enquiry.subject.id]
    plan = to_json(answer.members)
    role = get_person_on(snapshot, person.id, answer.enquiry.asked.on).role
    courses = plan["schedule"]["courses"]
    name = answer.names.person(person.id)
    values = dict(
        plan=plan,
        aim=name_aim(answer.names, plan["role"], answer.enquiry.asked),
        is_entry=answer.enquiry.asked.levels == "entry",
        is_of_way=bool(answer.enquiry.asked.include),
        person_name=name,
        present_role=snapshot.roles[role].label if role in snapshot.roles else "",
        competencies=snapshot.competencies,
        courses=snapshot.courses,
        roles=snapshot.roles,
        numbers={course["id"]: number for number, course in enumerate(courses, start=1)},
        rows=list(zip(courses, plan["steps"], strict=True)),
        asks=ASKS,
        sources=_SOURCES,
        has_pictures=is_available(),
        day=_format_iso,
        number=format_number,
        told=answer.names.put_in,
        name_all=lambda ids: join_names(map(answer.names.competency, ids)),
        **more,
    )
    trail = (Link("People", "/people"), Link(name, build_record_address("people", person.id)))
    return Page("development_plan.html", values, ("newel.css", "plan.css"), way="stand", trail=trail)


def _format_iso(text: str) -> str:
    return say_month(date.fromisoformat(text))
