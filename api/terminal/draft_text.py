"""Drafts and releases as commands print them and change them; as text or as JSON."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from api.desk.change_words import HistoryWords
from api.desk.desk import Desk
from api.desk.drafts import DraftView, dump_changes, dump_conflict, dump_release, list_drafts, read_draft, tell_refusal
from api.desk.retiring import retire, write_replacements
from api.desk.scale_changes import ScaleChange, change_scale, name_levels, read_ranks
from api.desk.sheet import Column, Fact, Sheet, Table
from api.errors import build_finding
from api.json_text import print_json
from api.pages.draft_tables import build_changes, build_conflict, build_drafts, build_findings, list_facts
from api.pages.draft_words import tell_draft, tell_drafts, tell_obstacles, tell_releases
from api.reason_text import require_reason
from api.terminal.call import Call
from api.terminal.who import get_who
from ontology.errors import InputError, NewelError
from ontology.live.draft_state import Conflict
from ontology.store.releases import Release

#: What is printed, and what --json prints.
Told = tuple[Sheet, Any]


def answer_draft(desk: Desk, call: Call) -> bytes:
    """Return what a command about drafts prints, after it has done what it is for.

    Raises
    ------
    NewelError
        There is no such draft, it cannot be done with it, or something that was said is wrong.
    """
    act = _ACTS.get(call.act)
    if act is None:
        raise InputError(f"Nothing is known of drafts by {call.act!r}.")
    sheet, told = act(desk, call)
    if call.form == "json":
        return f"{print_json(told)}\n".encode()
    from api.terminal.sheet_text import print_sheet  # brings rich

    return print_sheet(sheet, desk.graph.get_snapshot().revision, call)


def _list(desk: Desk, call: Call) -> Told:
    drafts = list_drafts(desk.graph, desk.get_state())
    return Sheet("Drafts", tell_drafts(drafts), parts=(build_drafts(drafts),)), drafts


def _start(desk: Desk, call: Call) -> Told:
    asked = dict(call.asked)
    desk.graph.drafts.start(call.subject, asked.pop("title"), who=get_who(), **asked)
    return _show(desk, call)


def _show(desk: Desk, call: Call) -> Told:
    view = _read(desk, call)
    facts = tuple(Fact(name, cell) for name, cell in list_facts(view.told))
    parts = (build_changes(view, view.rows, HistoryWords(view.names)),)
    return _build(view, parts, facts), view.told


def _changes(desk: Desk, call: Call) -> Told:
    view = _read(desk, call)
    told = _head(view) | {"rows": dump_changes(view, view.rows), "rows_total": len(view.rows)}
    return _build(view, (build_changes(view, view.rows, HistoryWords(view.names)),)), told


def _findings(desk: Desk, call: Call) -> Told:
    view = _read(desk, call)
    findings = [{"severity": one.severity} | build_finding(one) for one in view.findings]
    return _build(view, (build_findings(view.findings),)), _head(view) | {"findings": findings}


def _conflicts(desk: Desk, call: Call) -> Told:
    view = _read(desk, call)
    names = ("Record", "Column", "Id", "Where it began", "In the draft", "Published", "By whom")
    found = [(one, build_conflict(view.names, one)) for one in view.conflicts]
    rows = tuple(
        (row.about, row.column, _name_conflict(one), row.base, row.draft, row.published, row.last) for one, row in found
    )
    table = Table("Conflicts to decide", tuple(map(Column, names)), rows, "None: nothing is in conflict.")
    told = [dump_conflict(view.names, one) for one in view.conflicts]
    return _build(view, (table,)), _head(view) | {"conflicts": told}


def _name_conflict(one: Conflict) -> str:
    """Return how --take names a conflict."""
    return f"{one.table}/{one.id}" + (f"#{one.column}" if one.column else "")


def _rebase(desk: Desk, call: Call) -> Told:
    everywhere, one_by_one = call.asked.get("all"), call.asked.get("take", "")
    take: Any = everywhere or dict(_read_take(text) for text in one_by_one.split("\n") if text)
    desk.graph.drafts.rebase(call.subject, take, who=get_who())
    return _conflicts(desk, call)


def _read_take(text: str) -> tuple[tuple[str, str, str | None], str]:
    what, _, side = text.rpartition("=")
    table, _, record = what.partition("/")
    record_id, _, column = record.partition("#")
    if side not in ("draft", "published") or not record_id:
        raise InputError(
            f"{text!r} must be TABLE/ID#COLUMN=draft or =published; without #COLUMN the whole record.",
            parameter="take",
            value=text,
        )
    return (table.replace("-", "_"), record_id, column or None), side


def _turn(name: str) -> Callable[[Desk, Call], Told]:
    def turn(desk: Desk, call: Call) -> Told:
        getattr(desk.graph.drafts, name)(call.subject, who=get_who())
        return _show(desk, call)

    return turn


def _delete(desk: Desk, call: Call) -> Told:
    title = desk.graph.drafts.get(call.subject).title
    desk.graph.drafts.delete(call.subject)
    return Sheet("Drafts", f"Draft {title} is deleted."), {"deleted": call.subject}


def _publish(desk: Desk, call: Call) -> Told:
    # brings the checks
    from ontology.live.publishing import publish_draft

    title, (named, faults) = desk.graph.drafts.get(call.subject).title, _read_release(call.asked)
    try:
        release = publish_draft(desk.graph, call.subject, who=get_who(), faults=faults, **named)
    except NewelError as error:
        tell_refusal(error, desk.get_state())
        raise
    lead = f"Draft {title} is published as release {release.version}, revision {release.revision}."
    return _build_releases((release,), lead), dump_release(release)


def _release(desk: Desk, call: Call) -> Told:
    named, faults = _read_release(call.asked)
    release = desk.graph.releases.name_present(who=get_who(), faults=faults, **named)
    lead = f"Revision {release.revision} is now called {release.version}."
    return _build_releases((release,), lead), dump_release(release)


def _releases(desk: Desk, call: Call) -> Told:
    releases = desk.graph.releases.list_all()
    return _build_releases(releases, tell_releases(releases)), [dump_release(one) for one in releases]


def _read_release(asked: Mapping[str, str]) -> tuple[dict[str, Any], dict[str, NewelError]]:
    """Return what is said of a release, and what is wrong with it already, by parameter."""
    reason, faults = asked.get("reason", "").strip(), dict[str, NewelError]()
    try:
        require_reason(reason)
    except InputError as error:
        faults["reason"] = error
    issued = None
    try:
        issued = dt.date.fromisoformat(asked["date"]) if asked.get("date") else None
    except ValueError:
        told = "The date must be a day like 2026-11-24."
        faults["date"] = InputError(told, parameter="date", value=asked["date"])
    named = {"version": asked["version"], "reason": reason, "author": asked.get("author", ""), "issued": issued}
    return named, faults


def _read_reason(asked: Mapping[str, str]) -> str:
    return require_reason(asked.get("reason", "").strip(), may_be_empty=True)


def _build_releases(releases: Sequence[Release], lead: str) -> Sheet:
    columns = tuple(map(Column, ("Release", "Day", "Revision", "By whom", "Why", "Draft")))
    rows = tuple(
        (one.version, one.issued, one.revision, one.author, one.why, one.from_draft or "–") for one in releases
    )
    return Sheet("Releases", lead, parts=(Table("", columns, rows, "There are none yet."),))


def _read(desk: Desk, call: Call) -> DraftView:
    return read_draft(desk.graph, desk.get_state(), call.subject)


def _head(view: DraftView) -> dict[str, Any]:
    return {"draft": view.told.id, "number": view.told.number}


def _build(view: DraftView, parts: tuple[Table, ...], facts: tuple[Fact, ...] = ()) -> Sheet:
    lead = " ".join(filter(None, (tell_draft(view.told), tell_obstacles(view.told))))
    return Sheet(view.told.title, lead, facts=facts, parts=parts)


def _retire(desk: Desk, call: Call) -> Told:
    from ontology.live.retiring import Taker  # brings the store

    asked = call.asked
    pairs = (text.partition(":") for text in asked.get("by", "").split("\n") if text)
    takers = [Taker(one, carry) for one, _, carry in pairs]
    retire(desk.graph, call.subject, asked["table"], asked["id"], takers, _read_reason(asked), who=get_who())
    return _show(desk, call)


def _change_scale(desk: Desk, call: Call) -> Told:
    asked, reason = call.asked, _read_reason(call.asked)
    snapshot = desk.get_state().snapshot
    labels = [text.strip() for text in asked.get("levels", "").split("\n") if text.strip()]
    change = ScaleChange(
        scale=asked["scale"],
        competency=asked.get("competency", ""),
        levels=name_levels(snapshot, asked["scale"], labels),
        ranks=read_ranks(asked["ranks"]) if asked.get("ranks") else None,
        reason=reason,
    )
    change_scale(desk.graph, snapshot, call.subject, change, who=get_who())
    return _show(desk, call)


def _replace(desk: Desk, call: Call) -> Told:
    left_out = frozenset(call.asked.get("except", "").split("\n"))
    write_replacements(desk.graph, call.subject, call.asked["match"], left_out, who=get_who())
    return _show(desk, call)


_ACTS: Final[Mapping[str, Callable[[Desk, Call], Told]]] = {
    "list": _list,
    "start": _start,
    "show": _show,
    "changes": _changes,
    "findings": _findings,
    "conflicts": _conflicts,
    "rebase": _rebase,
    "withdraw": _turn("withdraw"),
    "open": _turn("open"),
    "delete": _delete,
    "retire": _retire,
    "scale": _change_scale,
    "replacements": _replace,
    "publish": _publish,
    "release": _release,
    "releases": _releases,
}
