"""Which language of a file its columns are in: the texts in that one are said plainly, the others are translations.

Tags are compared without regard to case (RDF 1.1 Concepts, section 3.3), and a text in a form of the main language
(en-gb for en) stands in where there is none in the language itself (RFC 4647, section 3.4: lookup).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

from loaders.linked_data.parser import RawQuad
from loaders.linked_data.records import OwnNodes
from ontology.errors import Finding
from ontology.mapping.tagged import get_tagged_columns
from ontology.model.framework_itself import FRAMEWORK, MAIN_LANGUAGE
from ontology.plurals import format_count
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import get_language, get_plain_value, has_language

__all__ = ["say_plainly"]

_LANGUAGE: Final = ns.iri_term(FRAMEWORK.get_column("language").iri)


def say_plainly(quads: Sequence[RawQuad], label: str) -> tuple[list[RawQuad], list[Finding]]:
    """Return the quads of a file with its records' texts in the main language without a tag; and a remark on a guess.

    The main language is what the file says of the framework, else en where any text of a record is plain or in it, else
    the one that most texts are in. O(n) for n quads.
    """
    tables = OwnNodes(quad[1:] for quad in quads).tables
    texts: defaultdict[tuple[str, str], list[RawQuad]] = defaultdict(list)
    for quad in quads:
        table = tables.get(quad[1])
        if table is not None and quad[2] in get_tagged_columns(table.name):
            texts[quad[1], quad[2]].append(quad)
    main, findings = _find_main(quads, [quad for group in texts.values() for quad in group], label)
    plain: dict[RawQuad, RawQuad] = {}
    for group in texts.values():
        for quad in _choose(group, main):
            plain[quad] = (*quad[:3], ns.text_term(get_plain_value(quad[3])))
    return list(dict.fromkeys(plain.get(quad, quad) for quad in quads)), findings


def _find_main(quads: Iterable[RawQuad], texts: Sequence[RawQuad], label: str) -> tuple[str, list[Finding]]:
    said = [get_plain_value(o).lower() for _, _, p, o in quads if p == _LANGUAGE]
    tags = Counter(get_language(o) for *_, o in texts)
    if said or not tags or any(tag in ("", MAIN_LANGUAGE) or tag.startswith(f"{MAIN_LANGUAGE}-") for tag in tags):
        return said[0] if said else MAIN_LANGUAGE, []
    main = min(tags, key=lambda tag: (-tags[tag], tag))
    count = format_count(tags[main], "text")
    reason = f"no text is in {MAIN_LANGUAGE} and none without a language: what is in {main} fills the columns ({count})"
    return main, [Finding("remark", label, 0, "", main, reason)]


def _choose(group: Sequence[RawQuad], main: str) -> list[RawQuad]:
    """Return which texts of one property of a record are those of its column."""
    own = [quad for quad in group if get_language(quad[3]) == main]
    if own or any(not has_language(quad[3]) for quad in group):
        return own
    forms = sorted({tag for quad in group if (tag := get_language(quad[3])).startswith(f"{main}-")})
    return [quad for quad in group if forms and get_language(quad[3]) == forms[0]]
