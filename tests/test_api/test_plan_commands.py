"""newel schedule and newel development-plan on the demonstration scenario: tables, JSON and files."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import icalendar
import openpyxl
import pytest
from click.testing import CliRunner, Result

from api.terminal.program import program

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"
WAY = ["p063", "laboratory-analyst", "--on", "2026-11-24"]


def run(*words: str, store: Path, code: int = 0) -> Result:
    result = CliRunner().invoke(program, list(words), env={"NEWEL_STORE": str(store)}, prog_name="newel")
    assert result.exit_code == code, result.output
    return result


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("plan-commands") / "store"
    run("load", str(SCENARIO), store=folder)
    return folder


def ask(store: Path, *words: str) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(run(*words, "--json", store=store).stdout)
    return answer


def test_a_schedule_is_printed_with_its_days_and_cautions(store: Path) -> None:
    printed = run("schedule", *WAY, store=store).stdout
    answer = ask(store, "schedule", *WAY)
    assert answer["courses"]
    for course in answer["courses"]:
        assert course["first_day"] in printed
        assert course["last_day"] in printed
    assert "books no place" in " ".join(printed.split())
    assert f"to {answer['finish']}" in printed


def test_a_schedule_starts_from_a_role_too(store: Path) -> None:
    answer = ask(store, "schedule", "--from", "sampler", "--role", "laboratory-analyst", "--on", "2026-11-24")
    assert answer["from_role"] == "sampler"


def test_options_reach_the_calendar(store: Path) -> None:
    answer = ask(
        store, "schedule", *WAY, "--study-hours-per-week", "9", "--at-once", "1", "--start", "2027-01-04",
        "--holidays", "2027-01-06, 2027-01-05",
    )  # fmt: skip
    assert (answer["study_hours_per_week"], answer["at_once"], answer["start"]) == (9, 1, "2027-01-04")
    assert answer["holidays"] == ["2027-01-05", "2027-01-06"]


def test_a_plan_is_printed_with_practice_shares_and_follow_up(store: Path) -> None:
    printed = run("development-plan", *WAY, "--with-routes", store=store).stdout
    plan = ask(store, "development-plan", *WAY, "--with-routes")
    assert "70:20:10 is common practice with weak evidence" in printed
    assert {"Practice", "Kinds of learning", "Follow-up"} <= set(printed.splitlines())
    for step in plan["steps"]:
        assert step["follow_ups"][0]["day"] in printed


def test_a_plan_is_written_as_a_page_that_needs_nothing_else(store: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.html"
    assert "Written to" in run("development-plan", *WAY, "--to", str(path), store=store).stdout
    page = path.read_text("utf-8")
    assert "This plan belongs to" in page
    assert 'src="/' not in page
    assert 'href="/' not in page
    assert "http://" not in page
    assert "@page { size: A4" in page


def test_a_plan_is_written_as_a_calendar_file(store: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.ics"
    run("development-plan", *WAY, "--to", str(path), store=store)
    plan = ask(store, "development-plan", *WAY)
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert len(events) == 4 * len(plan["steps"]) + len(plan["schedule"]["lapsing"])


def test_a_plan_is_written_as_a_workbook(store: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.xlsx"
    run("development-plan", *WAY, "--to", str(path), store=store)
    book = openpyxl.load_workbook(path)
    rows = dict(book["Answer"].iter_rows(min_row=2, max_col=2, values_only=True))
    plan = ask(store, "development-plan", *WAY)
    assert plan["role_label"] in rows["question"]
    assert rows["Study"] == f"{plan['schedule']['study_hours']:g} h"
    assert book["Courses"].max_row == 1 + len(plan["steps"])


def test_a_file_of_another_kind_is_refused_and_nothing_is_written(store: Path, tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    result = run("development-plan", *WAY, "--to", str(path), store=store, code=2)
    assert ".html, .ics, .xlsx" in result.output
    assert not path.exists()


@pytest.mark.parametrize("words", [["--holidays", "soon"], ["--at-once", "0"], ["--study-hours-per-week", "0"]])
def test_a_wrong_option_is_a_wrong_call(store: Path, words: list[str]) -> None:
    run("schedule", *WAY, *words, store=store, code=2)
