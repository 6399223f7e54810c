"""What must be looked at again when a record changes or goes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ontology.model.references import get_reference_fields, is_referring
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.snapshot.level_maps import list_map_rows
from ontology.snapshot.snapshot import Snapshot

#: A table's name and a record of it.
Named = tuple[str, Any]


def iterate_references(
    snapshot: Snapshot, wanted: Mapping[str, set[str]]
) -> Iterator[tuple[str, Any, tuple[str, str]]]:
    """Yield (table, record, (table, id) it refers to) of what refers to any of some records.

    In the order of tables and keys, each reference of a record once. One pass: O(n) over the records of the tables that
    can refer to one of them, however many are wanted.
    """
    for name in TABLES:
        fields = [(to, field, ids) for to, ids in wanted.items() for field in get_reference_fields(name, to)]
        for record in snapshot.get_all(name).values() if fields else ():
            found: dict[tuple[str, str], None] = {}
            for to, field, ids in fields:
                value = getattr(record, field)
                held = ids.intersection(value) if type(value) is tuple else (value,) if value in ids else ()
                if held and is_referring(name, record, to, field):
                    found.update(dict.fromkeys((to, one) for one in held))
            for target in found:
                yield name, record, target


def iterate_referrers(snapshot: Snapshot, table_name: str, record_id: str) -> Iterator[Named]:
    """Yield (table, record) of what refers to a record, in the order of tables and keys; O(n), as above."""
    for name, record, _ in iterate_references(snapshot, {table_name: {record_id}}):
        yield name, record


def iterate_dependents(
    snapshot: Snapshot, table_name: str, record: Any, *, is_removed: bool = False
) -> Iterator[Named]:
    """Yield (table, record) of what must be looked at again when `record` changes, or is removed or retired."""
    if table_name in RETIRABLE:
        yield from _iterate_replacements(snapshot, table_name, record.id)
    if table_name == "scales":
        yield from (("scales", level) for level in snapshot.scales.get(record.scale, ()))
        for competency in snapshot.competencies.values():
            if competency.scale == record.scale:
                yield "competencies", competency
                yield from iterate_dependents(snapshot, "competencies", competency)
        rows = snapshot.get_table("level_maps").values()
        yield from (("level_maps", row) for row in rows if record.scale in (row.from_scale, row.to_scale))
    elif table_name == "competencies":
        yield from iterate_referrers(snapshot, "competencies", record.id)
        yield from _iterate_hanging(snapshot)
        yield from _iterate_mapped(snapshot)
    elif table_name in _OF_ROWS:
        yield from _OF_ROWS[table_name](snapshot, record)
    elif is_removed:
        yield from iterate_referrers(snapshot, table_name, TABLES[table_name].get_key(record)[0])
    elif table_name in _OF_CHANGES:
        yield from _OF_CHANGES[table_name](snapshot, record)


def _iterate_replacements(snapshot: Snapshot, table_name: str, record_id: str) -> Iterator[Named]:
    """Yield the replacements that name a record, those that lead to it, and what is retired and was replaced so."""
    open_ids, seen = [record_id], {record_id}
    yield from (("replacements", row) for row in snapshot.get_replacements((table_name, record_id)))
    while open_ids:
        for row in snapshot.get_replaced((table_name, open_ids.pop())):
            yield "replacements", row
            if row.old not in seen:
                seen.add(row.old)
                open_ids.append(row.old)


def _of_replacement(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from _iterate_replacements(snapshot, record.table, record.new)
    yield from _iterate_replacements(snapshot, record.table, record.old)
    yield from _find(getattr(snapshot.retired, record.table), record.table, record.old)


def _of_level_map(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("level_maps", row) for row in list_map_rows(snapshot, record.from_scale, record.to_scale))
    rows = snapshot.get_table("replacements").values()
    yield from (("replacements", row) for row in rows if row.table == "competencies")


def _iterate_hanging(snapshot: Snapshot) -> Iterator[Named]:
    """Yield the competencies that hold while others do: circles may lead through them."""
    yield from (("competencies", c) for c in snapshot.competencies.values() if c.holds_while)


def _iterate_mapped(snapshot: Snapshot) -> Iterator[Named]:
    """Yield the mappings: exact matches lead from one to the next."""
    yield from (("mappings", row) for row in snapshot.get_table("mappings").values())


def _of_mapping(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from _iterate_mapped(snapshot)


def _of_requirement(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from _find(snapshot.roles, "roles", record.role)
    yield from (("agreed_plans", plan) for plan in snapshot.agreed_plans.values() if plan.role == record.role)


def _of_outcome(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from _find(snapshot.courses, "courses", record.course)


def _of_entry_condition(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    outcomes = snapshot.get_outcomes(record.course)
    yield from (("outcomes", outcome) for outcome in outcomes if outcome.competency == record.competency)


def _of_shift(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from iterate_referrers(snapshot, "shifts", record.id)
    yield from (("cover_needs", need) for need in snapshot.get_cover_needs(record.team))


def _of_assessment(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    same = snapshot.get_recorded_assessments(record.person, record.competency)
    yield from (("assessments", other) for other in same if other.date == record.date)
    counted = {record.competency, *(row.counts_as for row in snapshot.get_equivalences_of(record.competency))}
    for competency_id in sorted(counted):
        yield from (("appointments", row) for row in snapshot.get_appointments(record.person, competency_id))


def _of_equivalence(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from _iterate_hanging(snapshot)
    rows = snapshot.get_table("appointments").values()
    yield from (("appointments", row) for row in rows if row.competency == record.counts_as)


def _of_membership(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("memberships", row) for row in snapshot.get_memberships(record.person))


def _of_booking(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from _find(snapshot.sessions, "sessions", record.session)


def _of_person(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("assessments", row) for row in snapshot.get_recorded_assessments(record.id))
    yield from (("memberships", row) for row in snapshot.get_memberships(record.id))
    yield from (("duties", row) for row in snapshot.get_duties(record.id))
    yield from (("bookings", row) for row in snapshot.get_bookings(record.id))
    yield from (("appointments", row) for row in snapshot.get_table("appointments").values() if row.person == record.id)

    assessor = snapshot.get_assessor(record.id)
    yield from (("assessors", row) for row in [assessor] if row is not None)
    yield from (("requests", row) for row in snapshot.get_requests(record.id))
    for plan in snapshot.get_agreed_plans(record.id):
        yield "agreed_plans", plan
        yield from (("agreed_courses", row) for row in snapshot.get_agreed_courses(plan.id))


def _of_agreed_plan(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("agreed_plans", plan) for plan in snapshot.get_agreed_plans(record.person))
    yield from (("agreed_courses", row) for row in snapshot.get_agreed_courses(record.id))


def _of_course(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("sessions", row) for row in snapshot.get_sessions(record.id))


def _of_session(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("bookings", row) for row in snapshot.get_bookings_of_session(record.id))


def _of_workplace(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("obligations", row) for row in snapshot.obligations.values() if row.rule == "site")


def _of_translation(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    yield from (("translations", row) for row in snapshot.get_translations((record.table, record.id)))


def _of_framework(snapshot: Snapshot, record: Any) -> Iterator[Named]:
    # what was another language may be the main one now
    yield from (("translations", row) for row in snapshot.get_table("translations").values())


#: Of rows that nothing refers to, of shifts and agreed plans: whether they change or go.
_OF_ROWS = {
    "requirements": _of_requirement,
    "outcomes": _of_outcome,
    "entry_conditions": _of_entry_condition,
    "shifts": _of_shift,
    "assessments": _of_assessment,
    "equivalences": _of_equivalence,
    "mappings": _of_mapping,
    "memberships": _of_membership,
    "bookings": _of_booking,
    "agreed_plans": _of_agreed_plan,
    "replacements": _of_replacement,
    "level_maps": _of_level_map,
    "translations": _of_translation,
    "framework": _of_framework,
}
#: Of what others refer to, when it changes.
_OF_CHANGES = {
    "people": _of_person,
    "courses": _of_course,
    "sessions": _of_session,
    "teams": _of_workplace,
    "sites": _of_workplace,
}


def _find(index: Mapping[str, Any], table_name: str, record_id: str) -> Iterator[Named]:
    if record_id in index:
        yield table_name, index[record_id]
