"""Rules on competencies, roles and courses: what is missing, and what contradicts itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.records import Competency, Course, Requirement, Role
from ontology.snapshot.snapshot import Snapshot


def _check_validity(snapshot: Snapshot, record: Competency) -> Iterator[Problem]:
    if record.is_certificate and record.validity_months is None:
        reason = f"certificate {record.id} has no validity_months: it never expires; give them if it does"
        yield Problem("validity_months", "", reason)


def _check_labels(snapshot: Snapshot, record: Competency) -> Iterator[Problem]:
    # the one integrity condition that a row of ours can break by itself
    if record.label in record.alt_labels:
        reason = f"competency {record.id} has its label among its alt_labels; the two are disjoint (SKOS S13)"
        yield Problem("alt_labels", record.label, reason)


def _check_requirements(snapshot: Snapshot, record: Role) -> Iterator[Problem]:
    if not snapshot.get_requirements(record.id):
        reason = f"role {record.id} has no requirements: nothing leads to it and nobody can fill its places"
        yield Problem("id", record.id, reason)


def _check_certificate_by_time(snapshot: Snapshot, record: Requirement) -> Iterator[Problem]:
    competency = snapshot.competencies.get(record.competency)
    if record.learned_on_job and competency is not None and competency.is_certificate:
        reason = f"{describe('requirements', record)}: time in a role brings no certificate; learned_on_job is ignored"
        yield Problem("learned_on_job", "yes", reason)


def _check_outcomes(snapshot: Snapshot, record: Course) -> Iterator[Problem]:
    if not snapshot.get_outcomes(record.id):
        yield Problem("id", record.id, f"course {record.id} has no outcomes: no learning path will use it")


RULES: Final = (
    Rule("certificate without validity", "remark", "competencies", _check_validity),
    Rule("label and other names differ", "error", "competencies", _check_labels),
    Rule("role without requirements", "remark", "roles", _check_requirements),
    Rule("certificate learned on the job", "remark", "requirements", _check_certificate_by_time),
    Rule("course without outcomes", "remark", "courses", _check_outcomes),
)
