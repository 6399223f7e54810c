"""What a record is called."""

from __future__ import annotations

from typing import Any

from small_company import build_scale, build_snapshot

from ontology.snapshot.names import get_name, get_place_name
from ontology.snapshot.snapshot import Snapshot


def build(*places: dict[str, Any]) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        roles=[{"id": "op", "label": "Process operator"}],
        teams=[{"id": "t", "label": "Works"}],
        shifts=[{"id": "night", "team": "t", "label": "Night crew"}],
        people=[{"id": "p1", "name": "Ada Moreau"}],
        places=[{"team": "t", "role": "op", **place} for place in places],
    )


def test_place_is_named_by_its_label_else_by_role_and_shift() -> None:
    snapshot = build({"id": "a", "label": "Desk"}, {"id": "b", "shift": "night"}, {"id": "c"})
    names = [get_place_name(snapshot, place) for place in "abcx"]
    assert names == ["Desk", "Process operator, Night crew", "Process operator", "x"]


def test_places_alike_keep_their_ids_apart() -> None:
    snapshot = build({"id": "a"}, {"id": "b"}, {"id": "c", "label": "Desk"}, {"id": "d", "shift": "night"})
    names = [get_place_name(snapshot, place) for place in "abcd"]
    assert names == ["Process operator (a)", "Process operator (b)", "Desk", "Process operator, Night crew"]


def test_record_is_named_by_label_or_name_and_an_unknown_id_by_itself() -> None:
    snapshot = build()
    assert get_name(snapshot.people, "p1") == "Ada Moreau"
    assert get_name(snapshot.roles, "op") == "Process operator"
    assert get_name(snapshot.roles, "gone") == "gone"
