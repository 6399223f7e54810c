"""Storing several assessments in one commit: all of them or none, with what is wrong told by row. No Flask."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from api.access.seen_graph import RecordGraph
from api.errors import FieldError, FieldsError
from api.http.collection import COLLECTIONS
from api.http.record_services import Overtaken
from ontology.errors import FindingsError
from ontology.live.live_graph import Change
from ontology.model.company_tables import ASSESSMENTS
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

_COLLECTION: Final = COLLECTIONS["assessments"]


class RowsError(FieldsError):
    """Rows of which at least one is wrong; `by_row` holds the errors of each, counted from 0. Nothing was stored."""

    def __init__(self, by_row: Mapping[int, Sequence[FieldError]]) -> None:
        fields = [
            FieldError(f"/{row}{field.pointer}", field.value, field.reason)
            for row, found in sorted(by_row.items())
            for field in found
        ]
        told = format_count(len(by_row), "row")
        super().__init__(f"{told} {'is' if len(by_row) == 1 else 'are'} wrong; nothing was stored.", fields)
        self.by_row = {row: tuple(found) for row, found in by_row.items()}


@dataclass(frozen=True, slots=True)
class StoredAssessments:
    """What was stored, and the remarks it was stored past."""

    items: tuple[Any, ...]
    remarks: tuple[str, ...]


def store_assessments(graph: RecordGraph, bodies: Sequence[Mapping[str, Any]], *, who: str) -> StoredAssessments:
    """Store assessments that are new, each with its last valid day by its competency's rule, in one commit.

    `bodies` hold members as REST takes them.

    Raises
    ------
    RowsError
        At least one is wrong, or recorded already.
    FindingsError
        They break a rule that no single row can be named for.
    """
    while True:
        snapshot = graph.get_snapshot()
        items = _load(graph, snapshot, bodies)

        def require(present: Snapshot, known: Snapshot = snapshot) -> None:
            if present is not known:
                raise Overtaken

        why = f"made {format_count(len(items), 'assessment')}"
        change = Change(put=tuple((ASSESSMENTS.name, item) for item in items))
        try:
            applied = graph.apply(change, who=who, why=why, require=require)
        except Overtaken:
            continue  # someone else stored something meanwhile: what each renews may be another one
        except FindingsError as error:
            raise _find_rows(error, items) from None
        return StoredAssessments(tuple(items), tuple(remark.reason for remark in applied.remarks))


def _load(graph: RecordGraph, snapshot: Snapshot, bodies: Sequence[Mapping[str, Any]]) -> list[Any]:
    items: dict[Any, Any] = {}
    wrong: dict[int, Sequence[FieldError]] = {}
    for row, body in enumerate(bodies):
        try:
            item = _COLLECTION.load_item(snapshot, _COLLECTION.tell_recorded(body, graph.store.get_today()))
        except FieldsError as error:
            wrong[row] = error.fields
            continue
        key = ASSESSMENTS.get_key(item)
        if key in items or _COLLECTION.has_item(snapshot, item):
            wrong[row] = [FieldError("", item.person, "is recorded already: same day, source, assessor and level")]
        items[key] = item
    if wrong:
        raise RowsError(wrong)
    return list(items.values())


def _find_rows(error: FindingsError, items: Sequence[Any]) -> FindingsError | RowsError:
    """Return what is wrong by row; the error itself where a finding is about no row."""
    rows = {(ASSESSMENTS.name, *map(str, ASSESSMENTS.get_key(item))): row for row, item in enumerate(items)}
    by_row: defaultdict[int, list[FieldError]] = defaultdict(list)
    for finding in error.findings:
        if finding.severity == "error":
            if finding.about not in rows:
                return error
            by_row[rows[finding.about]].append(FieldError(f"/{finding.column}", finding.value, finding.reason))
    return RowsError(by_row)
