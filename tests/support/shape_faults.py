"""Small companies as quads with faults in them: the same faults for the same seed."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable

from working_companies import build_working_company

from ontology.mapping.writer import build_quads, build_scale_quads
from ontology.model.tables import NODE_TABLES, TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_plain_value

CLASSES = [*(table.class_iri for table in NODE_TABLES.values()), ns.NW + "Scale"]
#: Faults are put into this many companies in turn.
N_COMPANIES = 7
#: What a shape says something about.
PREDICATES = {
    *(ns.iri_term(column.iri) for table in NODE_TABLES.values() for column in table.columns),
    *(ns.iri_term(ns.SKOS + name) for name in ("member", "memberList")),
    ns.RDF_TYPE,
}


def build_company_quads(seed: int) -> list[Quad]:
    """Return the quads of a small company that fits the shapes."""
    records = build_working_company(seed, size=2)
    quads = [quad for name, rows in records.items() for row in rows for quad in build_quads(TABLES[name], row)]
    scales = defaultdict(list)
    for level in records["scales"]:
        scales[level.scale].append(level)
    return quads + [quad for scale, levels in scales.items() for quad in build_scale_quads(scale, levels)]


def iri(text: str) -> str:
    return ns.iri_term(text)


def number(text: str, datatype: str = "integer") -> str:
    return ns.typed_term(text, datatype)


Mutation = Callable[[random.Random, list[Quad]], None]


def pick(rng: random.Random, quads: list[Quad], *, local: str = "") -> int:
    """Return the position of a statement that a shape is about; of these with this last part of the predicate."""
    found = [i for i, quad in enumerate(quads) if quad[2] in PREDICATES]
    return rng.choice([i for i in found if quads[i][2].endswith(f"{local}>")] or found)


def replace_value(quads: list[Quad], position: int, value: str) -> None:
    quads[position] = (*quads[position][:3], value)


def drop(rng: random.Random, quads: list[Quad]) -> None:
    del quads[pick(rng, quads)]


def double(rng: random.Random, quads: list[Quad]) -> None:
    graph, s, p, o = quads[pick(rng, quads)]
    others = sorted({quad[3] for quad in quads if quad[2] == p and quad[3] != o} or {ns.text_term("second")})
    quads.append((graph, s, p, rng.choice(others)))


def change_datatype(rng: random.Random, quads: list[Quad]) -> None:
    position = pick(rng, quads)
    kept = ns.text_term(get_plain_value(quads[position][3]))
    other = rng.choice([kept, f"{kept}@de", number("2"), number("2.5", "decimal"), number("2026-01-02", "date")])
    replace_value(quads, position, other)


def say_in_a_language(rng: random.Random, quads: list[Quad]) -> None:
    graph, s, p, o = quads[pick(rng, quads, local=rng.choice(["prefLabel", "definition", "altLabel"]))]
    kept = ns.text_term(get_plain_value(o))
    tags = rng.choice([("de",), ("de", "de"), ("de", "fr"), ("de-at", "de"), ()])
    quads += [(graph, s, p, f'{kept[:-1]} {n}"@{tag}') for n, tag in enumerate(tags)]
    if rng.random() < 0.3:
        quads.remove((graph, s, p, o))


def spoil_form(rng: random.Random, quads: list[Quad]) -> None:
    forms = [number("many"), number("2026-02-30", "date"), number("yes", "boolean"), number("1,5", "decimal")]
    replace_value(quads, pick(rng, quads), rng.choice([*forms, number("2.5", "double")]))


def leave_range(rng: random.Random, quads: list[Quad]) -> None:
    position = pick(rng, quads, local=rng.choice(["level", "rank", "minimum", "hours", "criticality", "monthsToFull"]))
    datatype = "decimal" if quads[position][2].endswith("hours>") else "integer"
    replace_value(quads, position, number(rng.choice(["-1", "0", "1", "5", "6", "99"]), datatype))


def refer_elsewhere(rng: random.Random, quads: list[Quad]) -> None:
    position = pick(
        rng, quads, local=rng.choice(["role", "competency", "team", "scale", "person", "broader", "member"])
    )
    nodes = sorted({quad[1] for quad in quads})
    replace_value(quads, position, rng.choice([iri(ns.ID + "role/nobody"), ns.text_term("r0"), rng.choice(nodes)]))


def put_iri(rng: random.Random, quads: list[Quad]) -> None:
    replace_value(quads, pick(rng, quads), iri("urn:x"))


def leave_list(rng: random.Random, quads: list[Quad]) -> None:
    predicate, subject = rng.choice(
        [("kind", "competency"), ("necessity", "requirement"), ("source", "assessment"), ("strand", "course")]
    )
    nodes = sorted({quad[1] for quad in quads if f"/{subject}/" in quad[1]})
    if nodes:
        value = rng.choice([ns.text_term("nice"), '"skill"@en', number("1"), ns.text_term("formal")])
        quads.append((ns.GRAPH_FRAMEWORK, rng.choice(nodes), iri(ns.NW + predicate), value))


def empty_text(rng: random.Random, quads: list[Quad]) -> None:
    replace_value(quads, pick(rng, quads, local=rng.choice(["prefLabel", "name"])), ns.text_term(""))


def identify(rng: random.Random, quads: list[Quad]) -> None:
    graph, s, *_ = quads[pick(rng, quads)]
    value = rng.choice(["ok", "a b", "-x", "", "Ä", "a.b_c-9"])
    quads.append((graph, s, iri(ns.DCTERMS + "identifier"), ns.text_term(value)))


def add_type(rng: random.Random, quads: list[Quad]) -> None:
    graph, s, *_ = quads[pick(rng, quads)]
    kind = rng.choice([*CLASSES, ns.SKOS + "Concept", ns.SKOS + "ConceptScheme"])
    quads.append((graph, s, ns.RDF_TYPE, iri(kind)))


def change_type(rng: random.Random, quads: list[Quad]) -> None:
    position = rng.choice([i for i, quad in enumerate(quads) if quad[2] == ns.RDF_TYPE])
    replace_value(quads, position, iri(rng.choice([*CLASSES, ns.SKOS + "Concept"])))


def make_subclass(rng: random.Random, quads: list[Quad]) -> None:
    kind = rng.choice(CLASSES)
    quads.append((ns.GRAPH_FRAMEWORK, iri("urn:part"), iri(ns.RDFS + "subClassOf"), iri(kind)))
    quads.append((ns.GRAPH_FRAMEWORK, iri("urn:whole"), iri(ns.RDFS + "subClassOf"), iri("urn:part")))
    for position in [i for i, quad in enumerate(quads) if quad[2:] == (ns.RDF_TYPE, iri(kind))][:1]:
        replace_value(quads, position, iri("urn:whole"))
    quads.append((ns.GRAPH_FRAMEWORK, iri("urn:new"), ns.RDF_TYPE, iri("urn:part")))


def swap_order(rng: random.Random, quads: list[Quad]) -> None:
    pairs = [("entryLevel", "level"), ("unsupervisedLevel", "level"), ("startDate", "endDate"), ("minimum", "target")]
    lesser, greater = rng.choice([*pairs, ("from", "to")])
    values = ("2026-03-02", "2026-03-01", "date") if "Date" in lesser or lesser == "from" else ("4", "1", "integer")
    graph, s, *_ = quads[pick(rng, quads)]
    quads[:] = [quad for quad in quads if quad[1] != s or quad[2] not in (iri(ns.NW + lesser), iri(ns.NW + greater))]
    quads += [
        (graph, s, iri(ns.NW + name), number(value, values[2]))
        for name, value in zip((lesser, greater), values, strict=False)
    ]


def make_concept(rng: random.Random, quads: list[Quad]) -> None:
    scales = sorted({quad[1] for quad in quads if quad[2:] == (ns.RDF_TYPE, iri(ns.NW + "Scale"))})
    if scales:
        kind = iri(ns.SKOS + rng.choice(["Concept", "ConceptScheme", "Collection"]))
        quads.append((ns.GRAPH_FRAMEWORK, rng.choice(scales), ns.RDF_TYPE, kind))


MUTATIONS: tuple[Mutation, ...] = (
    drop, double, change_datatype, spoil_form, leave_range, refer_elsewhere, put_iri, leave_list, empty_text, identify,
    add_type, change_type, make_subclass, swap_order, make_concept, say_in_a_language,
)  # fmt: skip


def build_faulty_quads(seed: int) -> list[Quad]:
    """Return the quads of a small company with one to three faults."""
    rng = random.Random(seed)
    quads = build_company_quads(seed % N_COMPANIES)
    for _ in range(rng.randint(1, 3)):
        MUTATIONS[rng.randrange(len(MUTATIONS))](rng, quads)
    return list(dict.fromkeys(quads))
