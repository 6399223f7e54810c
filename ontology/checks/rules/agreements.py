"""Rules on requests, assessors, agreed plans and their courses: days in order, while employed, of use to someone."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.checks.rules.belonging import make_order_rule, tell_unemployed
from ontology.model.agreement_records import AgreedCourse, AgreedPlan, Assessor, Request
from ontology.snapshot.snapshot import Snapshot


def _check_request(snapshot: Snapshot, record: Request) -> Iterator[Problem]:
    for column, day in (("asked_on", record.asked_on), ("by", record.by)):
        told = "" if day is None else tell_unemployed(snapshot, record.person, day, day)
        if told:
            reason = f"{describe('requests', record)}: {told}; a wish counts only while they are employed"
            yield Problem(column, str(day), reason)
            return


def _check_wish(snapshot: Snapshot, record: Request) -> Iterator[Problem]:
    if record.by is not None and record.asked_on is not None and record.by < record.asked_on:
        reason = f"{describe('requests', record)} is wished for by {record.by}, before it was asked, {record.asked_on}"
        yield Problem("by", str(record.by), reason)


def _check_assessor(snapshot: Snapshot, record: Assessor) -> Iterator[Problem]:
    person = snapshot.people.get(record.person)
    if person is None:
        return
    if person.end_date is not None and (record.from_date or date.min) > person.end_date:
        told, column = f"{person.id} is employed until {person.end_date}", "from"
    elif person.start_date is not None and (record.to_date or date.max) < person.start_date:
        told, column = f"{person.id} is employed from {person.start_date} on", "to"
    else:
        return
    value = record.from_date if column == "from" else record.to_date
    yield Problem(column, str(value), f"{describe('assessors', record)}: {told}; they will assess nobody")


def _check_assessed(snapshot: Snapshot, record: Assessor) -> Iterator[Problem]:
    for competency_id in record.competencies:
        competency = snapshot.competencies.get(competency_id)
        if competency is not None and competency.is_certificate:
            reason = (
                f"{describe('assessors', record)}: {competency_id} is a certificate, for which only the source "
                "certificate counts; no round of assessments asks for it"
            )
            yield Problem("competencies", competency_id, reason)


def _check_agreed_while(snapshot: Snapshot, record: AgreedPlan) -> Iterator[Problem]:
    told = tell_unemployed(snapshot, record.person, record.agreed_on, record.agreed_on)
    if told:
        reason = f"{describe('agreed_plans', record)} was agreed on {record.agreed_on}, but {told}"
        yield Problem("agreed_on", str(record.agreed_on), reason)


def _check_role(snapshot: Snapshot, record: AgreedPlan) -> Iterator[Problem]:
    if record.role in snapshot.roles and not snapshot.get_requirements(record.role):
        reason = f"{describe('agreed_plans', record)} leads to {record.role}, which asks for nothing: give requirements"
        yield Problem("role", record.role, reason)


def _check_open(snapshot: Snapshot, record: AgreedPlan) -> Iterator[Problem]:
    """Tell once for each plan but the first: which is open beside it."""
    if record.ended_on is not None:
        return
    others = [plan.id for plan in snapshot.get_agreed_plans(record.person) if plan.ended_on is None]
    if others and others[0] < record.id:
        reason = (
            f"{describe('agreed_plans', record)} is open, and so is {others[0]} of the same person; "
            "give the one that no longer holds its ended_on"
        )
        yield Problem("ended_on", "", reason)


def _check_course(snapshot: Snapshot, record: AgreedCourse) -> Iterator[Problem]:
    plan = snapshot.agreed_plans.get(record.plan)
    if plan is None:
        return
    if record.first_day < plan.agreed_on:
        reason = f"{describe('agreed_courses', record)} begins on {record.first_day}, before the plan was agreed"
        yield Problem("first_day", str(record.first_day), f"{reason} on {plan.agreed_on}")
    told = tell_unemployed(snapshot, plan.person, record.first_day, record.last_day)
    if told:
        column = "last_day" if "until" in told else "first_day"
        yield Problem(column, str(getattr(record, column)), f"{describe('agreed_courses', record)}: {told}")


RULES: Final = (
    make_order_rule("assessors"),
    make_order_rule("agreed_plans", "agreed_on", "ended_on"),
    make_order_rule("agreed_courses", "first_day", "last_day"),
    Rule("request while employed", "remark", "requests", _check_request),
    Rule("wished for after it was asked", "remark", "requests", _check_wish),
    Rule("assessor while employed", "remark", "assessors", _check_assessor),
    Rule("assessor of a certificate", "remark", "assessors", _check_assessed),
    Rule("plan agreed while employed", "remark", "agreed_plans", _check_agreed_while),
    Rule("agreed plan to a role that asks for something", "remark", "agreed_plans", _check_role),
    Rule("one open plan of a person", "remark", "agreed_plans", _check_open),
    Rule("agreed course within its plan", "remark", "agreed_courses", _check_course),
)
