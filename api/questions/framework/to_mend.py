"""What is to mend in the framework: what breaks a rule, misleads, or leads nowhere, by how many it touches."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from functools import cache
from typing import Any, Final
from urllib.parse import urlencode

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.kinds import WordsText
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import COMPANY, Question, Subject, read_title
from api.desk.sheet import ActLink, Cell, Next, Quantity, Ref, Refs, Sheet
from api.errors import ParameterError, WrongParameter
from api.questions._asks import AskOnDay
from api.questions.framework._to_mend_record import MendRow, ToMendResult, build_result, gather_findings
from ontology.analysis.health.faults import (
    FEWEST_REQUIREMENTS,
    LABELS_ALIKE,
    LEVELS_ALIKE,
    MOST_REQUIREMENTS,
    Limits,
)
from ontology.analysis.health.to_mend import FINDINGS, RULE_NAMES, list_to_mend
from ontology.analysis.health.word_lists import get_own_lists, parse_word_lists
from ontology.checks.broken_rules import find_broken_rules
from ontology.checks.framework import list_rule_names
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

_LOOK: Final = (
    "This shows where to look. Labels that are alike may mean different things, a level that all hold may be the right "
    "one, and what nothing here asks for may be asked for by law: look before anything is merged, lowered or retired."
)
_PEOPLE: Final = (
    "People are counted, never named, and few are not told; this judges the framework and nobody in it. Whether a "
    "competency that can hurt someone is described and asked for rightly, those who know the work must say."
)
#: Rows on a sheet; all stand in the JSON and the workbook.
_SHOWN: Final = 100


@dataclass(frozen=True, kw_only=True)
class AskToMend(AskOnDay):
    """On which day, which rules and tables, from where on something is told."""

    rule: str = param("Only these rules, separated by commas; findings: all findings.", default="")
    table: str = param("Only records of this table.", default="")
    labels_alike: int = param(
        "From where on two labels are nearly the same, 100 being the same words.", default=LABELS_ALIKE, minimum=70,
        maximum=100,
    )  # fmt: skip
    levels_alike: int = param(
        "From where on two levels are described alike, 100 being the same words.", default=LEVELS_ALIKE, minimum=50,
        maximum=100,
    )  # fmt: skip
    fewest: int = param(
        "A role asks for at least so many competencies.", default=FEWEST_REQUIREMENTS, minimum=0, maximum=1000
    )
    most: int = param(
        "A role asks for at most so many competencies.", default=MOST_REQUIREMENTS, minimum=1, maximum=1000
    )
    least_people: int | None = param(
        "The fewest people of whom a figure is told, and holders of a role by whom a requirement is judged (default, "
        "and at least, what the settings say: 5).",
        default=None,
        minimum=1,
        maximum=1000,
        unit="people",
    )
    words: WordsText = param(
        "Word lists in place of ours, like vague.en: aware*, good; acts.en: name*, sets.", default=""
    )
    limit: int = param("Most rows told; all are counted.", default=1_000, minimum=1, maximum=1_000_000)

    @property
    def rules(self) -> frozenset[str]:
        """The rules that are asked; none: all."""
        return frozenset(filter(None, (part.strip() for part in self.rule.split(","))))

    @property
    def table_name(self) -> str:
        """The table that is asked; "": all."""
        return self.table.replace("-", "_")

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where there is no such rule or table, or no number lies between two limits."""
        wrong = []
        if self.rules - _list_names():
            known = ", ".join((FINDINGS, *sorted(RULE_NAMES)))
            wrong.append(WrongParameter("rule", self.rule, f"must be one of {known}, or the name of a finding"))
        if self.table and self.table_name not in TABLES:
            wrong.append(WrongParameter("table", self.table, f"must be one of {', '.join(TABLES)}"))
        if self.fewest > self.most:
            wrong.append(WrongParameter("fewest", str(self.fewest), f"must be at most {self.most}, what most says"))
        if wrong:
            raise ParameterError(*wrong)


@cache
def _list_names() -> frozenset[str]:
    return RULE_NAMES | {FINDINGS} | list_rule_names()


def compute(snapshot: Snapshot, company: Subject, asked: AskToMend) -> ToMendResult:
    """Return what is to mend."""
    assert asked.least_people is not None
    limits = Limits(
        labels_alike=asked.labels_alike,
        levels_alike=asked.levels_alike,
        fewest_requirements=asked.fewest,
        most_requirements=asked.most,
        least_people=asked.least_people,
    )
    broken = find_broken_rules(snapshot, asked.on, limit=sys.maxsize).findings
    findings = gather_findings(broken, Names(snapshot), limits.least_people)
    lists = parse_word_lists(asked.words) if asked.words else get_own_lists()
    found = list_to_mend(snapshot, asked.on, findings, limits=limits, words=lists, rules=asked.rules)
    return build_result(asked.on, found, asked.table_name, asked.rules, asked.limit)


def show(result: ToMendResult, company: Subject, asked: AskToMend, names: Names) -> Sheet:
    """Return what is to mend, each with what to do, and how often each rule speaks."""
    shown = result.rows[:_SHOWN]
    left = result.rows_total - len(shown)
    return Sheet(
        title=f"What is to mend, {result.on}",
        lead=tell(result),
        parts=(
            build_table(
                "To mend, what touches most people first",
                shown,
                (
                    words("what", lambda row: row.rule),
                    words("where", lambda row: name_record(row, names)),
                    words("why it matters", lambda row: row.reason),
                    words("people", lambda row: _tell_people(row, asked), is_number=True),
                    words("rows", lambda row: Quantity(row.effect.rows), is_number=True),
                    words("what to do", lambda row: ActLink(row.mend.words, row.mend.address)),
                ),
                "Nothing is to mend.",
                _tell_columns(left) if shown else "",
            ),
            *([_count_rules(result)] if result.rules else []),
        ),
        next=(
            Next("What breaks a rule", "findings", "", {}),
            Next("What stands out in the framework", "framework-review", "", {}),
        ),
    )


def _tell_columns(left: int) -> str:
    """Return what the figures count, and how many rows are not shown."""
    more = f" {count(left, 'more row')}: narrow it by rule or table." if left > 0 else ""
    return f"People: whose role, or whose team's needs and places, rest on it. Rows: what names it.{more}"


def tell(result: ToMendResult) -> str:
    """Return how much is to mend."""
    if not result.rows_total:
        return "Nothing is to mend."
    things = f"{count(result.rows_total, 'thing is', 'things are')} to mend"
    if result.error_count:
        things += f", {count(result.error_count, 'of them an error', 'of them errors')}"
    first = result.rows[0]
    return f"{things}. First: {first.label}, {first.rule}."


def name_record(row: MendRow, names: Names) -> Cell:
    """Return the record of a row by its name, or both of a pair, as links; a level leads to its scale."""
    if row.id is None:
        return row.label
    if row.other is not None and row.table != "scales":
        return Refs(tuple(Ref(row.table, one, names.get(row.table, one)) for one in (row.id, row.other)))
    return Ref(row.table, row.id.partition("~")[0] if row.table == "scales" else row.id, row.label)


def _tell_people(row: MendRow, asked: AskToMend) -> Cell:
    return f"under {asked.least_people}" if row.effect.people is None else Quantity(row.effect.people)


def _count_rules(result: ToMendResult) -> Any:
    return build_table(
        "By rule",
        result.rules,
        (
            words("rule", lambda one: ActLink(one.rule, f"/to-mend?{urlencode({'rule': one.rule})}")),
            words("kind", lambda one: one.severity),
            words("how often", lambda one: Quantity(one.rows), is_number=True),
        ),
        "",
    )


QUESTION = Question(
    name="to-mend",
    title=read_title(__doc__),
    asks={COMPANY: AskToMend},
    answers=ToMendResult,
    compute=compute,
    cautions=(_LOOK, _PEOPLE),
    needs=Kind.REVIEW,
    show=show,
    is_slow=True,
)
