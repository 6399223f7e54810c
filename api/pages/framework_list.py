"""Rows of the lists of competencies, roles, courses and scales: names, with the figures that tell them apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from api.desk.columns import Filled, build_table, number, words
from api.desk.names import Names
from api.desk.sheet import Ref, Refs, Table
from ontology.snapshot.search import list_by_name
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_rows", "list_in_order"]

#: Levels that a course reaches which are named in its row.
_NAMED: Final = 3
_EMPTY: Final = "Nothing fits. Use fewer words, or leave a field empty."


def list_in_order(snapshot: Snapshot, table: str) -> Sequence[Any]:
    """Return the records of a table in the order of their names; of scales, each with its levels.

    O(n) once for a Snapshot.
    """
    return snapshot.keep(("records in the order of names", table), lambda: _order(snapshot, table))


def _order(snapshot: Snapshot, table: str) -> list[Any]:
    index: Mapping[str, Any] = getattr(snapshot, table)
    return [index[i] for i in (index if table == "scales" else list_by_name(snapshot, table))]


def build_rows(snapshot: Snapshot, table: str, records: Sequence[Any]) -> Table:
    """Return what a list shows of some records. O(rows that hang on them)."""
    return build_table("", records, _COLUMNS[table](snapshot, Names(snapshot)), _EMPTY)


def _list_competency_columns(snapshot: Snapshot, names: Names) -> Sequence[Filled[Any]]:
    def count_teaching(competency_id: str) -> int:
        return sum(not outcome.renews for outcome in snapshot.get_outcomes_of_competency(competency_id))

    return (
        words("Competency", lambda row: names.ref("competencies", row.id)),
        words("Kind", lambda row: row.kind),
        words("Part of", lambda row: names.refs("competencies", row.broader)),
        number("Asked by", lambda row: len(snapshot.get_requirements_of_competency(row.id)), "roles"),
        number("Taught by", lambda row: count_teaching(row.id), "courses"),
    )


def _list_role_columns(snapshot: Snapshot, names: Names) -> Sequence[Filled[Any]]:
    return (
        words("Role", lambda row: names.ref("roles", row.id)),
        words("Family", lambda row: row.family or None),
        number("Asks for", lambda row: len(snapshot.get_requirements(row.id)), "competencies"),
        number("To full level", lambda row: row.months_to_full, "months"),
    )


def _list_course_columns(snapshot: Snapshot, names: Names) -> Sequence[Filled[Any]]:
    def tell_reached(course_id: str) -> Refs | str:
        outcomes = snapshot.get_outcomes(course_id)
        if len(outcomes) > _NAMED:
            return f"{len(outcomes)} levels"
        named = ((o.competency, f"{names.competency(o.competency)} {o.level}") for o in outcomes)
        return Refs(tuple(Ref("competencies", competency, name) for competency, name in named), "nothing")

    return (
        words("Course", lambda row: names.ref("courses", row.id)),
        words("Reaches", lambda row: tell_reached(row.id)),
        words("How", lambda row: row.method or None),
        number("Study", lambda row: row.hours, "h"),
    )


def _list_scale_columns(snapshot: Snapshot, names: Names) -> Sequence[Filled[Any]]:
    return (
        words("Scale", lambda steps: Ref("scales", steps[0].scale, steps[0].scale)),
        words("Levels", lambda steps: ", ".join(f"{step.rank} {step.label}" for step in steps)),
        number("Used by", lambda steps: len(snapshot.get_competencies_of_scale(steps[0].scale)), "competencies"),
    )


_COLUMNS: Final[Mapping[str, Callable[[Snapshot, Names], Sequence[Filled[Any]]]]] = {
    "competencies": _list_competency_columns,
    "roles": _list_role_columns,
    "courses": _list_course_columns,
    "scales": _list_scale_columns,
}
