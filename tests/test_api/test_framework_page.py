"""The framework's first page: how much there is, what to mend with why and one act, where to begin, what changed."""

from __future__ import annotations

import re
import time

import pytest
from flask.testing import FlaskClient

from api.app import create_app
from api.desk.names import Names
from api.http.context import get_desk
from api.pages import framework as pages
from api.pages.mending import Asked
from api.questions.company import framework_review as review
from ontology.analysis.routes.framework_review import FrameworkReview, LoneRole, UntaughtLevel
from ontology.analysis.routes.stepping_stones import HighEntryLevel
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES


def read(client: FlaskClient) -> str:
    """Return the page once it is known what stands out."""
    for _ in range(100):
        response = client.get("/framework")
        assert response.status_code == 200
        if "still being worked out" not in response.text:
            return re.sub(r"\s+", " ", response.text)
        time.sleep(0.2)
    raise AssertionError("it is still being worked out")


def test_the_first_sentences_count_and_agree_with_the_review_and_with_what_is_to_mend(client: FlaskClient) -> None:
    page = read(client)
    told = client.get("/framework-review").text
    number = re.search(r"(\d+) things? stands? out\.", told)
    mending = client.get("/api/to-mend").json
    assert number is not None
    assert mending is not None
    total = mending["rows_total"]
    assert f"3 competencies, 4 roles, 4 courses; {number[0]} {total} things are to mend." in page
    assert len(re.findall('data-column="What to do"', page)) == min(5, int(number[1])) + 5
    first = page.partition("<h2>To mend</h2>")[2].partition("</section>")[0]
    acts = re.findall(r'data-column="What to do"><span><a href="([^"]+)"', first)
    assert [act.replace("&amp;", "&") for act in acts] == [row["mend"]["address"] for row in mending["rows"][:5]]
    assert f'<a class="forms" href="/to-mend">All {total}</a>' in first


def test_every_act_leads_to_a_page(client: FlaskClient) -> None:
    page = read(client)
    acts = re.findall(r'data-column="What to do"><span><a href="([^"]+)"', page)
    assert acts
    for address in [*acts, "/loads/new", "/new/competencies", "/new/roles", "/findings"]:
        assert address in page
        assert client.get(address.replace("&amp;", "&")).status_code == 200, address


def test_it_opens_to_every_competency_role_and_course(client: FlaskClient) -> None:
    page = read(client)
    for address in ("/competencies/pump", "/competencies/valve", "/roles/chief", "/courses/valve-2"):
        assert f'href="{address}"' in page
    assert page.count("<details>") >= 3


def test_recent_changes_are_those_of_the_framework(graph: LiveGraph) -> None:
    role = TABLES["roles"].build(id="guide", label="Guide")
    graph.apply(Change(put=(("roles", role),)), who="Ada", why="A new role")
    practice = graph.get_snapshot().get_table("practices")
    absence = TABLES["absences"].build(person="p2", from_date=next(iter(practice))[2], to_date=next(iter(practice))[2])
    graph.apply(Change(put=(("absences", absence),)), who="Ben", why="Not of the framework")
    page = read(create_app(graph).test_client())
    assert "A new role" in page
    assert "Not of the framework" not in page


@pytest.mark.parametrize(
    ("n_mending", "words"),
    [
        (5, "97 competencies, 24 roles, 97 courses; 5 things stand out."),
        (0, "97 competencies, 24 roles, 97 courses; nothing stands out."),
        (None, "97 competencies, 24 roles, 97 courses; what stands out is still being worked out."),
    ],
)
def test_the_first_sentence(n_mending: int | None, words: str) -> None:
    assert pages.tell_framework({"competencies": 97, "roles": 24, "courses": 97}, n_mending) == words


def test_what_holds_most_people_up_stands_first(shared_graph: LiveGraph) -> None:
    found = FrameworkReview(
        status="optimal",
        on=shared_graph.store.get_today(),
        roles=4,
        moves=1,
        people=3,
        unreachable_roles=(LoneRole("chief", "Chief", ("pump",)),),
        dead_ends=(LoneRole("chief", "Chief", ()),),
        untaught_levels=(
            UntaughtLevel("pump", 5, ("chief",), True, "No course."),
            UntaughtLevel("valve", 3, ("chief", "senior"), False, "No course."),
        ),
        unused_courses=(),
        high_entry_levels=(HighEntryLevel("chief", "valve", 3, 2, ("senior",)),),
        pivotal_competencies=(),
        central_roles=(),
    )
    rows = review.list_standing_out(found, Names(shared_graph.get_snapshot()))
    assert [row.what for row in rows] == [
        review.NOBODY_REACHES,
        review.UNTAUGHT,
        review.HIGH_ENTRY,
        review.DEAD_END,
        review.UNTAUGHT_ON_JOB,
    ]
    assert rows[1].why == "Chief and Senior operator ask for it. No course."
    assert rows[1].where.name == "Valve work at level 3"


def test_the_page_is_there_before_the_review_is(client: FlaskClient) -> None:
    with client.application.app_context():
        snapshot = get_desk().get_state().snapshot
    view = pages.build_framework_view(snapshot, Asked(None, "/to-mend"), Asked(None, "/computing/7"), ())
    assert view.lead.endswith("what stands out is still being worked out.")
    assert [one.waiting.address for one in view.lists if one.waiting] == ["/to-mend", "/computing/7"]
    assert pages.build_framework_view(snapshot, None, None, ()).lead == "3 competencies, 4 roles, 4 courses."
    assert [tree.heading for tree in view.trees][:2] == ["Competencies", "Roles by family"]
