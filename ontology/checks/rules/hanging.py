"""Rules on equivalences, on what holds while others do, and on renewals and trainees: what leads nowhere is told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.checks.rules.belonging import make_order_rule
from ontology.model.records import Competency, Course, Place
from ontology.model.work_records import Equivalence
from ontology.snapshot.snapshot import Snapshot


def _check_itself(snapshot: Snapshot, record: Equivalence) -> Iterator[Problem]:
    if record.competency == record.counts_as:
        reason = f"{describe('equivalences', record)}: a competency counts as itself anyway; name another one"
        yield Problem("counts_as", record.counts_as, reason)


def _check_circle(snapshot: Snapshot, record: Competency) -> Iterator[Problem]:
    for other in record.holds_while:
        way = _find_way(snapshot, other, record.id, with_equivalences=True)
        # one that needs no equivalence is an error, and told as such
        if way and not _find_way(snapshot, other, record.id, with_equivalences=False):
            shown = " > ".join((record.id, *way))
            reason = (
                f"competency {record.id} holds while {other} does, and counts towards it ({shown}); it cannot hold "
                f"itself up: {other} counts only where something else gives it"
            )
            yield Problem("holds_while", other, reason)


def _find_way(snapshot: Snapshot, start: str, goal: str, *, with_equivalences: bool) -> list[str]:
    """Return a shortest way from a competency to one that it rests on, both included; [] where there is none."""
    before: dict[str, str] = {start: ""}
    waiting = [start]
    for competency_id in waiting:
        if competency_id == goal:
            way = [goal]
            while before[way[-1]]:
                way.append(before[way[-1]])
            return way[::-1]
        competency = snapshot.competencies.get(competency_id)
        rests_on = list(competency.holds_while) if competency else []
        if with_equivalences:
            rests_on += [row.competency for row in snapshot.get_equivalences_to(competency_id)]
        for other in sorted(rests_on):
            if other not in before:
                before[other] = competency_id
                waiting.append(other)
    return []


def _check_window(snapshot: Snapshot, record: Competency) -> Iterator[Problem]:
    window, validity = record.renewal_window_months, record.validity_months
    if window is None:
        return
    if validity is None:
        reason = f"competency {record.id} has a renewal window but no validity_months: nothing ends, so none is renewed"
        yield Problem("renewal_window_months", str(window), reason)
    elif window >= validity:
        reason = f"competency {record.id} has a renewal window of {window} months and counts for {validity}"
        yield Problem("renewal_window_months", str(window), f"{reason}; it should be shorter than that")


def _check_group(snapshot: Snapshot, record: Course) -> Iterator[Problem]:
    if record.seats is not None and record.group_minimum > record.seats:
        reason = f"course {record.id} is held for at least {record.group_minimum} and has {record.seats} seats"
        yield Problem("group_minimum", str(record.group_minimum), f"{reason}; it could never be held")


def _check_trainees(snapshot: Snapshot, record: Place) -> Iterator[Problem]:
    if record.trainees and not record.trainees_per_able:
        reason = f"place {record.id} takes {record.trainees} trainees, but none for those who fill it"
        yield Problem("trainees_per_able", "0", f"{reason}; nobody would ever learn there")


RULES: Final = (
    make_order_rule("equivalences"),
    Rule("equivalence with itself", "error", "equivalences", _check_itself),
    Rule("circle through equivalences", "remark", "competencies", _check_circle),
    Rule("renewal window that fits", "remark", "competencies", _check_window),
    Rule("group that fits the seats", "remark", "courses", _check_group),
    Rule("trainees beside somebody", "remark", "places", _check_trainees),
)
