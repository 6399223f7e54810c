"""Drafts as they are told: what each changes, row by row and counted, and what stands against publishing it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Any

from api.access.actor import Actor
from api.access.check import decide
from api.access.reduce import reduce_text
from api.access.rights import Kind, Right, Verb
from api.desk.change_words import HistoryWords, dump_row
from api.desk.history import count_commits, read_one_commit
from api.desk.record_words import make_namer
from api.desk.states import State
from api.json_text import to_json
from ontology.errors import DraftConflictsError, Finding, FindingsError, NewelError
from ontology.history.rows import TableCount, build_rows, count_rows
from ontology.model.changes import Row
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # these bring the store and an RDF library
    from ontology.live.draft_state import Conflict
    from ontology.live.live_graph import LiveGraph
    from ontology.store.drafts import Draft
    from ontology.store.releases import Release


@dataclass(frozen=True, slots=True)
class ToldDraft:
    """A draft as JSON has it."""

    id: Annotated[str, "The id."]
    title: Annotated[str, "What it is called."]
    author: Annotated[str, "Who began it."]
    made_on: Annotated[str, "When, as 2026-11-24T10:00:00Z."]
    base: Annotated[int, "The revision it was made for, or brought to."]
    number: Annotated[int, "Raised by each edit of it."]
    state: Annotated[str, "open, published or withdrawn."]
    undo_of: Annotated[int | None, "The revision whose change it takes back; null where it takes none back."]
    revision: Annotated[int | None, "The revision that publishing it made; null until then."]
    counts: Annotated[tuple[TableCount, ...], "Records that it adds, removes and changes, by table."]
    errors: Annotated[int, "Errors that the state it leads to would have: with one it cannot be published."]
    remarks: Annotated[int, "Remarks on that state."]
    conflicts: Annotated[int, "What it and others changed differently, and nobody has decided."]

    @property
    def is_open(self) -> bool:
        """Whether it can be edited and published."""
        return self.state == "open"


@dataclass(frozen=True, slots=True)
class DraftView:
    """A draft with all that is told of it; `names` holds the names of whatever its rows and conflicts speak of.

    `after` is the state it leads to; None of a published one, whose change stands in the history.
    """

    told: ToldDraft
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]
    conflicts: tuple[Conflict, ...]
    names: Snapshot
    after: Snapshot | None


def may_draft(actor: Actor) -> bool:
    """Whether someone may work with drafts: to all others each is an unknown one."""
    return decide(actor, Right(Kind.FRAMEWORK, Verb.CHANGE)) == "rows"


def list_drafts(graph: LiveGraph, state: State) -> list[ToldDraft]:
    """Return all drafts as they are told: open ones first, then by id."""
    order = {"open": 0, "withdrawn": 1, "published": 2}
    told = [_read(graph, state, draft).told for draft in graph.drafts.list_all()]
    return sorted(told, key=lambda one: (order[one.state], one.id))


def read_draft(graph: LiveGraph, state: State, draft_id: str) -> DraftView:
    """Return a draft with its rows, findings and conflicts; UnknownIdError where there is none.

    `state` is the present one, as who asks sees it.
    """
    return _read(graph, state, graph.drafts.get(draft_id))


def _read(graph: LiveGraph, state: State, draft: Draft) -> DraftView:
    if draft.state == "published" and draft.revision is not None:
        one = read_one_commit(graph, state, draft.revision)
        counted = count_commits(graph, [one.told.commit]).get(draft.revision)
        counts = counted.tables if counted is not None else ()
        return DraftView(_tell(draft, counts), one.rows, (), (), one.names, None)
    found = graph.drafts.get_state(draft.id)
    present, after = found.ground.present, found.snapshot
    added, removed = sorted(found.net.added), sorted(found.net.removed)
    rows: tuple[Row, ...] = after.keep(
        ("rows of a draft", draft.id, draft.number), lambda: tuple(build_rows(present, added, removed))
    )
    findings = graph.drafts.find_findings(draft.id) if draft.state == "open" else ()
    told_findings = hide_people(findings, state)
    gone = [(row.table, row.before) for row in rows if row.change == "removed" and TABLES[row.table].id_field]
    names = after.with_changes(put=gone) if gone else after
    told = _tell(draft, count_rows(added, removed).tables, findings, len(found.conflicts))
    return DraftView(told, rows, tuple(told_findings), found.conflicts, names, after)


def tell_refusal(error: NewelError, state: State) -> None:
    """Write into an error of a draft what is told of it: conflicts as JSON has them, findings without the unseen."""
    for one in error.list_all():
        if isinstance(one, DraftConflictsError):
            one.context["conflicts"] = [dump_conflict(state.get_whole(), conflict) for conflict in one.conflicts]
        if isinstance(one, FindingsError):
            one.findings = tuple(hide_people(one.findings, state))


def hide_people(findings: Sequence[Finding], state: State) -> list[Finding]:
    """Return findings as who asks sees them: "someone" for whom may not be seen."""
    return list(findings) if state.sight is None else [_hide(one, state.unseen) for one in findings]


def _hide(finding: Finding, unseen: frozenset[str]) -> Finding:
    reason = reduce_text(finding.reason, unseen)
    if not (finding.about and finding.about[0] in PERSONAL_TABLES):
        return replace(finding, reason=reason)
    return replace(finding, reason=reason, value="", row=0, about=())


def _tell(
    draft: Draft, counts: Sequence[TableCount], findings: Sequence[Finding] = (), n_conflicts: int = 0
) -> ToldDraft:
    n_errors = sum(one.severity == "error" for one in findings)
    return ToldDraft(
        id=draft.id,
        title=draft.title,
        author=draft.author,
        made_on=draft.made_on.strftime("%Y-%m-%dT%H:%M:%SZ"),
        base=draft.base,
        number=draft.number,
        state=draft.state,
        undo_of=draft.undo_of,
        revision=draft.revision,
        counts=tuple(counts),
        errors=n_errors,
        remarks=len(findings) - n_errors,
        conflicts=n_conflicts,
    )


def dump_changes(view: DraftView, rows: Sequence[Row]) -> list[dict[str, Any]]:
    """Return some rows of a draft as JSON has them, each in words."""
    words = HistoryWords(view.names)
    return [dump_row(row, words) | {"words": words.tell(row)} for row in rows]


def tell_conflict_name(names: Snapshot, conflict: Conflict) -> str:
    """Return what the record of a conflict is called."""
    if not conflict.table:
        return str(conflict.key[0])
    if conflict.table == "scales":
        return f"Level {conflict.record.rank} of {conflict.record.scale}"
    return make_namer(names, TABLES[conflict.table])(conflict.record)


def dump_conflict(names: Snapshot, conflict: Conflict) -> dict[str, Any]:
    """Return a conflict as JSON has it: three values, or three whole records where `column` is null."""
    return {
        "table": conflict.table,
        "id": conflict.id,
        "label": tell_conflict_name(names, conflict),
        "column": conflict.column,
        "base": _dump_value(conflict, conflict.base),
        "draft": _dump_value(conflict, conflict.draft),
        "published": _dump_value(conflict, conflict.published),
        "revision": conflict.revision,
        "who": conflict.who,
        "when": conflict.when.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "why": conflict.why,
    }


def _dump_value(conflict: Conflict, value: Any) -> Any:
    if conflict.column is not None or value is None:
        return to_json(value)
    return {column.name: to_json(getattr(value, column.attribute)) for column in TABLES[conflict.table].columns}


def dump_release(release: Release, *, has_drafts: bool = True) -> dict[str, Any]:
    """Return a release as JSON has it; the draft it was is told to who may know of drafts."""
    return {
        "version": release.version,
        "revision": release.revision,
        "date": release.issued.isoformat(),
        "author": release.author,
        "reason": release.why,
        "from_draft": (release.from_draft or None) if has_drafts else None,
    }
