"""Who stood at a place on a day in the past, and what was known of them then: by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.obligations.proof import Proof, ProofRow, find_proof
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)
DAY = D(2026, 6, 10)
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale("s", 3),
    "competencies": [
        {"id": "crane", "label": "Crane", "scale": "s", "kind": "certificate"},
        {"id": "rig", "label": "Rigging", "scale": "s"},
        {"id": "talk", "label": "Talk", "scale": "s"},
    ],
    "roles": [{"id": "rigger", "label": "Rigger"}],
    "requirements": [
        {"role": "rigger", "competency": "crane", "level": 1, "necessity": "blocking"},
        {"role": "rigger", "competency": "rig", "level": 3, "unsupervised_level": 2, "entry_level": 0},
        {"role": "rigger", "competency": "talk", "level": 2, "necessity": "desirable"},
    ],
    "teams": [{"id": "crew", "label": "Crew"}],
    "places": [{"id": "hook", "team": "crew", "role": "rigger"}],
    "people": [{"id": "p", "name": "P", "team": "crew"}, {"id": "q", "name": "Q", "team": "crew"}],
    "duties": [{"person": "p", "place": "hook", "from_date": D(2026, 6, 9), "to_date": D(2026, 6, 11)}],
    "obligations": [{"id": "o", "label": "O", "competency": "crane", "rule": "place", "of": "hook"}],
}
CARD: dict[str, Any] = {
    "person": "p",
    "competency": "crane",
    "level": 1,
    "date": D(2026, 5, 1),
    "source": "certificate",
    "valid_until": D(2027, 5, 1),
    "recorded_on": D(2026, 5, 2),
    "evidence": "file 12",
}


def build(*assessments: dict[str, Any], **more: Any) -> Snapshot:
    return build_snapshot(**(ROWS | {"assessments": list(assessments)} | more))


def prove(snapshot: Snapshot, day: date = DAY, on: date = ON, known_on: date | None = None) -> Proof:
    return find_proof(snapshot, "hook", on=on, day=day, known_on=known_on)


def get_rows(proof: Proof) -> dict[tuple[str, str], ProofRow]:
    (person,) = proof.people
    return {(row.kind, row.competency): row for row in person.rows}


def judge(known_on: date | None = None, **more: Any) -> str:
    """Return the verdict on the certificate, once as a requirement and once as an obligation."""
    rows = get_rows(prove(build(CARD | more), known_on=known_on))
    (verdict,) = {rows[kind, "crane"].verdict for kind in ("requirement", "obligation")}
    return str(verdict)


def test_rows_are_what_role_and_obligations_asked_that_day() -> None:
    proof = prove(build(CARD))
    (person,) = proof.people
    assert (person.person, person.supervised_by, person.is_absent) == ("p", None, False)
    assert [(row.kind, row.competency, row.level, row.verdict) for row in person.rows] == [
        ("requirement", "crane", 1, "valid"),
        ("requirement", "rig", 2, "not-valid"),
        ("obligation", "crane", 1, "valid"),
    ]
    row = person.rows[0]
    assert (row.source, row.assessed_on, row.valid_until) == ("certificate", D(2026, 5, 1), D(2027, 5, 1))
    assert (row.recorded_on, row.evidence) == (D(2026, 5, 2), "file 12")
    assert (proof.day, proof.known_on, proof.on, proof.remarks) == (DAY, DAY, ON, ())


def test_it_is_judged_by_what_was_known_then_and_by_what_is_known_now() -> None:
    """Trap 4: known by a day is what was recorded by it and not taken back by it."""
    assert judge() == "valid"
    assert judge(recorded_on=D(2026, 6, 11)) == "recorded-later"
    assert judge(recorded_on=D(2026, 6, 11), known_on=D(2026, 6, 11)) == "valid"
    assert judge(withdrawn_on=D(2026, 6, 11)) == "withdrawn-since"
    assert judge(withdrawn_on=D(2026, 6, 10)) == "not-valid"
    assert judge(recorded_on=D(2026, 6, 11), withdrawn_on=D(2026, 6, 12)) == "not-valid"
    assert judge(valid_until=D(2026, 6, 9)) == "not-valid"
    assert judge(valid_until=DAY) == "valid"


def test_correction_is_a_withdrawal_and_a_new_record() -> None:
    wrong = CARD | {"valid_until": D(2026, 6, 1), "withdrawn_on": D(2026, 7, 1)}
    right = CARD | {"assessor": "e9", "recorded_on": D(2026, 7, 1)}
    row = get_rows(prove(build(wrong, right)))["obligation", "crane"]
    assert (row.verdict, row.recorded_on) == ("recorded-later", D(2026, 7, 1))


def test_record_without_a_day_of_recording_is_taken_as_of_its_own_day_with_a_remark() -> None:
    proof = prove(build(CARD | {"recorded_on": None}))
    assert get_rows(proof)["requirement", "crane"].recorded_on == D(2026, 5, 1)
    assert proof.remarks == ("1 record names no day on which it was written down: the day of assessment is taken.",)


def test_who_is_watched_over_must_hold_the_entry_level_and_level_zero_asks_nothing() -> None:
    duties = [ROWS["duties"][0] | {"supervised_by": "q"}]
    (person,) = prove(build(CARD, duties=duties)).people
    assert person.supervised_by == "q"
    assert [(row.kind, row.competency) for row in person.rows] == [("requirement", "crane"), ("obligation", "crane")]
    # a second duty that day without anybody to watch over them
    alone = [*duties, {"person": "p", "place": "hook", "from_date": DAY}]
    (person,) = prove(build(CARD, duties=alone)).people
    assert (person.supervised_by, len(person.rows)) == (None, 3)


def test_requirement_is_judged_by_level_and_obligation_by_met() -> None:
    """A review that is due leaves the level, and is not met."""
    assessed = {"person": "p", "competency": "rig", "level": 3, "date": D(2025, 1, 1), "source": "assessor"}
    assessed |= {"valid_until": D(2026, 1, 1)}
    competencies = [ROWS["competencies"][0], ROWS["competencies"][1] | {"expiry": "review"}, ROWS["competencies"][2]]
    asked = [{"id": "o", "label": "O", "competency": "rig", "level": 2}]
    rows = get_rows(prove(build(assessed, competencies=competencies, obligations=asked)))
    assert rows["requirement", "rig"].verdict == "valid"
    assert rows["obligation", "rig"].verdict == "not-valid"


def test_requirement_needs_the_appointment_in_force_and_known_and_the_obligation_does_not() -> None:
    competencies = [ROWS["competencies"][0] | {"appointment": True}, *ROWS["competencies"][1:]]

    def tell(**appointment: Any) -> tuple[str, str]:
        rows = [{"person": "p", "competency": "crane"} | appointment] if appointment else []
        found = get_rows(prove(build(CARD, competencies=competencies, appointments=rows)))
        return found["requirement", "crane"].verdict, found["obligation", "crane"].verdict

    assert tell() == ("not-valid", "valid")
    assert tell(from_date=D(2026, 6, 1)) == ("valid", "valid")
    assert tell(from_date=D(2026, 6, 1), to_date=D(2026, 6, 9)) == ("not-valid", "valid")
    assert tell(from_date=D(2026, 6, 1), recorded_on=D(2026, 7, 1)) == ("recorded-later", "valid")


def test_only_who_has_a_duty_that_day_and_an_absence_is_told_without_a_reason() -> None:
    away = [{"person": "p", "from_date": DAY, "to_date": DAY}]
    snapshot = build(CARD, absences=away)
    assert [person.is_absent for person in prove(snapshot).people] == [True]
    assert prove(snapshot, D(2026, 6, 8)).people == prove(snapshot, D(2026, 6, 12)).people == ()


def test_day_to_come_is_judged_by_what_is_known_today() -> None:
    duties = [{"person": "p", "place": "hook", "from_date": D(2026, 12, 1)}]
    later = CARD | {"date": D(2026, 11, 20), "recorded_on": D(2026, 11, 1)}
    proof = prove(build(later, duties=duties), D(2026, 12, 1))
    assert proof.known_on == ON
    assert get_rows(proof)["obligation", "crane"].verdict == "not-valid"


def test_wrong_input_names_what_is_wrong() -> None:
    with pytest.raises(UnknownIdError):
        find_proof(build(), "nowhere", on=ON, day=DAY)
    with pytest.raises(InputError) as error:
        prove(build(), known_on=D(2026, 11, 17))
    assert error.value.context["parameter"] == "known_on"
    assert prove(build(), known_on=ON).known_on == ON
