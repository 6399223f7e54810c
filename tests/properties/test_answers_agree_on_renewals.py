"""A renewal lasts as long whoever writes it down: a plan that expects it, the REST API, a load."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from small_company import build_competencies, build_scale, build_snapshot

from api.http.collection import COLLECTIONS
from loaders.assessment_ends import AssessmentEnds
from loaders.report import Loaded
from ontology.analysis.paths.expected import with_outcomes
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

FIRST = date(2026, 1, 1)
days = st.integers(0, 500).map(lambda n: FIRST + timedelta(days=n))
certificates = st.lists(st.tuples(days, st.none() | st.integers(30, 500)), max_size=4, unique_by=lambda one: one[0])


def build(rows: list[tuple[date, int | None]], rule: dict[str, Any]) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("card", kind="certificate", **rule),
        people=[{"id": "p", "name": "P"}],
        courses=[{"id": "k", "label": "K", "hours": 4.0}],
        outcomes=[{"course": "k", "competency": "card", "level": 1}],
        assessments=[
            {"person": "p", "competency": "card", "level": 1, "date": day, "source": "certificate"}
            | {"valid_until": None if length is None else day + timedelta(days=length)}
            for day, length in rows
        ],
    )


@given(
    certificates,
    days,
    st.fixed_dictionaries(
        {
            "validity_months": st.integers(1, 24),
            "renewal_window_months": st.none() | st.integers(0, 12),
            "validity_rule": st.sampled_from(["same-day", "end-of-month"]),
        }
    ),
)
def test_what_a_plan_expects_is_what_is_written_on_the_day(
    rows: list[tuple[date, int | None]], done: date, rule: dict[str, Any]
) -> None:
    before = build([row for row in rows if row[0] != done], rule)
    after = with_outcomes(before, [("p", "k", done)])
    (expected,) = [a for a in after.get_assessments("p", "card") if a.date == done]
    body = {"person": "p", "competency": "card", "level": 1, "date": done.isoformat(), "source": "certificate"}
    assert COLLECTIONS["assessments"].load_item(before, body) == expected
    written = TABLES["assessments"].build(person="p", competency="card", level=1, date=done, source="certificate")
    loaded = Loaded({"assessments": [written]})
    AssessmentEnds(loaded, before).fill()
    assert loaded.records["assessments"] == [expected]
