"""What a competency may be mapped to: how alike names, places and definitions are, in every language of both."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.likeness.grams import GramIndex
from ontology.analysis.likeness.labels import find_alike, find_alike_pairs, normalise, rate_each, rate_labels
from ontology.analysis.likeness.proposals import Proposal, find_proposals, propose_relation
from ontology.analysis.likeness.spoken_names import Called, get_called
from ontology.model.framework_itself import THIS
from ontology.snapshot.snapshot import Snapshot

#: Any languages: the German words are the plain translations of the English ones.
WELD, PAINT = {"de": "Schweißen", "fr": "Soudage"}, {"de": "Lackieren"}


def build(*rows: dict[str, Any], said: dict[str, dict[str, dict[str, str]]] | None = None, main: str = "") -> Snapshot:
    """Return a framework; `said`: competency -> language -> column -> text."""
    return build_snapshot(
        scales=build_scale(),
        competencies=[{"scale": "s5"} | row for row in rows],
        translations=[
            {"table": "competencies", "id": one, "column": column, "language": language, "joined": text}
            for one, languages in (said or {}).items()
            for language, texts in languages.items()
            for column, text in texts.items()
        ],
        framework=[{"id": THIS, "title": "Trades", "language": main}] if main else [],
    )


def propose(ours: Snapshot, theirs: Snapshot, **more: Any) -> list[Proposal]:
    return find_proposals(ours, theirs, "other", **({"least": 0.0} | more))


def compute_cosines(texts: list[str], asked: str) -> list[float]:
    """Return how alike a text and others are by the published formulas, computed plainly."""

    def count(text: str) -> Counter[str]:
        words = [f" {word} " for word in text.split()]
        return Counter(w[i : i + n] for w in words for n in (3, 4, 5) for i in range(len(w)) if i + n <= len(w))

    counts = [count(text) for text in texts]
    having = Counter(gram for one in counts for gram in one)

    def weigh(one: Counter[str]) -> dict[str, float]:
        idf = {gram: math.log((1 + len(texts)) / (1 + having[gram])) + 1 for gram in one}
        weights = {gram: (1 + math.log(n)) * idf[gram] for gram, n in one.items()}
        length = math.sqrt(sum(weight**2 for weight in weights.values()))
        return {gram: weight / length for gram, weight in weights.items()}

    mine = weigh(count(asked))
    return [sum(weight * mine.get(gram, 0.0) for gram, weight in weigh(one).items()) for one in counts]


def test_runs_of_letters_are_weighed_by_how_rare_they_are() -> None:
    """Salton, Wong and Yang (1975): cosine of vectors of tf-idf weights."""
    texts = ["weld pipes", "weld welded joints", "paint doors", "ab", "x"]
    index = GramIndex(texts)
    for asked in ("welding of pipes", "weld weld", "doors", "ab", "quartz"):
        expected = compute_cosines(texts, asked)
        assert list(index.rate_all(asked)) == pytest.approx(expected), asked
        assert [index.rate(asked, text) for text in texts] == pytest.approx(expected), asked
    assert list(index.rate_all("x")) == pytest.approx([0.0, 0.0, 0.0, 0.0, 1.0])
    assert index.rate("", "weld") == 0.0
    assert list(GramIndex([]).rate_all("weld")) == []


def test_labels_are_found_from_the_least_on_however_they_are_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("ontology.analysis.likeness.labels._AT_ONCE", 2)
    labels = ["paints", "repair old valves", "repair valves", "valves repair", "paint", ""]
    for least in (0.5, rate_labels(labels[1], labels[2]), 1.0):
        expected = [
            (n, m, score)
            for n, one in enumerate(labels)
            for m, other in enumerate(labels)
            if one and other and (score := rate_labels(one, other)) >= least
        ]
        found = [pair for pair in find_alike(labels, labels, least) if labels[pair[0]] and labels[pair[1]]]
        assert found == expected
        pairs = [pair for pair in find_alike_pairs(labels, least) if labels[pair[0]] and labels[pair[1]]]
        assert sorted(pairs) == [pair for pair in expected if pair[0] < pair[1]]
        for n, m, score in expected:
            assert rate_each(["x", labels[n]], ["y", labels[m]], least) == [0.0, score]
        assert rate_each(["paint"], ["valves"], least) == [0.0]


@pytest.mark.parametrize(
    ("mine", "theirs", "relation"),
    [
        (Called("weld", ()), Called("weld", ()), "exact"),
        (Called("weld", ()), Called("join", ("braze", "weld")), "exact"),
        (Called("join", ("braze", "weld")), Called("weld", ()), "exact"),
        (Called("weld", ("join",)), Called("braze", ("join",)), "close"),
        (Called("weld", ()), Called("weld pipes", ()), "narrow"),
        (Called("pipes weld", ()), Called("weld", ()), "broad"),
        (Called("weld", ()), Called("braze", ()), "close"),
        (Called("", ("weld",)), Called("braze", ("weld",)), "close"),
        (Called("", ("weld",)), Called("", ()), "close"),
        (Called("weld", ()), Called("", ("join",)), "close"),
    ],
)
def test_the_words_of_the_names_say_as_what_it_is_proposed(mine: Called, theirs: Called, relation: str) -> None:
    assert propose_relation(mine, theirs) == relation


def test_what_speaks_for_a_concept_is_weighed() -> None:
    above = {"id": "up", "label": "Metal work"}
    weld = {"id": "w", "label": "Weld pipes", "definition": "Joins pipes by heat.", "broader": ("up",)}
    ours = build(above, weld)
    theirs = build(above, weld | {"label": "Pipes weld", "definition": "Joins pipes."}, {"id": "x", "label": "Weld"})
    best, other = [one for one in propose(ours, theirs) if one.competency == "w"][:2]
    texts = ["metal work", "pipes weld", "weld"]
    text = 0.7 * compute_cosines(texts, "weld pipes")[1] + 0.3
    index = GramIndex(texts)
    meaning = index.rate(normalise("Joins pipes by heat."), "joins pipes")
    assert (best.concept, best.label, best.relation) == ("w", "Pipes weld", "close")
    assert (best.text, best.place, best.meaning) == (round(text, 4), 1.0, round(meaning, 4))
    assert best.score == round(0.8 * text + 0.1 + 0.1 * meaning, 4)
    # nothing stands above the other, and it says nothing of itself: its name alone speaks
    assert (other.concept, other.place, other.meaning, other.score) == ("x", None, None, other.text)
    assert other.relation == "broad"


def test_another_name_counts_nearly_as_the_label() -> None:
    ours, theirs = build({"id": "w", "label": "Weld"}), build({"id": "x", "label": "Join", "alt_labels": ("Weld",)})
    (one,) = propose(ours, theirs)
    assert (one.text, one.relation) == (0.95, "exact")
    (one,) = propose(build({"id": "w", "label": "Join metal", "alt_labels": ("Weld",)}), build(theirs_row("Weld")))
    assert one.text == 0.95


def theirs_row(label: str) -> dict[str, Any]:
    return {"id": "x", "label": label}


def test_names_in_a_language_that_both_have_count_as_those_of_the_main_one_do() -> None:
    """An architect with a German framework maps it onto an English one that has German texts."""
    ours = build({"id": "s", "label": WELD["de"]}, {"id": "l", "label": PAINT["de"]}, main="de")
    rows = ({"id": "weld", "label": "Weld metal"}, {"id": "paint", "label": "Apply lacquer"})
    assert all(one.score < 0.3 for one in propose(ours, build(*rows)))
    theirs = build(
        *rows,
        said={
            "weld": {"de": {"label": WELD["de"]}, "fr": {"label": WELD["fr"]}},
            "paint": {"de": {"label": "Anstreichen", "alt_labels": f"Malen|{PAINT['de']}"}},
        },
    )
    found = {one.competency: one for one in propose(ours, theirs, limit=1)}
    assert (found["s"].concept, found["s"].text, found["s"].relation) == ("weld", 1.0, "exact")
    assert (found["l"].concept, found["l"].text, found["l"].relation) == ("paint", 0.95, "exact")
    assert found["s"].label == "Weld metal"
    # the other way round, and where it is a translation on both sides
    (back,) = propose(theirs, ours, competencies=["weld"], limit=1)
    assert (back.concept, back.text, back.relation) == ("s", 1.0, "exact")
    french = build({"id": "f", "label": "Svetsning"}, said={"f": {"fr": {"label": WELD["fr"]}}}, main="sv")
    (both,) = propose(french, theirs, limit=1)
    assert (both.concept, both.text, both.relation) == ("weld", 1.0, "exact")
    # a word of one language that is a word of another, too: no language has both names
    assert all(one.text < 0.3 for one in propose(build({"id": "f", "label": WELD["fr"]}, main="sv"), theirs))


def test_what_one_language_calls_the_same_is_proposed_so_though_another_is_more_alike() -> None:
    said = {"w": {"de": {"label": "Rohre schweißen"}}}
    ours = build({"id": "w", "label": "Weld"}, said=said)
    said = {"x": {"de": {"label": "Schweißen: Rohre"}}}
    (one,) = propose(ours, build({"id": "x", "label": "Join", "alt_labels": ("Weld",)}, said=said))
    assert (one.text, one.relation) == (1.0, "exact")


def test_texts_in_two_languages_say_nothing_of_places_and_meanings() -> None:
    weld = {"id": "w", "definition": "Joins pipes.", "broader": ("up",)}
    rows = ({"id": "up", "label": "Metal"}, weld | {"label": "Weld"})
    german = build(*rows, main="de")
    one = next(one for one in propose(german, build(*rows)) if one.competency == one.concept == "w")
    assert (one.place, one.meaning, one.score) == (None, None, 1.0)
    said = {"up": {"de": {"label": "Metal"}}, "w": {"de": {"definition": "Joins pipes."}}}
    one = next(one for one in propose(german, build(*rows, said=said)) if one.competency == one.concept == "w")
    assert (one.place, one.meaning) == (1.0, 1.0)


def test_as_many_as_are_asked_for_that_are_not_mapped_yet() -> None:
    ours = build({"id": "w", "label": "Weld", "exact_match": ("http://x.example/1",)})
    rows = [{"id": f"x{n}", "label": f"Weld {n}"} for n in range(5)]
    rows[0]["exact_match"] = ("http://x.example/0", "http://x.example/1")
    rows[1]["exact_match"] = ("http://x.example/2",)
    theirs = build(*rows)
    found = propose(ours, theirs, limit=2)
    assert [(one.concept, one.target) for one in found] == [
        ("x1", "http://x.example/2"),
        ("x2", "https://newel.example/outside/other/competency/x2"),
    ]
    assert propose(ours, theirs, least=found[0].score, limit=9)
    assert not propose(ours, theirs, least=found[0].score + 0.001, limit=9)


def test_names_are_read_language_by_language() -> None:
    state = build(
        {"id": "w", "label": "Weld-IT", "alt_labels": ("Join", "--")}, said={"w": {"de": {"alt_labels": "A|B"}}}
    )
    record = state.competencies["w"]
    assert get_called(state, record, "en") == Called("weld it", ("join",))
    assert get_called(state, record, "de") == Called("", ("a", "b"))
    assert get_called(state, record, "fr").names == ()
