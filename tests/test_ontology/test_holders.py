"""Who holds what in the whole company: levels of all at once, judged as each by itself."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.cover.holders import build_company_levels, iterate_holders, make_level_basis
from ontology.analysis.profiles.levels import get_level
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)


def build_holder(competency: dict[str, Any], *assessments: dict[str, Any], **person: Any) -> Snapshot:
    base = {"person": "p", "competency": "c", "level": 2, "date": ON, "source": "assessor"}
    return build_snapshot(
        scales=build_scale(),
        competencies=[build_competencies("c")[0] | competency],
        teams=[{"id": "t", "label": "T"}],
        people=[{"id": "p", "name": "P", "team": "t"} | person],
        assessments=[base | row for row in assessments],
    )


CERTIFICATE = {"kind": "certificate", "expiry": "hard"}
OVER = {"valid_until": ON - DAY, "date": ON - 9 * DAY}


@pytest.mark.parametrize(
    ("competency", "assessments", "level"),
    [
        ({}, [{}], 2),
        ({}, [{"date": ON + DAY}], 0),
        ({}, [{"source": "manager"}], 2),
        ({}, [{"source": "certificate"}], 2),
        ({}, [{"source": "self"}], 0),
        ({}, [{"source": "unstated"}], 0),
        ({}, [{"valid_until": ON}], 2),
        ({"expiry": "hard"}, [{"valid_until": ON}], 2),
        ({"expiry": "hard"}, [OVER], 0),
        ({"expiry": "review"}, [OVER], 2),
        (CERTIFICATE, [{"source": "certificate"}], 2),
        (CERTIFICATE, [{"source": "assessor"}], 0),
        (CERTIFICATE, [OVER | {"source": "certificate"}], 0),
        (CERTIFICATE | {"expiry": "review"}, [OVER | {"source": "certificate"}], 2),
        ({"safety": True}, [{"source": "manager"}], 2),
        ({"safety": True}, [{"source": "manager", "level": 4}, {"date": ON - DAY}], 2),
        ({}, [{"date": ON - DAY, "level": 4}, {}], 2),
    ],
)
def test_level_of_all_at_once_is_the_level_of_each(
    competency: dict[str, Any], assessments: list[dict[str, Any]], level: int
) -> None:
    snapshot = build_holder(competency, *assessments)
    assert (get_level(snapshot, "p", snapshot.competencies["c"], ON).level or 0) == level
    assert build_company_levels(snapshot, ON, ["c"]) == {"c": {"p": level} if level else {}}
    assert bool([*iterate_holders(snapshot, "c", 1, ON)]) == bool(level)


def test_holders_are_employed_there_and_not_away() -> None:
    assert [p.id for p, _ in iterate_holders(build_holder({}, {}), "c", 2, ON)] == ["p"]
    assert [*iterate_holders(build_holder({}, {}), "c", 3, ON)] == []
    assert [*iterate_holders(build_holder({}, {}), "c", 2, ON, away={"p"})] == []
    assert [*iterate_holders(build_holder({}, {}, end_date=ON - DAY), "c", 2, ON)] == []


def test_basis_of_a_level_is_its_assessment() -> None:
    snapshot = build_holder({}, {"valid_until": date(2030, 1, 1)})
    basis = make_level_basis(get_level(snapshot, "p", snapshot.competencies["c"], ON))
    assert basis is not None
    assert (basis.have, basis.source, basis.assessed_on, basis.valid_until) == (2, "assessor", ON, date(2030, 1, 1))
    unknown = build_holder({})
    assert make_level_basis(get_level(unknown, "p", unknown.competencies["c"], ON)) is None


def test_unknown_competencies_are_named() -> None:
    snapshot = build_holder({}, {})
    with pytest.raises(UnknownIdError):
        build_company_levels(snapshot, ON, ["nothing"])
    with pytest.raises(UnknownIdError):
        next(iterate_holders(snapshot, "nothing", 1, ON))
