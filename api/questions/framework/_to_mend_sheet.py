"""What a person sees of what is to mend: a sentence, the first rows with what to do, how often each rule speaks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from urllib.parse import urlencode

from api.desk.columns import Filled, build_table, words
from api.desk.names import Names, count
from api.desk.sheet import ActLink, Cell, Next, Quantity, Ref, Refs, Sheet, Table
from api.desk.sheet_workbook import build_sheet_workbook
from api.questions.framework._to_mend_record import MendRow, ToMendResult

#: Rows on a sheet; all that were asked for stand in the JSON and the workbook.
_SHOWN: Final = 100


def build_mend_sheet(result: ToMendResult, names: Names, least: int, narrowed: str) -> Sheet:
    """Return the sheet; figures of people are told from `least` up, `narrowed` says of which rules or table it is."""
    shown = result.rows[:_SHOWN]
    left = result.rows_total - len(shown)
    return Sheet(
        title=tell_title(result, narrowed),
        lead=tell(result),
        parts=(
            _list_rows(shown, names, least, _tell_columns(left) if shown else ""),
            *([_count_rules(result)] if result.rules else []),
        ),
        next=(
            *([Next("All that is to mend", "to-mend", "", {})] if narrowed else []),
            Next("What breaks a rule", "findings", "", {}),
            Next("What stands out in the framework", "framework-review", "", {}),
        ),
    )


def build_mend_book(result: ToMendResult, names: Names, least: int, cautions: tuple[str, ...]) -> bytes:
    """Return a workbook (.xlsx): every row of the answer with the page where it is mended, and the rules."""
    place: Filled[MendRow] = words("page", lambda row: row.mend.address)
    rows = _list_rows(result.rows, names, least, "", place)
    parts = (rows, *([_count_rules(result)] if result.rules else []))
    return build_sheet_workbook(Sheet(tell_title(result), tell(result), parts=parts, cautions=cautions))


def tell_title(result: ToMendResult, narrowed: str = "") -> str:
    """Return what was asked."""
    return f"What is to mend{f': {narrowed}' if narrowed else ''}, {result.on}"


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


def _list_rows(rows: Sequence[MendRow], names: Names, least: int, note: str, *more: Filled[MendRow]) -> Table:
    return build_table(
        "To mend, what touches most people first",
        rows,
        (
            words("what", lambda row: row.rule),
            words("where", lambda row: name_record(row, names)),
            words("why it matters", lambda row: row.reason),
            words("people", lambda row: _tell_people(row, least), is_number=True),
            words("rows", lambda row: Quantity(row.effect.rows), is_number=True),
            words("what to do", lambda row: ActLink(row.mend.words, row.mend.address)),
            *more,
        ),
        "Nothing is to mend.",
        note,
    )


def _tell_columns(left: int) -> str:
    """Return what the figures count, and how many rows are not shown."""
    more = f" {count(left, 'more row')}: narrow it by rule or table, or take the workbook." if left > 0 else ""
    return f"People: whose role, or whose team's needs and places, rest on it. Rows: what names it.{more}"


def _tell_people(row: MendRow, least: int) -> Cell:
    # the blank does not break: it is one figure
    return f"under\u00a0{least}" if row.effect.people is None else Quantity(row.effect.people)


def _count_rules(result: ToMendResult) -> Table:
    return build_table(
        "By rule",
        result.rules,
        (
            words("rule", lambda one: ActLink(one.rule, f"/to-mend?{urlencode({'rule': one.rule})}")),
            words("kind", lambda one: one.severity),
            words("how often", lambda one: Quantity(one.rows), is_number=True),
        ),
    )
