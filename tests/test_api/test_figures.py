"""Who sees figures and nobody's name: no figure is of few people in any form of any answer, and few is asked."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Annotated, Any

import openpyxl
import pytest
from all_accounts import Accounts, People, build_accounts
from demonstration_pages import ON, QUESTIONS, list_read_pages
from flask.testing import FlaskClient
from scenario import SCENARIO, add_neighbour, begin_draft

from api.access.figures import HiddenFigure, find_small_teams, hide_few, leave_out_small_teams, read_marks, tell_plainly
from api.access.small_groups import LEAST
from api.desk import desk as desk_module
from api.desk.columns import build_table, number
from api.desk.names import count
from api.desk.sheet import Sheet
from api.desk.sheet_workbook import build_sheet_workbook
from api.http.answer_schemas import iterate_records
from api.http.negotiation import SHEET_FORMS
from api.questions import list_questions
from api.settings import Settings
from loaders.pipeline import load_paths
from ontology.analysis.profiles.belonging import get_person_on
from ontology.live.live_graph import LiveGraph
from ontology.model.identity import CountOf, PeopleCount, PeopleOfPart, PeopleShort, PeopleTogether, TellsOf

TODAY = dt.date.fromisoformat(ON)
WHO = People("p008", "p009", "treatment", "networks", "disinfection-control")
#: Asked as anyone may ask them who may name nobody.
ASKED = {
    name: re.sub(r"[?&](away|person)=[^&]*", "", address)
    for name, address in QUESTIONS.items()
    if next(question for question in list_questions() if question.name == name).figures is not None
} | {"stand-ins": "/teams/treatment/stand-ins?competency=disinfection-control"}


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    add_neighbour(graph)
    begin_draft(graph)
    yield graph
    graph.close()


@pytest.fixture(scope="module")
def accounts(graph: LiveGraph) -> Iterator[Accounts]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desk_module, "get_utc_day", lambda: TODAY)
        yield build_accounts(graph, WHO)


@pytest.fixture(scope="module")
def architect(accounts: Accounts) -> FlaskClient:
    return accounts.sign_in("architect")


@dataclass(frozen=True)
class Part:
    n: Annotated[PeopleOfPart, "People of this one."]
    or_more: Annotated[int, CountOf(rows="sums"), "People of this one or a later one."]


@dataclass(frozen=True)
class Day:
    depth: Annotated[PeopleTogether, "People there."]


@dataclass(frozen=True)
class Made:
    people: Annotated[PeopleCount, "People."]
    late: Annotated[int, CountOf(of="people"), "Of them, those who are late."]
    needed: Annotated[int, "Posts."]
    difference: Annotated[int | None, CountOf(plus="needed"), "People less posts."]
    pairs: Annotated[int, CountOf("pairs"), "Pairs of people."]
    share: Annotated[float | None, TellsOf("late"), "Share of them who are late."]
    missing: Annotated[PeopleShort, "People missing."]
    parts: Annotated[tuple[Part, ...], "By part."] = ()
    days: Annotated[tuple[Day, ...], "By day."] = ()
    remarks: Annotated[tuple[str, ...], "Sentences."] = ("Only 2 people can.",)


def told(made: Made) -> dict[str, Any]:
    return tell_plainly(hide_few(made, 5))  # type: ignore[no-any-return]


def test_few_are_told_as_under_and_what_tells_them_is_not() -> None:
    small = told(Made(4, 1, 3, 1, 6, 0.25, 2))
    assert small == {
        "people": "under 5", "late": "under 5", "needed": 3, "difference": None, "pairs": None, "share": None,
        "missing": None, "parts": [], "days": [], "remarks": [],
    }  # fmt: skip
    large = told(Made(40, 10, 30, 10, 780, 0.25, 2))
    assert (large["people"], large["late"], large["difference"], large["pairs"], large["share"]) == (
        40, 10, 10, 780, 0.25,
    )  # fmt: skip
    assert told(Made(7, 5, 3, 4, 21, 0.7, 0))["late"] == "under 5", "the other two would be told by what is left"


def test_parts_hide_the_next_smallest_and_what_is_told_together_hides_all() -> None:
    made = Made(20, 10, 3, 17, 190, 0.5, 0, tuple(Part(n, m) for n, m in ((2, 31), (9, 29), (20, 20))))
    assert [row["n"] for row in told(made)["parts"]] == ["under 5", "under 5", 20]
    assert {row["or_more"] for row in told(made)["parts"]} == {"under 5"}, "their differences are the parts"
    days = dataclasses.replace(made, parts=(), days=(Day(5), Day(4), Day(9)))
    assert [row["depth"] for row in told(days)["days"]] == ["under 5"] * 3, "one person fewer would be told"


def test_a_hidden_figure_is_the_same_whatever_it_hides_and_reads_so_everywhere() -> None:
    few = hide_few(Made(1, 0, 0, 1, 0, None, 0), 5).people
    assert (few, type(few)) == (hide_few(Made(4, 0, 0, 4, 6, None, 0), 5).people, HiddenFigure)
    assert f"{few:,} {few!r} {few}" == "under 5 under 5 under 5"
    assert count(few, "person", "people") == "under 5 people"
    assert str(few + 1) == str(3 - few) == str(sum([few, few])) == "–", "nothing is worked out of it"
    sheet = Sheet("t", "l", parts=(build_table("T", [few], (number("people", lambda n: n),), ""),))
    book = openpyxl.load_workbook(BytesIO(build_sheet_workbook(sheet)))
    assert [cell.value for cell in book["T"]["A"]] == ["people", "under 5"]


def find_few(question: Any, members: Any, record: type[Any]) -> list[str]:
    """Return the marked members of an answer in JSON that hold a number of few people."""
    found = []
    for name, value in members.items():
        mark = read_marks(record).get(name) if dataclasses.is_dataclass(record) else None
        if isinstance(mark, CountOf) and mark.what == "people" and not mark.plus:
            if isinstance(value, int) and value < LEAST:
                found.append(f"{question}: {record.__name__}.{name} = {value}")
        elif isinstance(mark, TellsOf) and not mark.field and value is not None:
            found.append(f"{question}: {record.__name__}.{name} = {value}")
    return found


def walk(question: str, value: Any, kinds: dict[frozenset[str], type[Any]]) -> Iterator[str]:
    if isinstance(value, dict):
        names = frozenset(value)
        kind = next((record for fields, record in kinds.items() if fields <= names and fields), None)
        if kind is not None:
            yield from find_few(question, value, kind)
        for item in value.values():
            yield from walk(question, item, kinds)
    elif isinstance(value, list):
        for item in value:
            yield from walk(question, item, kinds)


@pytest.mark.parametrize("name", ASKED)
def test_no_answer_in_figures_names_anyone_or_tells_of_few(name: str, architect: FlaskClient, graph: LiveGraph) -> None:
    question = next(one for one in list_questions() if one.name == name)
    response = architect.get("/api" + ASKED[name])
    assert response.status_code == 200, response.get_data(as_text=True)
    members = json.loads(response.data)
    records = sorted(iterate_records(question.answers), key=lambda one: -len(dataclasses.fields(one)))
    by_size = {frozenset(field.name for field in dataclasses.fields(one)): one for one in records}
    assert list(walk(name, members, by_size)) == []
    assert any("In figures" in remark for remark in members["remarks"])
    book = architect.get("/api" + ASKED[name], headers={"Accept": SHEET_FORMS["xlsx"]})
    page = architect.get("/api" + ASKED[name], headers={"Accept": "text/html"})
    assert (book.status_code, page.status_code) == (200, 200)
    cells = [
        str(cell) for sheet in openpyxl.load_workbook(BytesIO(book.data)) for row in sheet.iter_rows(values_only=True)
        for cell in row if cell is not None
    ]  # fmt: skip
    words = "\n".join([response.get_data(as_text=True), page.get_data(as_text=True), *cells])
    people = graph.get_snapshot().people.values()
    assert [one.id for one in people if re.search(rf"(?<![\w-]){one.id}(?![\w-])|{re.escape(one.name)}", words)] == []


@pytest.mark.parametrize("name", ASKED)
def test_the_pages_of_answers_in_figures_open(name: str, architect: FlaskClient) -> None:
    response = architect.get(ASKED[name])
    assert response.status_code in (200, 303), name
    if response.status_code == 200:
        assert "In figures: nobody is named" in response.get_data(as_text=True)


def test_depths_of_every_team_are_told_as_under_5_or_as_5_and_more(architect: FlaskClient, graph: LiveGraph) -> None:
    seen = set()
    for team in graph.get_snapshot().teams:
        members = json.loads(architect.get(f"/api/teams/{team}/coverage").data)
        for need in members["needs"]:
            seen |= {row["depth"] for row in (need, *need["shifts"])}
    assert "under 5" in seen
    assert min(depth for depth in seen if isinstance(depth, int)) >= LEAST


@pytest.mark.parametrize(
    ("asked", "parameter"),
    [
        ("/teams/treatment/coverage?away=p014", "away"),
        ("/teams/treatment/coverage?on=2026-12-02", "on"),
        ("/teams/treatment/coverage?as_of=1", "as_of"),
        ("/teams/treatment/staffing?leaving=p014", "leaving"),
        ("/teams/treatment/coverage-timeline?from=2026-12-02", "from"),
        ("/teams/treatment/coverage-timeline?weeks=2", "weeks"),
        ("/teams/treatment/rotation?purpose=relieve-strain&people=p014", "people"),
        ("/company-cover?within_hours=39", "within_hours"),
        ("/company-cover?away=p014", "away"),
        ("/teams/treatment/cross-training?exclude_people=p014", "exclude_people"),
        ("/teams/treatment/cross-training?by=2027-02-03", "by"),
        ("/teams/treatment/stand-ins?person=p008", "person"),
        ("/teams/treatment/agenda?days=3", "days"),
        ("/teams/treatment/obligations?parts=yes", "parts"),
        ("/courses/safety-briefing-again/demand?months=3", "months"),
        ("/session-plan?until=2027-01-31&team=treatment", "team"),
        ("/assessment-round?team=treatment", "team"),
        ("/assessment-round?older_than_months=23", "older_than_months"),
        ("/assessment-round?by=2027-02-03", "by"),
        ("/assessment-round?double=all", "double"),
        ("/orientation?owner=p014", "owner"),
        ("/company-obligations?on=2026-12-02", "on"),
        ("/sessions/briefing-dec-3/waiting-list?on=2026-12-02", "on"),
    ],
)
def test_what_would_tell_by_a_difference_is_not_asked(architect: FlaskClient, asked: str, parameter: str) -> None:
    response = architect.get("/api" + asked)
    assert (response.status_code, json.loads(response.data)["parameter"]) == (422, parameter)
    unknown = architect.get("/api" + asked.replace("p014", "nobody"))
    known = response.get_data(as_text=True).replace("p014", "nobody")
    assert unknown.get_data(as_text=True) == known, "an id of nobody is refused alike"


def test_the_first_of_a_month_is_asked(architect: FlaskClient) -> None:
    then = json.loads(architect.get("/api/teams/treatment/coverage?on=2026-12-01").data)["needs"]
    now = json.loads(architect.get(f"/api/teams/treatment/coverage?on={ON}").data)["needs"]
    assert {need["state"] for need in then} >= {"covered", "short"}
    assert {need["depth"] for need in then} == {None}, "beside today's it would tell who came or went"
    assert {need["depth"] for need in now} > {"under 5"}


def test_pictures_and_files_of_people_are_refused_with_the_address_of_the_figures(architect: FlaskClient) -> None:
    picture = architect.get("/api/teams/treatment/coverage/diagram")
    calendar = architect.get("/api/teams/treatment/coverage-timeline", headers={"Accept": "text/calendar"})
    assert (picture.status_code, calendar.status_code) == (403, 403)
    assert "/api/teams/treatment/coverage tells the figures" in json.loads(picture.data)["detail"]


def test_no_answer_about_a_person_is_told_in_figures(architect: FlaskClient) -> None:
    for address in ("/people/p008/levels", "/people/p008/gap?role=treatment-operator", "/people/p008/reachable-roles"):
        assert architect.get("/api" + address).status_code == 404, address


def test_who_has_a_purpose_is_told_all_of_that_team_and_figures_of_others(accounts: Accounts) -> None:
    client = accounts.sign_in("architect with purpose")
    own = json.loads(client.get("/api/teams/treatment/coverage").data)
    assert any(need["qualified"] for need in own["needs"])
    other = json.loads(client.get("/api/teams/networks/coverage").data)
    assert not any(need["qualified"] for need in other["needs"])


def test_a_lead_is_told_their_own_team_after_an_architect_asked_the_same(accounts: Accounts) -> None:
    address = "/api/teams/treatment/coverage"
    figures = accounts.sign_in("architect").get(address).data
    rows = accounts.sign_in("lead").get(address).data
    assert b"under 5" in figures
    assert b"under 5" not in rows
    assert accounts.sign_in("architect").get(address).data == figures


def test_of_a_team_of_few_nothing_is_told(graph: LiveGraph) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desk_module, "get_utc_day", lambda: TODAY)
        client = build_accounts(graph, WHO, Settings(small_group=8)).sign_in("architect")
        refused = client.get("/api/teams/laboratory/coverage")
        assert refused.status_code == 403
        assert "fewer than 8 people" in json.loads(refused.data)["detail"]
        cover = json.loads(client.get("/api/company-cover").data)
    small = find_small_teams(graph.get_snapshot(), TODAY, 8)
    assert "laboratory" in small
    assert not small & {need["team"] for need in cover["needs"]}
    assert not small & {row["team"] for need in cover["needs"] for row in need["lenders"]}
    left = leave_out_small_teams(graph.get_snapshot(), TODAY, 8)
    assert not small & {get_person_on(left, one, TODAY).team for one in left.people}
    assert cover["people"] < len(graph.get_snapshot().people)


def test_no_page_crashes_for_who_sees_figures_alone(architect: FlaskClient, graph: LiveGraph) -> None:
    told = {page: architect.get(page).status_code for page in list_read_pages(graph.get_snapshot())}
    assert {page: status for page, status in told.items() if status not in (200, 202, 303, 403, 404, 422)} == {}
    assert "/teams/treatment/coverage" in architect.get("/teams/treatment").get_data(as_text=True)
    assert (told["/"], told["/teams"], told["/company-cover"]) == (200, 200, 200)
