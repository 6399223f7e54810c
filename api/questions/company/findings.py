"""What breaks a rule now: every finding on the stored data, by table and record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_if_any, build_table, words
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import COMPANY, Question, Subject, by_names
from api.desk.sheet import Next, Part, Ref, Sheet
from api.questions._asks import AskOnDay
from ontology.checks.broken_rules import BrokenRules, RuleFinding, find_broken_rules
from ontology.model.tables import TABLES

_CAUTION: Final = (
    "A rule finds what contradicts itself or is left out, not what is untrue: whether a level, a date or a need is "
    "right, those who know the work must say."
)
#: Findings of one table on a sheet; the rest are counted.
_SHOWN: Final = 100


@dataclass(frozen=True, kw_only=True)
class AskFindings(AskOnDay):
    """As of which day, and how many are named."""

    limit: int = param("Most findings named; all are counted.", default=1_000, minimum=1, maximum=100_000)


def show(result: BrokenRules, subject: Subject, asked: AskFindings, names: Names) -> Sheet:
    """Return the findings of each table, each with its record."""
    return Sheet(
        title=f"What breaks a rule, {result.on}",
        lead=tell(result),
        parts=tuple(_iterate_parts(result, names)),
        next=(Next("What stands out in the framework", "framework-review", "", {}),),
    )


def tell(result: BrokenRules) -> str:
    """Return how much breaks a rule."""
    if not result.error_count and not result.remark_count:
        return "Nothing breaks a rule."
    parts = [count(result.error_count, "error")] if result.error_count else ["No errors"]
    parts += [count(result.remark_count, "remark")] if result.remark_count else []
    where = count(len({rule.table for rule in result.rules}), "table")
    return f"{' and '.join(parts)}, in {where}."


def _iterate_parts(result: BrokenRules, names: Names) -> Iterator[Part]:
    yield from build_if_any(
        "By rule",
        result.rules,
        (
            words("rule", lambda rule: rule.rule),
            words("kind", lambda rule: rule.severity),
            words("table", lambda rule: rule.table.replace("_", " ")),
            words("how often", lambda rule: rule.findings),
        ),
    )
    ordered = sorted(result.findings, key=lambda one: list(TABLES).index(one.table))
    for table, group in groupby(ordered, key=lambda one: one.table):
        found = list(group)
        yield build_table(
            table.replace("_", " ").capitalize(),
            found[:_SHOWN],
            (
                words("record", lambda one: Ref(one.table, one.id, name_record(names, one))),
                words("kind", lambda one: one.severity),
                words("column", lambda one: one.column.replace("_", " ") or None),
                words("what would be right", lambda one: one.reason),
            ),
            note=_tell_rest(found),
        )


def _tell_rest(found: Sequence[RuleFinding]) -> str:
    n_rest = len(found) - _SHOWN
    return f"{count(n_rest, 'more finding')} in the JSON and the workbook." if n_rest > 0 else ""


def name_record(names: Names, finding: RuleFinding) -> str:
    """Return what a record is called: its own name, or the names of what its key refers to."""
    table = TABLES[finding.table]
    columns = {column.attribute: column for column in table.columns}
    if finding.table == "scales":
        return f"scale {finding.id}"
    if table.id_field and not columns[table.id_field].refers_to:
        return names.get(finding.table, finding.id)
    parts = [
        names.get(columns[field].refers_to, part) if columns[field].refers_to else part
        for field, part in zip(table.key, finding.id.split("~"), strict=False)
    ]
    return ", ".join(filter(None, parts))


QUESTION = Question(
    asks={COMPANY: AskFindings},
    answers=BrokenRules,
    compute=by_names(find_broken_rules),
    cautions=(_CAUTION,),
    needs=Kind.REVIEW,
    is_in_main=True,
    show=show,
    is_slow=True,
)
