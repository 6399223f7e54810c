"""What changed between two states of the framework, and what may have become of what went."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Final, Literal

from api.access.rights import Kind
from api.desk.history import AskRows, add_gone
from api.desk.kinds import StateText
from api.desk.named_states import NamedState, NamedStates
from api.desk.names import Names
from api.desk.parameters import Asks, param
from api.desk.question import COMPANY, FileForm, Question, Subject
from api.desk.sheet import Sheet
from api.errors import ParameterError, WrongParameter
from api.pictures import pictures
from api.questions.framework._compare_record import Compared, CompareResult, CompareWords, build_result
from api.questions.framework._compare_sheet import build_compare_book, build_compare_sheet, tell_title
from ontology.analysis.compare.comparison import NOT_PERSONAL, Comparison, compare_states
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

_LOOK: Final = (
    "A suggestion rests on labels and on what hangs on a record, and some are wrong: look at both before you follow it."
)
_NO_PEOPLE: Final = (
    "Tables about people are not compared. What a difference does to people and teams is not said here: ask them as of "
    "both states."
)
#: Comparisons kept with the second state.
_KEPT: Final = 2


@dataclass(frozen=True, kw_only=True)
class AskStates(Asks):
    """Which two states."""

    from_state: StateText = param(
        "The first state: a revision (a number), a day, a release, now, or outside:ID, a framework of others.",
        name="from",
        is_word=True,
    )
    to_state: StateText = param("The second state.", default="now", name="to", is_word=True)
    match: Literal["ids", "known", "suggested"] = param(
        "Ids: records of one id are the same. Known: so are those that name the same concept elsewhere. Suggested: so "
        "are those that are suggested to be.",
        default="known",
    )
    table: str = param("Only rows of this table.", default="")


@dataclass(frozen=True, kw_only=True)
class AskCompare(AskRows, AskStates):
    """Which two states, by what records are the same, and which rows."""

    @property
    def table_name(self) -> str:
        """The table whose rows are asked; "" for all."""
        return self.table.replace("-", "_")

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where no such table is compared."""
        if self.table and self.table_name not in NOT_PERSONAL:
            known = ", ".join(name for name in TABLES if name in NOT_PERSONAL)
            raise ParameterError(WrongParameter("table", self.table, f"must be one of {known}"))


def compute(snapshot: Snapshot, company: Subject, asked: AskCompare, states: NamedStates) -> Compared:
    """Return how two states differ."""
    first, second = states["from_state"], states["to_state"]
    found = _compare(first, second, asked.match)
    rows = tuple(one for one in found.rows if asked.table_name in ("", one.row.table))
    before, after = first.state.snapshot, second.state.snapshot
    told = CompareWords(before, add_gone(second.state, (before,)))
    start = (asked.page - 1) * asked.page_size
    shown = rows[start : start + asked.page_size]
    record = build_result(first.told, second.told, asked.match, found, shown, len(rows), told)
    return Compared(record, rows, told, before, after, snapshot)


def _compare(first: NamedState, second: NamedState, match: Literal["ids", "known", "suggested"]) -> Comparison:
    """Return the comparison of two states; the last ones are kept with the second.

    Of the tables that both speak of; of two editions of others of all that either holds: one that is gone is told.
    """
    before, after = first.state.snapshot, second.state.snapshot
    are_of_others = first.told.kind == second.told.kind == "outside"
    tables = first.tables | second.tables if are_of_others else first.tables & second.tables
    if first.state.sight is not None or second.state.sight is not None:
        return compare_states(before, after, match, tables)
    kept: OrderedDict[Any, Comparison] = after.keep("comparisons", OrderedDict)
    key = (before.store_id, before.revision, first.state.own_key, match, tables)
    found = kept.get(key)
    if found is None:
        found = kept[key] = compare_states(before, after, match, tables)
        while len(kept) > _KEPT:
            kept.popitem(last=False)
    return found


def show(result: Compared, company: Subject, asked: AskCompare, names: Names) -> Sheet:
    """Return the rows of the page, what may have become of what has no counterpart, and the tables."""
    return build_compare_sheet(result, asked.page, asked.page_size, asked.texts)


def draw(snapshot: Snapshot, company: Subject, asked: AskCompare, result: Compared, **shown: Any) -> str:
    """Return the picture."""
    return pictures.draw_comparison(result.rows, result.before, result.after, tell_title(result), **shown)


QUESTION = Question(
    asks={COMPANY: AskCompare},
    answers=CompareResult,
    compute=compute,
    tell=attrgetter("record"),
    cautions=(_LOOK, _NO_PEOPLE),
    needs=Kind.HISTORY_FRAMEWORK,
    is_slow=True,
    is_in_main=True,
    show=show,
    draw=draw,
    files={
        "xlsx": FileForm(
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
            lambda answer: build_compare_book(answer.result, answer.cautions),
        )
    },
)
