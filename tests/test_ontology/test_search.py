"""Records found by name."""

from __future__ import annotations

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from ontology.model.folding import fold
from ontology.snapshot.indexes import MOST_EDITS
from ontology.snapshot.name_index import NameIndex, find_fit
from ontology.snapshot.search import find_near, find_records
from ontology.snapshot.snapshot import Snapshot


def build() -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("pump", label="Pump operation", alt_labels=("Förderpumpen",)),
        roles=[{"id": "op", "label": "Operator"}, {"id": "pump-op", "label": "Pump operator"}],
        courses=[{"id": "k1", "label": "Operator course", "hours": 8.0}],
        teams=[{"id": "t", "label": "Late operators"}],
        people=[{"id": "p1", "name": "José Łuka"}, {"id": "p2", "name": "Josefine Opitz"}],
    )


@pytest.mark.parametrize(
    ("text", "name", "fit"),
    [
        ("jose LUKA", "José Łuka", "whole"),
        ("jos", "José Łuka", "beginning"),
        ("jose lu", "José Łuka", "beginning"),
        ("luka", "José Łuka", "word"),
        ("luka jose", "José Łuka", "word"),
        ("lu", "José Łuka", "inside"),
        ("lu jo", "José Łuka", "inside"),
        ("uka", "José Łuka", ""),
        ("jose maria", "José Łuka", ""),
        ("jose luka junior", "José Łuka", ""),
        ("", "José Łuka", ""),
        ("-", "José Łuka", ""),
        ("leak-location", "Leak location", "whole"),
        ("STRASSE", "Straße", "whole"),
    ],
)
def test_every_word_must_begin_a_word_of_the_name(text: str, name: str, fit: str) -> None:
    assert find_fit(text, name) == fit


def test_the_closest_come_first_then_kinds_labels_and_ids() -> None:
    found = [(match.kind, match.id, match.fit) for match in find_records(build(), "operator")]
    assert found == [
        ("role", "op", "whole"),
        ("course", "k1", "beginning"),
        ("role", "pump-op", "word"),
        ("team", "t", "inside"),
    ]


def test_whole_ids_and_other_names_find_their_record_too() -> None:
    assert [(m.id, m.name) for m in find_records(build(), "forderp")] == [("pump", "Förderpumpen")]
    assert [(m.id, m.name, m.fit) for m in find_records(build(), "P2")] == [("p2", "p2", "whole")]
    assert find_records(build(), "p2", ("roles",)) == ()
    assert [m.id for m in find_records(build(), "pump op")] == ["pump-op", "pump"]
    assert find_records(build(), "k") == ()  # begins the id k1, and no name


def test_what_is_spelt_nearly_so_is_told() -> None:
    assert [near.id for near in find_near(build(), "Josse Luka", ("people",))] == ["p1"]
    assert [(near.kind, near.label) for near in find_near(build(), "operatr")] == [
        ("course", "Operator course"),
        ("role", "Operator"),
        ("role", "Pump operator"),
    ]
    assert find_near(build(), "xyzzy") == ()


def test_folding_is_stable() -> None:
    for text in ("ÀÉ ß ŁØ", "ﬁlter  ①", "Ⅷ", "İstanbul"):
        assert fold(fold(text)) == fold(text)


def test_an_index_with_many_changes_is_built_anew_and_finds_the_same() -> None:
    index = NameIndex({"a": ("Pump",), "b": ("Valve",)})
    changed: dict[str, tuple[str, ...] | None] = {f"n{n}": (f"Pump {n}",) for n in range(MOST_EDITS)}
    for after in (index.with_changes({"a": None, "n1": ("Pump 1",)}), index.with_changes({**changed, "a": None})):
        assert after.find(["pump", "1"])[0] == [("pump 1", "n1")]
        assert [key for fit in after.find(["pump"]) for key in fit if key[1] == "a"] == []
        assert after.find(["val"])[1] == [("valve", "b")]


def test_a_word_asked_twice_is_no_closer() -> None:
    assert find_fit("pump pump", "Pump") == "word"
