"""What is to mend, as the answer tells it: rows with what one does about each; findings of checks among them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final, Literal

from api.desk.names import Names
from api.questions.company.findings import name_record
from api.questions.framework._to_mend_acts import find_mend
from ontology.analysis.health.faults import Fault
from ontology.analysis.health.to_mend import FINDINGS, RULE_NAMES, ToMend, WeighedFault
from ontology.checks.broken_rules import RuleFinding
from ontology.model.identity import PeopleCount
from ontology.model.tables import PERSONAL_TABLES

#: A number of people in a sentence, with its verb.
_COUNTED: Final = re.compile(r"\b(\d[\d,]*) (person|people)\b( was\b| is\b| has\b| holds\b)?")
_PLURALS: Final = {" was": " were", " is": " are", " has": " have", " holds": " hold"}
#: Stands in the answer for the record of a row that tells of several.
_SEVERAL: Final = None


@dataclass(frozen=True, slots=True)
class MendAct:
    """What one does about it."""

    words: Annotated[str, "What to do."]
    address: Annotated[str, "The page where it is done."]


@dataclass(frozen=True, slots=True)
class MendEffect:
    """How much rests on the record."""

    people: Annotated[
        PeopleCount | None,
        "People employed on the day whose present role, or a need or place of whose team, rests on the record (of a "
        "pair: on either); null where they are too few to be told.",
    ]
    rows: Annotated[int, "Rows of the framework, of offers and of teams that name it."]


@dataclass(frozen=True, slots=True)
class MendRow:
    """One thing to mend."""

    rule: Annotated[str, "The rule; of a finding its own name."]
    severity: Annotated[Literal["error", "remark"], "error: nothing like it would be stored today; else remark."]
    table: Annotated[str, "The table of the record."]
    id: Annotated[str | None, "Its id, the parts of a key joined by ~; null where several are meant and none is named."]
    other: Annotated[str | None, "The second record of a pair; null where it is about one."]
    label: Annotated[str, "What it is called."]
    reason: Annotated[str, "Why, in a sentence."]
    mend: Annotated[MendAct, "What to do."]
    effect: Annotated[MendEffect, "How much rests on it."]


@dataclass(frozen=True, slots=True)
class MendRule:
    """How often a rule speaks."""

    rule: Annotated[str, "The rule."]
    severity: Annotated[Literal["error", "remark"], "How grave it is."]
    rows: Annotated[int, "Its rows."]


@dataclass(frozen=True, slots=True)
class ToMendResult:
    """What is to mend: errors first, then what most people rest on, then what most rows name."""

    on: Annotated[date, "The day on which people, roles and levels are taken."]
    rows_total: Annotated[int, "How much is to mend."]
    error_count: Annotated[int, "How much of it is an error."]
    rules: Annotated[tuple[MendRule, ...], "The rules that speak, the first to be met with first."]
    rows: Annotated[tuple[MendRow, ...], "What is to mend, up to the limit asked for."]


def gather_findings(findings: Iterable[RuleFinding], names: Names, least: int) -> Iterator[Fault]:
    """Yield findings as faults; those on records about people are counted, and none is named."""
    about_people: Counter[tuple[str, str, Literal["error", "remark"]]] = Counter()
    for one in findings:
        if one.table in PERSONAL_TABLES:
            about_people[one.rule, one.table, one.severity] += 1
        else:
            told = hide_few_in(one.reason, least).removesuffix(".")
            reason = f"{told[:1].upper()}{told[1:]}."
            yield Fault(one.rule, one.table, one.id, name_record(names, one), reason, severity=one.severity)
    for (rule, table, severity), n in about_people.items():
        words = table.replace("_", " ")
        told = f"{n:,}" if n >= least else f"Under {least}"
        reason = f"{told} findings on {words}; the list of findings says on which, to who may see them."
        yield Fault(rule, table, _SEVERAL, words.capitalize(), reason, severity=severity)


def hide_few_in(sentence: str, least: int) -> str:
    """Return a sentence in which no number of people is below the least.

    Examples
    --------
    >>> hide_few_in("though 1 person was assessed in it", 5), hide_few_in("12 people hold it", 5)
    ('though under 5 people were assessed in it', '12 people hold it')
    """

    def hide(found: re.Match[str]) -> str:
        if int(found[1].replace(",", "")) >= least:
            return found[0]
        return f"under {least} people{_PLURALS.get(found[3] or '', found[3] or '')}"

    return _COUNTED.sub(hide, sentence)


def build_result(on: date, found: ToMend, table: str, rules: Collection[str], limit: int) -> ToMendResult:
    """Return the answer: rows of a table and of some rules, none given: of all, at most `limit` of them."""
    kept = [one for one in found.rows if table in ("", one.fault.table) and _is_asked(one.fault, rules)]
    counts = Counter((one.fault.rule, one.fault.severity) for one in kept)
    return ToMendResult(
        on=on,
        rows_total=len(kept),
        error_count=sum(one.fault.severity == "error" for one in kept),
        rules=tuple(MendRule(rule, severity, n) for (rule, severity), n in counts.items()),
        rows=tuple(map(_build_row, kept[:limit])),
    )


def _is_asked(fault: Fault, rules: Collection[str]) -> bool:
    return not rules or fault.rule in rules or (FINDINGS in rules and fault.rule not in RULE_NAMES)


def _build_row(one: WeighedFault) -> MendRow:
    fault = one.fault
    return MendRow(
        rule=fault.rule,
        severity=fault.severity,
        table=fault.table,
        id=fault.id,
        other=fault.other,
        label=fault.label,
        reason=fault.reason,
        mend=MendAct(*find_mend(fault)),
        effect=MendEffect(one.people, one.rows),
    )
