"""A live graph as an actor has it: read without what they may not see, changed where their rights allow, or refused.

Every change of records in a request goes through `apply` here, whichever page or address it comes from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from api.access.check import decide, find_columns
from api.access.reduce import reduce_text
from api.access.rights import Verb
from api.access.sight import Seen, Sight
from ontology.errors import FindingsError, ForbiddenError, InUseError
from ontology.model.references import get_reference_fields
from ontology.model.tables import TABLES
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # a live graph brings the checks and the store
    from api.access.draft_graph import DraftGraph
    from ontology.live.live_graph import Applied, Change, LiveGraph
    from ontology.store.engine import Store

__all__ = ["RecordGraph", "SeenGraph"]

_MAY_NOT: Final = "You may not change this."
#: Who says a level; what they themselves have not seen they do not sign for.
_SAID_BY: Final = frozenset({"assessor", "manager"})


class SeenGraph:
    """A live graph behind what an actor may see and do.

    Parameters
    ----------
    graph : LiveGraph, or a draft of it
    sight : Sight
    """

    def __init__(self, graph: LiveGraph | DraftGraph, sight: Sight) -> None:
        self._graph = graph
        self._sight = sight

    @property
    def store(self) -> Store:
        """The store behind it."""
        return self._graph.store

    def get_snapshot(self) -> Snapshot:
        """Return what may be seen of the latest state."""
        return self._sight.look(self._graph.get_snapshot()).snapshot

    def apply(
        self,
        change: Change,
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        require: Callable[[Snapshot], None] | None = None,
        is_trial: bool = False,
    ) -> Applied:
        """Commit a change as `LiveGraph.apply` does, where the actor may make it.

        Raises
        ------
        ForbiddenError
            They may not; nothing is stored.
        FindingsError
            It names people they may not see, as if there were none of these ids.
        """
        seen = self._sight.look(self._graph.get_snapshot())
        self._require_known(change, seen)
        self._require_rights(change, self._graph.get_snapshot())

        def require_seen(present: Snapshot) -> None:
            # who belongs to which team may have changed since
            self._require_rights(change, present)
            if require is not None:
                require(self._sight.look(present).snapshot)

        try:
            return self._graph.apply(
                change,
                who=who,
                why=why,
                expected_revision=expected_revision,
                require=require_seen,
                is_trial=is_trial,
            )
        except InUseError as error:
            raise _reduce_conflict(error, seen) from None
        except FindingsError as error:
            raise _reduce_findings(error, seen) from None

    def _require_known(self, change: Change, seen: Seen) -> None:
        """Raise what is raised of people that nobody is, for whom the actor may not see."""
        if not any(person in seen.unseen for person in _iterate_people(change)):
            return
        from ontology.checks.framework import check_records

        after = seen.snapshot.with_changes(change.put, change.remove)
        findings = check_records(after, change.put, self.store.get_today())
        n_errors = sum(finding.severity == "error" for finding in findings)
        raise FindingsError(f"{format_count(n_errors, 'error')} found; nothing was stored.", sorted(findings))

    def _require_rights(self, change: Change, present: Snapshot) -> None:
        for name, key in change.remove:
            record = present.get_all(name).get(key)
            if record is not None and self._sight.decide_record(name, record, Verb.REMOVE) != "rows":
                raise ForbiddenError(_MAY_NOT)
        plans = {record.id: record.person for name, record in change.put if name == "agreed_plans"}
        for name, record in change.put:
            before = present.get_all(name).get(TABLES[name].get_key(record))
            if before != record:
                self._require_put(name, before, record, plans)

    def _require_put(self, name: str, before: Any | None, record: Any, plans: Mapping[str, str]) -> None:
        """Raise ForbiddenError where a record may not be made, or not be changed to this.

        `plans` are the plans of the same change, with whose they are: their courses come with them.
        """
        sight, actor = self._sight, self._sight.actor
        for one in filter(None, (before, record)):
            right = sight.build_record_right(name, one, Verb.CHANGE)
            if name == "agreed_courses" and one.plan in plans:
                right = sight.build_right(right.kind, Verb.CHANGE, person=plans[one.plan])
            if name == "people" and before is None:
                right = replace(right, teams=frozenset({record.team}))
            if decide(actor, right) != "rows":
                raise ForbiddenError(_MAY_NOT)
            columns = find_columns(actor, right)
            if columns is not None and (before is None or not _find_changed(name, before, record) <= columns):
                raise ForbiddenError(_MAY_NOT)
        is_said = name == "assessments" and record.source in _SAID_BY and not actor.is_owner
        if is_said and record.assessor not in ("", actor.person, actor.name):
            raise ForbiddenError("A level is recorded by whoever saw it: nobody signs for someone else.")


def _iterate_people(change: Change) -> Iterator[str]:
    """Yield whom the records to put name."""
    for name, record in change.put:
        for field in get_reference_fields(name, "people"):
            value = getattr(record, field)
            yield from value if isinstance(value, tuple) else (value,)


def _find_changed(name: str, before: Any, after: Any) -> set[str]:
    attributes = ((column.name, column.attribute) for column in TABLES[name].columns)
    return {column for column, attribute in attributes if getattr(before, attribute) != getattr(after, attribute)}


def _reduce_conflict(error: InUseError, seen: Seen) -> InUseError:
    """Return a conflict with what uses a record, without what may not be seen; how much that is, is told."""
    keys = {table: _list_keys(seen.snapshot, table) for table in {table for table, _ in error.users}}
    users = [(table, key) for table, key in error.users if key in keys[table]]
    return InUseError(error.sentence, error.record, users, len(error.users) - len(users))


def _list_keys(snapshot: Snapshot, table: str) -> frozenset[str]:
    keys = snapshot.get_all(table)
    return frozenset("~".join(map(str, key)) for key in keys) | frozenset(str(key[0]) for key in keys)


def _reduce_findings(error: FindingsError, seen: Seen) -> FindingsError:
    """Return findings with "someone" for whom may not be seen."""
    findings = [replace(one, reason=reduce_text(one.reason, seen.unseen)) for one in error.findings]
    return FindingsError(error.detail, findings, **error.context)


#: What records are read from and changed in: a live graph or a draft of it, or one behind what an actor may see.
RecordGraph: TypeAlias = "LiveGraph | DraftGraph | SeenGraph"
