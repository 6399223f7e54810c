"""Records found by name."""

from __future__ import annotations

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.model.folding import fold
from ontology.model.tables import TABLES
from ontology.snapshot.indexes import MOST_EDITS
from ontology.snapshot.language_view import view_in
from ontology.snapshot.name_index import NameIndex, find_fit
from ontology.snapshot.search import find_hits, find_near, find_records
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


def build_spoken() -> Snapshot:
    """Return what is called something in English, the main language, in German and in French."""
    said = [
        ("competencies", "pump", "label", "de", "Pumpen bedienen"),
        ("competencies", "pump", "alt_labels", "de", "Förderpumpen fahren|Anlagen"),
        ("competencies", "pump", "label", "fr", "Pompes"),
        ("competencies", "pump", "definition", "de", "Lange Erklärung"),
        ("roles", "op", "label", "de", "Anlagenfahrer"),
        ("roles", "gone", "label", "de", "Pumpenwart"),
    ]
    keys = ("table", "id", "column", "language", "joined")
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("pump", label="Pump operation", alt_labels=("Pumping",)),
        roles=[
            {"id": "op", "label": "Operator"},
            {"id": "gone", "label": "Attendant", "retired_on": ON},
            {"id": "an", "label": "Anlagen"},
        ],
        translations=[dict(zip(keys, row, strict=True)) for row in said],
    )


def tell(snapshot: Snapshot, text: str) -> list[tuple[str, str, str, str, str | None]]:
    return [(m.id, m.label, m.name, m.fit, m.language) for m in find_records(snapshot, text)]


def test_a_name_in_another_language_finds_its_record_and_says_in_which() -> None:
    state = build_spoken()
    assert tell(state, "forder") == [("pump", "Pump operation", "Förderpumpen fahren", "beginning", "de")]
    assert tell(state, "pompes") == [("pump", "Pump operation", "Pompes", "whole", "fr")]
    # the closest counts, and of equals what is read
    assert tell(state, "pum") == [("pump", "Pump operation", "Pump operation", "beginning", None)]
    assert tell(state, "anlagen") == [
        ("pump", "Pump operation", "Anlagen", "whole", "de"),
        ("an", "Anlagen", "Anlagen", "whole", None),
        ("op", "Operator", "Anlagenfahrer", "beginning", "de"),
    ]
    assert [(hits.count("roles"), len(hits)) for hits in [find_hits(state, "anlagen")]] == [(2, 3)]
    # no name: a definition; what is retired; the key of a translation
    for text in ("lange", "erklarung", "pumpenwart", "op de label", "pump de label"):
        assert tell(state, text) == []
    assert [near.label for near in find_near(state, "Anlagenfarer")] == ["Operator"]


def test_in_another_language_the_main_one_is_another() -> None:
    view = view_in(build_spoken(), "de")
    assert tell(view, "operator") == [("op", "Anlagenfahrer", "Operator", "whole", "en")]
    assert tell(view, "pump op") == [("pump", "Pumpen bedienen", "Pump operation", "beginning", "en")]
    assert tell(view, "pompes") == [("pump", "Pumpen bedienen", "Pompes", "whole", "fr")]
    assert tell(view, "forder") == [("pump", "Pumpen bedienen", "Förderpumpen fahren", "beginning", None)]
    assert [near.label for near in find_near(view, "operater")] == ["Anlagenfahrer"]
    assert tell(view_in(build_spoken(), "fr"), "pumping") == [("pump", "Pompes", "Pumping", "whole", None)]


def test_a_change_of_a_translation_is_found_at_once() -> None:
    state = build_spoken()
    assert tell(state, "kreisel") == []  # builds the index that is carried over
    build = TABLES["translations"].build
    new = build(table="roles", id="op", column="label", language="de", joined="Kreiselfahrer")
    after = state.with_changes([("translations", new)], [("translations", ("competencies", "pump", "label", "fr"))])
    assert tell(after, "kreisel") == [("op", "Operator", "Kreiselfahrer", "beginning", "de")]
    assert [one[0] for one in tell(after, "anlagen")] == ["pump", "an"]
    assert tell(after, "pompes") == []
    assert tell(state, "pompes")
    first = build_snapshot(roles=[{"id": "op", "label": "Operator"}])
    assert tell(first, "kreisel") == []
    assert [one[0] for one in tell(first.with_changes([("translations", new)]), "kreisel")] == ["op"]
