"""What a person sees of two states compared: a sentence, the rows of a page, what became of what; a workbook."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from api.desk.columns import build_table, number, words
from api.desk.named_states import ToldNamedState
from api.desk.names import count
from api.desk.plain_cells import say_day
from api.desk.record_words import make_reference_namer
from api.desk.sheet import Cell, Next, Picture, Ref, Refs, Sheet, Table
from api.desk.sheet_workbook import build_sheet_workbook
from api.questions.framework._compare_record import (
    Compared,
    ComparedTable,
    CompareResult,
    ToldIdentity,
    ToldSuggestion,
)
from ontology.model.changes import ColumnChange
from ontology.model.columns import Key
from ontology.snapshot.names import get_framework_name
from ontology.snapshot.snapshot import Snapshot

_KINDS: Final = {
    "same": "probably the same",
    "split": "probably split",
    "merge": "probably merged",
    "replaced": "probably replaced",
}


def build_compare_sheet(result: Compared, page: int, page_size: int, texts: Mapping[str, str]) -> Sheet:
    """Return the sheet of one page of rows."""
    record = result.record
    start = (page - 1) * page_size
    return Sheet(
        title=tell_title(result),
        lead=tell(result),
        parts=(
            _show_rows(result, start, len(record.rows)),
            *([_show_suggestions(result, record.suggestions)] if record.suggestions else []),
            *([_show_identities(result, record.identities)] if record.identities else []),
            _show_tables([one for one in record.tables if one.added or one.removed or one.changed or one.renumbered]),
            *(
                [Picture("Where it changed, as a picture: how much in which part, and what moved.")]
                if record.rows
                else []
            ),
        ),
        next=tuple(_list_next(record, page, page_size, texts)),
        remarks=tuple(_list_left_out(record)),
    )


def tell_title(result: Compared) -> str:
    """Return what was asked."""
    return "What changed from {} to {}".format(*_tell_states(result))


def tell(result: Compared) -> str:
    """Return in a sentence how much differs."""
    record = result.record
    sums = [sum(getattr(one, name) for one in record.tables) for name in ("added", "removed", "changed")]
    if not any(sums):
        same = "Nothing differs" if not record.identities else "Nothing but ids differs"
        return "{} between {} and {}.".format(same, *_tell_states(result))
    told = [(n, verb) for n, verb in zip(sums, ("added", "removed", "changed"), strict=True) if n]
    lead = ", ".join([f"{count(told[0][0], 'record')} {told[0][1]}", *(f"{n:,} {verb}" for n, verb in told[1:])])
    if record.suggestions:
        lead += f"; {count(len(record.suggestions), 'suggestion')} of what became of what"
    return f"{lead}."


def _tell_states(result: Compared) -> tuple[str, str]:
    return _tell_state(result.record.from_, result.before), _tell_state(result.record.to, result.after)


def _tell_state(told: ToldNamedState, snapshot: Snapshot) -> str:
    """Return what a state is called: "1.2 (24 November 2026)"."""
    if told.kind in ("now", "file"):
        return told.text
    if told.kind == "outside":
        return get_framework_name(snapshot, told.text.partition(":")[2])
    day = "" if told.time is None else f" ({say_day(_read_day(told.time))})"
    if told.kind == "date":
        return say_day(_read_day(told.text))
    return f"{told.text if told.kind == 'release' else f'revision {told.revision}'}{day}"


def _show_rows(result: Compared, start: int, n: int) -> Table:
    record = result.record
    note = ""
    if record.rows_total > n:
        note = f"Rows {start + 1:,} to {start + n:,} of {record.rows_total:,}." if n else "There are no more rows."
    return build_table(
        "What changed",
        result.rows[start : start + n],
        (
            words("record", lambda one: _refer(result, one.row.table, one.row.key, result.words.name(one.row))),
            words("what changed", lambda one: _begin(result.words.tell(one))),
            words("table", lambda one: one.row.table.replace("_", " ")),
        ),
        "Nothing came, went or changed.",
        note,
    )


def _show_suggestions(result: Compared, suggestions: Sequence[ToldSuggestion]) -> Table:
    return build_table(
        "What may have become of what",
        suggestions,
        (
            words("table", lambda one: one.table),
            words("before", lambda one: _refer_all(result, result.before, one.table, one.from_)),
            words("what may have happened", lambda one: _KINDS[one.kind]),
            words("after", lambda one: _refer_all(result, result.after, one.table, one.to)),
            number("how much speaks for it", lambda one: one.score, "0 to 1", decimals=2),
            number("label", lambda one: one.label_score, "0 to 1", decimals=2),
            number("what hangs on it", lambda one: one.overlap, "0 to 1", decimals=2),
        ),
        "Nothing that went looks like anything that came.",
    )


def _show_identities(result: Compared, identities: Sequence[ToldIdentity]) -> Table:
    return build_table(
        "Known under another id",
        identities,
        (
            words("table", lambda one: one.table),
            words("what", lambda one: _refer_all(result, result.after, one.table, (one.to,))),
            words("id before", lambda one: one.from_),
            words("id after", lambda one: one.to),
        ),
    )


def _show_tables(tables: Sequence[ComparedTable]) -> Table:
    return build_table(
        "Table by table",
        tables,
        (
            words("table", lambda one: one.table.replace("_", " ")),
            number("before", lambda one: one.before),
            number("added", lambda one: one.added),
            number("removed", lambda one: one.removed),
            number("changed", lambda one: one.changed),
            number("under another id", lambda one: one.renumbered),
            number("after", lambda one: one.after),
        ),
        "No table differs.",
    )


def _list_left_out(record: CompareResult) -> Iterator[str]:
    """Yield how much of files was left out."""
    for told in (record.from_, record.to):
        if told.left_out:
            verb = "is" if told.left_out == 1 else "are"
            yield f"{count(told.left_out, 'row')} with errors {verb} left out of {told.text}: newel load says which."


def _list_next(record: CompareResult, page: int, page_size: int, texts: Mapping[str, str]) -> Iterator[Next]:
    if page * page_size < record.rows_total:
        yield Next("The next rows", "compare", "", {**texts, "page": str(page + 1)})
    if page > 1:
        yield Next("The rows before", "compare", "", {**texts, "page": str(page - 1)})


def _refer(result: Compared, table: str, key: Key, name: str) -> Cell:
    """Return a record by its name, as a link where it is there in the state that is asked."""
    record_id = str(key[0]) if table == "scales" else "~".join(map(str, key))
    return Ref(table, record_id, name) if key in result.present.get_table(table) else name


def _refer_all(result: Compared, state: Snapshot, table: str, ids: Sequence[str]) -> Cell:
    say = make_reference_namer(state)
    if all((one,) in result.present.get_table(table) for one in ids):
        return Refs(tuple(Ref(table, one, say(table, one)) for one in ids))
    return ", ".join(say(table, one) for one in ids)


def _begin(text: str) -> str:
    return text[:1].upper() + text[1:]


def _read_day(text: str) -> dt.date:
    return dt.date.fromisoformat(text[:10])


def build_compare_book(result: Compared, cautions: tuple[str, ...]) -> bytes:
    """Return a workbook (.xlsx): the answer, a sheet for each table with all its rows, one of suggestions."""
    record = result.record
    tables = [one.table for one in record.tables if any(row.row.table == one.table for row in result.rows)]
    parts = [
        _show_tables(record.tables),
        *(_list_changes(result, table) for table in tables),
        _show_suggestions(result, record.suggestions),
        *([_show_identities(result, record.identities)] if record.identities else []),
    ]
    return build_sheet_workbook(Sheet(tell_title(result), tell(result), parts=tuple(parts), cautions=cautions))


def _list_changes(result: Compared, table: str) -> Table:
    """Return all rows of a table, a line for each column that differs; of what came or went one."""
    lines = [
        (one, change)
        for one in result.rows
        if one.row.table == table
        for change in (one.row.columns if one.row.change == "changed" else (None,))
    ]
    return build_table(
        table.replace("_", " "),
        lines,
        (
            words("id", lambda line: line[0].row.id),
            words("id before", lambda line: line[0].from_id),
            words("record", lambda line: result.words.name(line[0].row)),
            words("change", lambda line: line[0].row.change),
            words("column", lambda line: line[1].column if line[1] else ""),
            words("before", lambda line: _say(line[1], is_after=False)),
            words("after", lambda line: _say(line[1], is_after=True)),
            words("in words", lambda line: _begin(result.words.tell(line[0]))),
        ),
    )


def _say(change: ColumnChange | None, *, is_after: bool) -> Any:
    """Return a value of a change as a cell; of a column of several what went, or what is new."""
    if change is None:
        return ""
    value = change.after if is_after else change.before
    return "|".join(map(str, value)) if isinstance(value, tuple) else "" if value is None else value
