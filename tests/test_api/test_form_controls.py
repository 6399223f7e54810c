"""The control of every kind of column, what stands in it, and the body of what is typed."""

from __future__ import annotations

from typing import Any

import pytest

from api.pages.forms.conflict import compare_versions, tell_conflict
from api.pages.forms.controls import build_control, build_filter
from api.pages.forms.faults import build_reason, find_faults
from api.pages.forms.form import Field, build_fields, fill_defaults, format_text, format_texts, read_body
from api.pages.record_form import get_own_name, has_reason
from ontology.errors import Finding, FindingsError
from ontology.model.columns import Column, make_own
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES

LEVELS = (ScaleLevel("craft", 1, "Shown", ""), ScaleLevel("craft", 2, "Assisted", ""))

#: table, column -> shape, type, keys, choices, table of ids, whether several
CONTROLS = [
    ("roles", "id", ("line", "text", "", (), "", False)),
    ("requirements", "role", ("line", "text", "", (), "roles", False)),
    ("competencies", "broader", ("area", "text", "", (), "competencies", True)),
    ("roles", "family", ("line", "text", "", (), "", False)),
    ("roles", "definition", ("area", "text", "", (), "", False)),
    ("competencies", "alt_labels", ("area", "text", "", (), "", True)),
    ("competencies", "exact_match", ("area", "text", "", (), "", True)),
    ("places", "count", ("line", "text", "numeric", (), "", False)),
    ("courses", "hours", ("line", "text", "decimal", (), "", False)),
    # what may be below 0 needs a minus, which the keys for numbers have not everywhere
    ("orientation_items", "offset_days", ("line", "text", "", (), "", False)),
    ("outcomes", "renews", ("radio", "text", "", ("yes", "no"), "", False)),
    ("requirements", "learned_on_job", ("radio", "text", "", ("yes", "no", ""), "", False)),
    ("requirements", "necessity", ("radio", "text", "", ("blocking", "essential", "desirable"), "", False)),
    ("courses", "strand", ("radio", "text", "", ("experience", "social", "formal", ""), "", False)),
    (
        "bookings",
        "state",
        ("select", "text", "", ("asked", "waiting", "booked", "attended", "missed", "cancelled"), "", False),
    ),
    ("people", "start_date", ("line", "date", "", (), "", False)),
]


@pytest.mark.parametrize(("name", "column", "expected"), CONTROLS, ids=lambda value: str(value))
def test_each_kind_of_column_has_its_control(name: str, column: str, expected: tuple[Any, ...]) -> None:
    table = TABLES[name]
    control = build_control(table, table.get_column(column))
    choices = tuple(value for value, _ in control.choices)
    told = (control.shape, control.type, control.inputmode, choices, control.table, control.is_several)
    assert told == expected


def test_every_column_has_a_label_and_says_what_an_empty_field_means() -> None:
    for table in TABLES.values():
        for column in table.columns:
            control = build_control(table, column)
            assert control.label
            assert control.label[0].isupper()
            assert "_" not in control.label
            assert control.is_required == column.is_required
            if column.kind in ("integer", "number") and column.default not in (None, ""):
                assert column.is_required or "Empty: " in control.hint, (table.name, column.name)


def test_what_hangs_on_the_row_is_named_as_usual() -> None:
    table = TABLES["requirements"]
    control = build_control(table, table.get_column("learned_on_job"))
    assert control.choices[-1] == ("", "as usual: yes, unless desirable or a certificate")
    control = build_control(table, table.get_column("entry_level"), levels=LEVELS)
    assert control.choices == (("", "as usual: the full level"), ("0", "0 none"), ("1", "1 Shown"), ("2", "2 Assisted"))
    own = make_own("rank", "integer", "Its rank.", default=lambda values: 1)
    assert "Empty: as usual." in build_control(table, own).hint


def test_a_filter_asks_for_nothing_when_it_stays_empty() -> None:
    table = TABLES["requirements"]
    assert build_filter(table, table.get_column("necessity")).choices[0] == ("", "any")
    assert build_filter(table, table.get_column("weight")).choices == ()


def test_required_fields_come_first_and_parts_of_the_id_are_fixed() -> None:
    table = TABLES["requirements"]
    fields = build_fields(table, {"competency": "pump"}, levels_of=lambda _: LEVELS, fixed=("role", "competency"))
    assert [field.control.name for field in fields][:4] == ["role", "competency", "level", "entry_level"]
    assert [field.is_fixed for field in fields][:3] == [True, True, False]


def test_a_choice_that_has_not_what_was_typed_is_a_line() -> None:
    table = TABLES["requirements"]
    control = build_control(table, table.get_column("level"), levels=LEVELS)
    assert (Field(control, "2").shape, Field(control, "9").shape) == ("select", "line")
    day = build_control(TABLES["people"], TABLES["people"].get_column("start_date"))
    assert [Field(day, text).words for text in ("2027-03-03", "2026-02-30", "")] == ["3 March 2027", "2026-02-30", ""]
    assert Field(control, "2027-03-03").words == "2027-03-03", "an id may look like a day"
    assert [Field(day, text).is_typed for text in ("2026-02-28", "", "2026-02-30", "soon")] == [
        True,
        True,
        False,
        False,
    ]


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("integer", " 3 ", 3),
        ("number", "2.5", 2.5),
        ("flag", "yes", True),
        ("date", "2026-11-24", "2026-11-24"),
        ("texts", " a \r\n\r\nb\r\na", ["a", "b"]),
        ("refs", "p1\np2", ["p1", "p2"]),
        ("choice", "sand", "sand"),
        ("text", "two\r\nlines", "two\nlines"),
        ("integer", "", None),
        ("date", "", None),
    ],
)
def test_what_is_typed_becomes_the_member_of_a_body(kind: Any, text: str, value: Any) -> None:
    column = Column("x", kind, "", "", default=None, choices=("rock", "sand"))
    body = read_body((column,), {"x": text})
    assert (body.members, body.wrong) == ({"x": value}, {})


def test_what_is_no_value_stays_as_it_was_typed_with_what_would_be_right() -> None:
    columns = (Column("a", "integer", "", ""), Column("b", "date", "", ""), Column("c", "text", "", ""))
    body = read_body(columns, {"a": "three", "b": "24.11.2026", "c": "", "d": "unknown"})
    assert body.members == {"a": "three", "b": "24.11.2026", "c": None, "d": "unknown"}
    assert sorted(body.wrong) == ["a", "b"]
    assert "2026-11-24" in body.wrong["b"]


@pytest.mark.parametrize("value", [0.1 + 0.2, 1e-9, "two\r\nlines", " blanks ", ["a\nb", "c"], None, True])
def test_a_field_that_comes_back_as_it_was_shown_keeps_its_value(value: Any) -> None:
    kind: Any = {float: "number", list: "texts", bool: "flag"}.get(type(value), "text")
    column = Column("x", kind, "", "", default="" if kind == "text" else None)
    shown = format_text(column, value).replace("\r\n", "\n").replace("\n", "\r\n")
    assert read_body((column,), {"x": shown}, {"x": value}).members == {"x": value}


def test_a_new_form_has_the_usual_choices_and_leaves_the_rest_empty() -> None:
    assert fill_defaults(TABLES["requirements"], {"weight": "4"}) == {
        "necessity": "essential",
        "learned_on_job": "",
        "weight": "4",
    }
    assert format_texts(TABLES["sites"].columns, {"id": "hill"}) == {"id": "hill", "label": ""}


@pytest.mark.parametrize(
    ("reason", "column", "told"),
    [
        ("requirement a~b: level 9 is not on scale craft", "level", "9 is not on scale craft"),
        ("requirement a~b: entry_level 5 is above the full level 3", "entry_level", "5 is above the full level 3"),
        ("requirement a~c: level 9 is not on scale craft", "level", "Requirement a~c: level 9 is not on scale craft"),
        ("no competency has the id 'x'", "competency", "No competency has the id 'x'"),
    ],
)
def test_a_finding_at_its_field_is_told_without_the_name_of_its_record(reason: str, column: str, told: str) -> None:
    finding = Finding("error", "", 0, column, "", reason, ("requirements", "a", "b"))
    assert build_reason(finding, TABLES["requirements"], ("a", "b")) == told


def test_findings_on_other_records_lead_there_and_remarks_do_not_stop() -> None:
    error = FindingsError(
        "",
        [
            Finding("error", "", 0, "shift", "", "person p3 is of team works", ("people", "p3")),
            Finding("remark", "", 0, "label", "", "odd", ("shifts", "night")),
        ],
    )
    [fault] = find_faults(error, TABLES["shifts"], ("night",), {}, ("id", "team", "label"))
    assert (fault.field, fault.label, fault.address) == ("", "Person p3", "/people/p3")


def test_three_versions_say_who_changed_what() -> None:
    labels = {"a": "A", "b": "B", "c": "C"}
    rows = compare_versions(
        labels, {"a": "1", "b": "1", "c": "1"}, {"a": "2", "b": "1", "c": "2"}, {"a": "3", "b": "1", "c": "1"}
    )
    assert [(row.is_changed, row.is_yours) for row in rows] == [(True, True), (False, False), (True, True)]
    assert tell_conflict(rows, False) == (
        "Both of you changed A. C changed since you read it. Nothing of yours is stored yet."
    )
    assert tell_conflict((), True).startswith("Someone has removed it")


def test_the_forms_own_fields_give_way_to_columns_and_reasons_are_for_the_framework() -> None:
    assert get_own_name(TABLES["roles"], "state") == "state"
    assert get_own_name(TABLES["bookings"], "state") == "state_"
    told = {name for name, table in TABLES.items() if has_reason(table)}
    assert {"scales", "competencies", "roles", "requirements", "courses", "outcomes", "entry_conditions"} <= told
    assert told.isdisjoint({"people", "assessments", "absences", "teams", "cover_needs", "places", "bookings"})
