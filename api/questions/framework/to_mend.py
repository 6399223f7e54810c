"""What is to mend in the framework: what breaks a rule, misleads, or leads nowhere, by how many it touches."""

from __future__ import annotations

import sys
from collections import OrderedDict
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from api.access.rights import Kind
from api.desk.kinds import WordsText
from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import COMPANY, FileForm, Question, Subject
from api.errors import ParameterError, WrongParameter
from api.questions._asks import AskOnDay
from api.questions.framework._to_mend_record import ToMendResult, build_result, gather_findings
from api.questions.framework._to_mend_sheet import build_mend_book, build_mend_sheet
from ontology.analysis.health.faults import (
    FEWEST_REQUIREMENTS,
    LABELS_ALIKE,
    LEVELS_ALIKE,
    MOST_REQUIREMENTS,
    Limits,
)
from ontology.analysis.health.to_mend import FINDINGS, RULE_NAMES, ToMend, list_to_mend
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
#: Lists kept with a state.
_KEPT: Final = 2


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

    @property
    def narrowed(self) -> str:
        """Of which rules or table it is asked, in words; "": of all."""
        return ", ".join(filter(None, (self.rule, self.table_name.replace("_", " "))))

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
    found = _find_all(snapshot, asked, limits)
    return build_result(asked.on, found, asked.table_name, asked.rules, asked.limit)


def _find_all(snapshot: Snapshot, asked: AskToMend, limits: Limits) -> ToMend:
    """Return all that is to mend; the last lists are kept with the state, so that narrowing one takes no time."""
    kept: OrderedDict[Any, ToMend] = snapshot.keep("lists of what is to mend", OrderedDict)
    key = (asked.on, limits, asked.words)
    found = kept.get(key)
    if found is None:
        broken = find_broken_rules(snapshot, asked.on, limit=sys.maxsize).findings
        findings = gather_findings(broken, Names(snapshot), limits.least_people)
        lists = parse_word_lists(asked.words) if asked.words else get_own_lists()
        found = kept[key] = list_to_mend(snapshot, asked.on, findings, limits=limits, words=lists)
        while len(kept) > _KEPT:
            kept.popitem(last=False)
    return found


QUESTION = Question(
    asks={COMPANY: AskToMend},
    answers=ToMendResult,
    compute=compute,
    cautions=(_LOOK, _PEOPLE),
    needs=Kind.REVIEW,
    is_in_main=True,
    show=lambda result, company, asked, names: build_mend_sheet(result, names, asked.least_people, asked.narrowed),
    is_slow=True,
    files={
        "xlsx": FileForm(
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            lambda answer: build_mend_book(
                answer.result, answer.names, answer.enquiry.asked.least_people, answer.cautions
            ),
        )
    },
)
