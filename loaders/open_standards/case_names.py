"""Names of CASE 1.1 and how its nodes are told apart: kinds of items, kinds of associations, identifiers, links.

1EdTech Competencies and Academic Standards Exchange, version 1.1: names and required members from memory and from
our design, as no copy of the specification is read here.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any, Final

from ontology.rdf import namespaces as ns

__all__ = [
    "CHILD",
    "EXACT",
    "EXTENSION",
    "LEVEL",
    "LEVEL_OF",
    "REPLACED",
    "REQUIRED",
    "SCALE",
    "TRANSLATION",
    "VERSION",
    "build_link",
    "make_identifier",
]

VERSION: Final = "1.1"
#: Our kinds of items that are no competencies.
SCALE, LEVEL = "Proficiency scale", "Proficiency level"
#: Kinds of associations that are read and written.
CHILD, EXACT, REPLACED, LEVEL_OF = "isChildOf", "exactMatchOf", "replacedBy", "hasSkillLevel"
RELATED: Final = "isRelatedTo"
#: From an item in another language to the item it says again.
TRANSLATION: Final = "isTranslationOf"
#: Under this name stands, in the extensions of a node, what CASE has no member for.
EXTENSION: Final = ns.NW
#: Members that each node of a package must have.
REQUIRED: Final[Mapping[str, tuple[str, ...]]] = {
    "CFDocument": ("identifier", "uri", "creator", "title", "lastChangeDateTime"),
    "CFItems": ("identifier", "uri", "fullStatement", "lastChangeDateTime"),
    "CFAssociations": (
        *("identifier", "uri", "associationType", "originNodeURI", "destinationNodeURI", "lastChangeDateTime"),
    ),
    "link": ("title", "identifier", "uri"),
}


def make_identifier(iri: str) -> str:
    """Return the identifier of a node: a UUID made of its IRI (RFC 9562, version 5, the name space of addresses).

    Examples
    --------
    >>> make_identifier("urn:x:a") == make_identifier("urn:x:a") != make_identifier("urn:x:b")
    True
    """
    return str(uuid.uuid5(uuid.NAMESPACE_URL, iri))


def build_link(iri: str, title: str) -> dict[str, Any]:
    """Return a link to a node."""
    return {"title": title, "identifier": make_identifier(iri), "uri": iri}
