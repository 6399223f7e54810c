"""A plan with dates: the calendar of a move or of a whole role, its files, and what keeps it."""

from __future__ import annotations

import dataclasses
from typing import Any

from api.desk.desk import Answer
from api.desk.names import amount
from api.desk.sheet import Sheet
from api.pages.addresses import add_form, build_address
from api.pages.cells import say_day
from api.pages.figure import Figure
from api.pages.first_words import find_first_words
from api.pages.page import Link, Page
from api.pages.sheet_page import describe_sheet
from api.questions.person._path import name_aim
from ontology.analysis.schedule.schedule_result import ScheduleResult

__all__ = ["describe_dated_plan", "sum_hours", "tell_hours", "tell_kept"]


def sum_hours(result: ScheduleResult) -> tuple[float, float, float]:
    """Return the hours of study that lead to the aim, those of them that are booked already, and those that renew.

    The first is what the card of a way says of its first move: what renews certificates meanwhile is none of it.
    """
    renewing = [row for row in result.courses if row.is_renewal and not row.serves]
    leading = [row for row in result.courses if row not in renewing]
    booked = sum(row.study_hours for row in leading if row.is_booked)
    return sum(row.study_hours for row in leading), booked, sum(row.study_hours for row in renewing)


def tell_hours(result: ScheduleResult, aim: str) -> str:
    """Return how much study there is, and what it is for."""
    leading, booked, renewing = sum_hours(result)
    told = f"{amount(leading)} h of study lead to {aim}"
    told += f", {amount(booked)} h of them booked already" if booked else ""
    return told + (f"; {amount(renewing)} h more renew what ends on the way." if renewing else ".")


def tell_kept(result: ScheduleResult, aim: str) -> str:
    """Return the words a plan is kept with."""
    if result.finish is None:
        return f"{aim}: nothing to plan"
    return f"{aim}: {say_day(result.start)} to {say_day(result.finish)}, {amount(sum_hours(result)[0])} h"


def describe_dated_plan(answer: Answer, figure: Figure | None, *, is_self: bool) -> Page:
    """Return the page of a schedule of a person."""
    enquiry, result, names = answer.enquiry, answer.result, answer.names
    person, aim = enquiry.subject.id, name_aim(answer.names, answer.result.role, enquiry.asked)
    page = describe_sheet(answer, False)
    sheet: Sheet = page.values["sheet"]
    same = build_address("people", person, "schedule", enquiry.texts)
    paper = build_address("people", person, "development-plan", enquiry.texts)
    values: dict[str, Any] = {
        "sheet": dataclasses.replace(sheet, title=f"Plan with dates: {aim}"),
        "title": find_first_words(_say_lead(result, sheet)),
        "acts": [
            ("Calendar file", add_form("/api" + paper, "ics")),
            ("Plan to print", paper),
            ("Workbook", add_form("/api" + same, "xlsx")),
        ],
        "hours": tell_hours(result, aim) if result.courses else "",
        "bars": figure,
        # an agreed plan is followed up to the full levels of its role
        "carry_out": page.values["carry_out"] if enquiry.asked.levels == "full" else [],
        "kept": (same, tell_kept(result, aim[:1].upper() + aim[1:])) if is_self else (),
        "person": names.person(person),
        "is_self": is_self,
    }
    first = Link("Where I stand" if is_self else names.person(person), build_address("people", person, ""))
    trail = (first, Link("Choose a role", build_address("people", person, "roles")))
    return dataclasses.replace(page, template="dated_plan.html", values={**page.values, **values}, trail=trail)


def _say_lead(result: ScheduleResult, sheet: Sheet) -> str:
    if result.finish is None:
        return sheet.lead
    return f"From {say_day(result.start)} to {say_day(result.finish)}"
