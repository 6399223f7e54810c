"""What a lead reads of the weekly work: no more than there is to do, each thing once, own people first."""

from __future__ import annotations

from datetime import date

from asking import PERSON, TEAM, answer
from scenario import load_scenario

from api.desk.sheet import Refs, Table
from api.questions._obligations import CALENDAR

ON = date(2026, 11, 24)


def get_table(sheet_parts: tuple[object, ...], title: str) -> Table:
    (table,) = (part for part in sheet_parts if isinstance(part, Table) and part.title == title)
    return table


def get_column(table: Table, name: str) -> list[object]:
    place = [column.name for column in table.columns].index(name)
    return [row[place] for row in table.rows]


def test_what_is_current_asks_for_nothing_yet() -> None:
    told = answer(load_scenario(), "person-obligations", PERSON, "p014", on=ON)
    # the briefing ends in 2028; the only session planned by then is to be booked by 2027-01-07
    assert str(date(2027, 1, 7)) in [str(row.last_day_to_act) for row in told.result.rows]
    sheet = told.build_sheet()
    assert sheet.lead == "Nothing is overdue, and nothing falls due within 90 days."
    assert get_table(sheet.parts, "What is to be done").rows == ()
    current = get_table(sheet.parts, "What is current")
    assert len(current.rows) == len(told.result.rows) == 4
    assert "last day to act" not in [column.name for column in current.columns]
    text = CALENDAR.build(told).decode("utf-8")
    assert text.count("SUMMARY:Due: ") == 2
    assert "Last day to act" not in text


def test_the_next_last_day_to_act_is_of_what_is_due_soon() -> None:
    sheet = answer(load_scenario(), "obligations", TEAM, "networks", on=ON).build_sheet()
    # p019's refresher has to be begun by 12-25; all that is earlier has passed or is booked
    assert sheet.lead.startswith("1 overdue, 9 more due within 90 days, 3 of these can no longer be held in time.")
    assert sheet.lead.endswith("Next last day to act: 2026-12-25.")


def test_what_no_row_tells_has_no_column() -> None:
    def list_columns(team: str, title: str) -> set[str]:
        sheet = answer(load_scenario(), "obligations", TEAM, team, on=ON).build_sheet()
        return {column.name for column in get_table(sheet.parts, title).columns} & {"level", "appointed"}

    assert list_columns("networks", "What is to be done") == list_columns("networks", "What is current") == set()
    # digital permits are asked at level 2; all three electricians hold what asks for an appointment
    assert list_columns("maintenance", "What is to be done") == {"level"}
    assert list_columns("maintenance", "What is current") == {"level", "appointed"}


def test_a_stand_in_stands_once_for_the_same_days_and_the_own_team_comes_first() -> None:
    asked = {"person_id": "p037", "from_date": date(2026, 12, 28), "to_date": date(2027, 1, 8)}
    told = answer(load_scenario(), "leave-check", TEAM, "wastewater", on=ON, **asked)
    sheet = told.build_sheet()
    assert sheet.lead == "Something breaks on each of the 12 days."
    first_aid = get_column(get_table(sheet.parts, "What would not hold"), "who could stand in")[1]
    assert str(first_aid).endswith("Joana Thorsen and 20 of other teams")
    table = get_table(sheet.parts, "Stand-ins, and what they would leave behind")
    people = [getattr(cell, "id", None) for cell in get_column(table, "person")]
    assert people[:6] == ["p030", "p031", "p032", "p033", "p035", "p039"]
    assert str(get_column(table, "stands in for")[0]).count(";") == 2
    # twice only where days differ: what someone leaves behind changes on the way
    assert sorted({one for one in people if people.count(one) > 1}) == ["p018", "p019", "p055"]


def test_practice_tells_of_those_of_whom_it_is_asked() -> None:
    sheet = answer(load_scenario(), "practice", TEAM, "wastewater", on=ON).build_sheet()
    needs, people = (part for part in sheet.parts if isinstance(part, Table))
    must = "needs practice within 90 days to stay current"
    assert sheet.lead == f"Dimitri Okafor {must} for Confined-space rescue certificate at level 1."
    # of ten rows of cover two ask for practice; nine hold the entry certificate, one the rescue certificate
    assert (len(needs.rows), len(people.rows)) == (2, 10)


def test_an_obligation_is_named_with_the_law_it_rests_on() -> None:
    sheet = answer(load_scenario(), "obligations", TEAM, "networks", on=ON).build_sheet()
    table = get_table(sheet.parts, "What is to be done")
    asked_by, basis = (get_column(table, name)[0] for name in ("asked by", "legal basis"))
    assert isinstance(asked_by, Refs)
    assert [one.id for one in asked_by.items] == ["asbestos-fitters", "asbestos-networks"]
    assert basis == "Law on work with asbestos; Company safety rules, part 7"
