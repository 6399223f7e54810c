"""The index of names finds what reading every name would, in any state of the graph."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from small_company import build_competencies, build_scale, build_snapshot

from ontology.model.folding import fold
from ontology.model.records import Competency, Role
from ontology.model.tables import TABLES
from ontology.snapshot.language_view import view_in
from ontology.snapshot.name_index import FITS, find_fit
from ontology.snapshot.search import find_hits, find_near, find_records
from ontology.snapshot.snapshot import Snapshot

_WORDS = st.sampled_from(["ab", "abc", "ba", "b", "Äb", "c-a", "1"])
_LABELS = st.lists(_WORDS, min_size=1, max_size=4).map(" ".join)
_IDS = st.sampled_from([f"r{n}" for n in range(6)])
_ROLES = st.dictionaries(_IDS, _LABELS, max_size=6)
_TEXTS = st.lists(st.sampled_from(["a", "ab", "abc", "b", "ba", "c", "r1", "1", "x"]), max_size=3).map(" ".join)


def build(roles: dict[str, str], others: list[str]) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("abc-k", label="ba abc", alt_labels=tuple(others)),
        roles=[{"id": role_id, "label": label} for role_id, label in roles.items()],
    )


def find_by_reading(snapshot: Snapshot, text: str) -> list[tuple[str, str, str, str]]:
    """Return kind, id, name and fit of all that fits, by the definition alone."""
    found = []
    records: list[tuple[str, Any]] = [("competency", c) for c in snapshot.competencies.values()]
    for kind, record in [*records, *(("role", r) for r in snapshot.roles.values())]:
        names = (record.label, *getattr(record, "alt_labels", ()), record.id)
        fits = [
            (FITS.index(fit), position)
            for position, name in enumerate(names)
            if (fit := find_fit(text, name)) and (name is not record.id or fit == "whole")
        ]
        if fits:
            fit, position = min(fits)
            found.append((fit, kind, fold(record.label), record.id, names[position]))
    return [(kind, record_id, name, FITS[fit]) for fit, kind, _, record_id, name in sorted(found)]


@given(_ROLES, st.lists(_LABELS, max_size=3), _TEXTS)
def test_the_index_finds_what_reading_every_name_finds(roles: dict[str, str], others: list[str], text: str) -> None:
    snapshot = build(roles, others)
    assert [(m.kind, m.id, m.name, m.fit) for m in find_records(snapshot, text)] == find_by_reading(snapshot, text)


@given(_ROLES, st.lists(_LABELS, max_size=3), _TEXTS, st.integers(0, 5), st.integers(0, 5))
def test_any_stretch_of_the_hits_is_that_of_all(
    roles: dict[str, str], others: list[str], text: str, first: int, more: int
) -> None:
    snapshot = build(roles, others)
    hits = find_hits(snapshot, text)
    everything = hits.take(0)
    # also where no more than these were looked for
    for found in (hits, find_hits(snapshot, text)):
        assert found.take(first, first + more) == everything[first : first + more]
    roles_found = tuple(match for match in everything if match.kind == "role")
    assert find_hits(snapshot, text).take(first, first + more, only="roles") == roles_found[first : first + more]
    assert len(hits) == len(everything)
    assert hits.count("roles") == sum(match.kind == "role" for match in everything)


@given(_ROLES, st.lists(_LABELS, max_size=3), st.lists(st.tuples(_IDS, st.none() | _LABELS), max_size=5), _TEXTS)
def test_an_index_carried_over_changes_finds_what_a_new_one_finds(
    roles: dict[str, str], others: list[str], edits: list[tuple[str, str | None]], text: str
) -> None:
    snapshot = build(roles, others)
    find_hits(snapshot, text)  # builds the indexes that are carried over
    kept: dict[str, Role] = {role.id: role for role in snapshot.roles.values()}
    for role_id, label in edits:
        if label is None:
            gone = [("roles", (role_id,))] if kept.pop(role_id, None) else []
            snapshot = snapshot.with_changes((), gone)
        else:
            kept[role_id] = TABLES["roles"].build(id=role_id, label=label)
            snapshot = snapshot.with_changes([("roles", kept[role_id])], ())
    fresh = build({role.id: role.label for role in kept.values()}, others)
    assert find_records(snapshot, text) == find_records(fresh, text)
    assert find_near(snapshot, text) == find_near(fresh, text)
    assert snapshot.competencies == {c.id: c for c in fresh.competencies.values() if isinstance(c, Competency)}


@given(_ROLES, _TEXTS)
def test_what_is_found_is_spelt_nearly_so(roles: dict[str, str], text: str) -> None:
    """A hit has every word of the text at the beginning of a word: it is as near as can be."""
    snapshot = build(roles, [])
    by_name = [match for match in find_records(snapshot, text) if match.name != match.id]
    assert len(find_near(snapshot, text)) >= min(3, len(by_name))


_SAID = st.dictionaries(st.tuples(_IDS, st.sampled_from(["de", "fr"])), _LABELS, max_size=6)


@given(_ROLES, _SAID, st.dictionaries(st.tuples(_IDS, st.just("de")), _LABELS, max_size=2), _TEXTS)
def test_names_in_every_language_are_found_as_reading_them_finds_them(
    roles: dict[str, str], said: dict[tuple[str, str], str], edits: dict[tuple[str, str], str], text: str
) -> None:
    snapshot = build(roles, [])
    put = TABLES["translations"].build
    for texts in (said, edits):  # the index is built between and carried over
        rows = [put(table="roles", id=i, column="label", language=tag, joined=t) for (i, tag), t in texts.items()]
        snapshot = snapshot.with_changes([("translations", row) for row in rows])
        find_hits(snapshot, text)
    told = said | edits
    for language in ("en", "de", "fr"):
        expected = []
        for role_id, label in roles.items():
            called = {"en": label} | {tag: t for (i, tag), t in told.items() if i == role_id}
            read = called.pop(language, label)
            if read is label:
                called.pop("en", None)
            names = [
                (read, None),
                *sorted(((t, tag) for tag, t in called.items()), key=lambda one: (one[1] != "en", one[1])),
            ]
            fits = [(FITS.index(fit), n) for n, (name, _) in enumerate(names) if (fit := find_fit(text, name))]
            fits += [(0, len(names))] if find_fit(text, role_id) == "whole" else []
            if fits:
                fit, n = min(fits)
                expected.append((fit, fold(read), role_id, *[*names, (role_id, None)][n]))
        found = find_hits(view_in(snapshot, language), text, ("roles",)).take(0)
        assert [(FITS.index(m.fit), fold(m.label), m.id, m.name, m.language) for m in found] == sorted(
            expected, key=lambda one: one[:3]
        )
