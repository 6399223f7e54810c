"""What an architect looks at first: what the company loses, what falls due by team, what to mend in the framework."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names, count
from api.desk.plain_cells import say_day
from api.desk.sheet import State
from api.pages.addresses import build_address, build_record_address
from api.pages.framework import count_framework, tell_to_mend
from api.pages.mending import list_to_mend
from api.pages.page import Link
from api.pages.today_lists import TodayList, TodayRow, TodaySection, build_list, wait_for
from api.questions._words import show_state
from api.questions.company.findings import name_record
from api.questions.team._cover import list_shifts
from ontology.analysis.cover.coverage import CoverageResult
from ontology.analysis.obligations.company_dues import CompanyObligations
from ontology.checks.broken_rules import BrokenRules
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import Draft

__all__ = ["LOOKED_AHEAD", "build_framework_section", "list_lost_certificates"]

#: How far ahead it is looked whether a team loses a certificate altogether.
LOOKED_AHEAD: Final = dt.timedelta(days=90)
_TO_MEND: Final = "/to-mend"
_DUES: Final = "/company-obligations"
_DRAFTS: Final = "/drafts"
_DUE: Final = "Due"
_NOTHING_DUE: Final = "Nothing is overdue and nothing falls due within 90 days."
_UNBROKEN: Final = "Nothing breaks a rule, and no team is about to lose a certificate altogether."
_NO_RULE_BROKEN: Final = "Nothing breaks a rule."
_ERROR: Final = State("short", "error", "nothing that breaks this rule would be stored today")


def build_framework_section(
    snapshot: Snapshot,
    covers: Sequence[tuple[Answer, Answer]],
    dues: Answer | None,
    to_mend: Answer | None,
    findings: Answer | None,
    drafts: Sequence[Draft] = (),
) -> TodaySection:
    """Return the section of the framework.

    Parameters
    ----------
    covers : sequence of pairs of Answer
        The cover of each team on the day, and as long after it as `LOOKED_AHEAD` says.
    dues : Answer or None
        What must be held in the company, counted by team; None where who looks may not ask it.
    to_mend : Answer or None
        What is to mend in the framework; None while that is still worked out.
    findings : Answer or None
        What breaks a rule; None where there is too much to look through for a first page.
    drafts : sequence of Draft
        Those that are open.
    """
    names = Names(snapshot)
    lost = [row for now, then in covers for row in list_lost_certificates(now, then)]
    broken = [*_iterate_errors(findings, names), *lost]
    of_teams = [] if dues is None else _iterate_dues(dues.result, names)
    due_rows = [*map(_tell_draft, drafts), *of_teams]
    due = [build_list(_DUE, due_rows, _NOTHING_DUE, _DRAFTS if dues is None else _DUES)] if drafts or dues else []
    return TodaySection(
        way="framework",
        heading="Framework",
        lead=_tell(snapshot, len(lost), to_mend),
        lists=(
            build_list(
                "Broken now",
                broken,
                _UNBROKEN if covers else _NO_RULE_BROKEN,
                "/findings" if len(broken) > len(lost) else _DUES,
            ),
            *due,
            _list_mending(to_mend),
        ),
        acts=(
            Link("Load tables", "/loads/new"),
            Link("Add a competency", "/new/competencies"),
            Link("Add a role", "/new/roles"),
        ),
        cautions=tuple(line for one in (dues, to_mend) if one is not None for line in one.enquiry.question.cautions),
    )


def _tell(snapshot: Snapshot, n_lost: int, to_mend: Answer | None) -> str:
    counts = {table: len(getattr(snapshot, table)) for table in ("competencies", "roles", "courses")}
    told = f"{count_framework(counts)}."
    if to_mend is not None:
        told += f" {tell_to_mend(to_mend.result.rows_total)}"
    lost = f"{count(n_lost, 'certificate is', 'certificates are')} about to be lost by everyone of a team."
    return f"{told} {lost}" if n_lost else told


def _iterate_errors(findings: Answer | None, names: Names) -> Iterator[TodayRow]:
    """Yield what breaks a rule so that nothing like it would be stored today."""
    result: BrokenRules | None = findings.result if findings is not None else None
    for row in result.findings if result is not None else ():
        if row.severity == "error":
            act = Link("See the record", build_record_address(row.table, row.id))
            yield TodayRow(name_record(names, row), row.reason, row.table.replace("_", " "), _ERROR, act=act)


def list_lost_certificates(now: Answer, then: Answer) -> list[TodayRow]:
    """Return the certificates that someone of a team holds on a day, and nobody who holds one still does later."""
    before, after, names = now.result, then.result, now.names
    competencies = now.enquiry.state.snapshot.competencies
    rows = []
    for competency_id in dict.fromkeys(need.competency for need in before.needs):
        if not competencies[competency_id].is_certificate:
            continue
        holders = _list_holders(before, competency_id)
        if holders and not holders & _list_holders(after, competency_id):
            rows.append(
                TodayRow(
                    names.competency(competency_id),
                    f"All {count(len(holders), 'holder')} of {names.team(before.team)} lose it by {after.on}."
                    if len(holders) > 1
                    else f"The one holder of {names.team(before.team)} loses it by {after.on}.",
                    names.team(before.team),
                    show_state("within-90"),
                    act=Link("See what must be held", build_address("teams", before.team, "obligations")),
                )
            )
    return rows


def _list_holders(result: CoverageResult, competency_id: str) -> set[str]:
    """Return who of a team is qualified for one of its needs of a competency."""
    needs = [need for need in result.needs if need.competency == competency_id]
    rows = [row for need in needs for row in list_shifts(need)]
    return {person for row in rows for person in row.qualified}


def _iterate_dues(result: CompanyObligations, names: Names) -> Iterator[TodayRow]:
    """Yield what is overdue or due by team in figures, the most overdue first."""
    for row in sorted(result.teams, key=lambda row: (-row.overdue, -row.within_30, row.team or "")):
        ahead = row.within_30 + row.within_60 + row.within_90
        if row.team is not None and (row.overdue or ahead):
            yield TodayRow(
                names.team(row.team),
                f"{row.overdue or 'Nothing'} overdue, {row.within_30} due within 30 days, {ahead} within 90 days.",
                act=Link("See what must be held", build_address("teams", row.team, "obligations")),
            )


def _tell_draft(draft: Draft) -> TodayRow:
    told = f"Open since {say_day(draft.made_on.date())}, {count(draft.number, 'edit')}; nobody else sees it yet."
    return TodayRow(draft.title, told, "draft", act=Link("See the draft", build_record_address("drafts", draft.id)))


def _list_mending(to_mend: Answer | None) -> TodayList:
    if to_mend is None:
        return wait_for("To mend", _TO_MEND)
    rows = [TodayRow(row.where, row.why, row.rule, act=row.act) for row in list_to_mend(to_mend)]
    shown = build_list("To mend", rows, "Nothing is to mend.", _TO_MEND)
    left = to_mend.result.rows_total - len(shown.rows)
    return replace(shown, more=Link(f"{left:,} more", _TO_MEND) if left else None)
