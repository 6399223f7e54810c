"""The training timetable chart as a page to read and print."""

from __future__ import annotations

from collections.abc import Iterator

from api.desk.desk import Answer
from api.desk.names import Names
from api.desk.question import TEAM
from api.desk.sheet import Table
from api.pages.addresses import build_address
from api.pages.ask_form import list_fields
from api.pages.page import Page
from api.pages.sheet_page import list_trail_of
from api.pictures.text import format_number
from api.questions.team._plan import show_coaching, show_learning, show_months, tell_lapse
from api.questions.team._plan_remarks import list_remarks
from api.questions.team._training_words import name_cell, name_row
from ontology.analysis.training.cross_training import CrossTrainingResult

__all__ = ["describe_timetable"]


def describe_timetable(answer: Answer, is_file: bool) -> Page:
    """Return what stands on the page of a team's chart."""
    enquiry = answer.enquiry
    snapshot, names = enquiry.state.snapshot, Names(enquiry.state.snapshot)
    plan, chart = answer.result.plan, answer.result.chart
    values = {
        "team": snapshot.teams[chart.team],
        "plan": plan,
        "remarks": list_remarks(plan, names),
        "chart": chart,
        "lapses": [tell_lapse(row, names) for row in answer.result.effect.lapses],
        "rows": [(row, *name_row(names, row)) for row in chart.rows],
        "words": name_cell,
        "competencies": snapshot.competencies,
        "tables": list(_iterate_tables(plan, names)) if plan.plan else [],
        "is_linked": not is_file,
        "named": names.person,
        "shifts": snapshot.shifts,
        "place_names": {row.place: names.place(row.place) for row in plan.unmet if row.place is not None},
        "number": format_number,
        "cautions": enquiry.question.cautions,
        "revision": snapshot.revision,
        "links": {} if is_file else _list_links(answer),
        "fields": () if is_file else list_fields(enquiry.question.asks[TEAM], enquiry.texts, snapshot),
        "here": build_address("teams", chart.team, "training-timetable"),
    }
    trail = list_trail_of(enquiry.subject, names)
    return Page("training_timetable.html", values, ("newel.css", "training.css"), way="cover", trail=trail)


def _iterate_tables(plan: CrossTrainingResult, names: Names) -> Iterator[Table]:
    yield show_learning(plan, names)
    yield from show_coaching(plan, names)
    yield show_months(plan, names)


def _list_links(answer: Answer) -> dict[str, str]:
    texts, team = answer.enquiry.texts, answer.enquiry.subject.id
    links = {
        form: "/api" + build_address("teams", team, "training-timetable", texts | {"format": form})
        for form in ("json", "ics", "xlsx")
    }
    links["svg"] = "/api" + build_address("teams", team, "training-timetable/diagram", texts)
    return links
