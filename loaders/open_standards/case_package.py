"""A CASE package as it is read: its nodes with the members they must have, and who is associated with whom."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from loaders.limits import read_file
from loaders.open_standards import case_names as case
from ontology.errors import FileFormatError, Finding

__all__ = ["CasePackage", "Node", "read_package"]

_LISTS: Final = ("CFItems", "CFAssociations")
_OWN: Final = "extensions"
#: Without these a node cannot be read; when it was changed last, say, nobody needs to know.
_WANTED: Final = {
    "CFItems": ("identifier", "fullStatement"),
    "CFAssociations": ("associationType", "originNodeURI", "destinationNodeURI"),
}


@dataclass(frozen=True, slots=True)
class Node:
    """One node of a package: where it stands in it, and its members."""

    address: str
    members: Mapping[str, Any]

    @property
    def at(self) -> str:
        """What tells it from the others: its address in the package."""
        return self.address

    @property
    def identifier(self) -> str:
        """Its identifier."""
        return self.get("identifier")

    @property
    def code(self) -> str:
        """Its human coding scheme."""
        return self.get("humanCodingScheme").strip()

    @property
    def kind(self) -> str:
        """The type of an item, in small letters."""
        return self.get("CFItemType").strip().casefold()

    @property
    def statement(self) -> str:
        """Its full statement."""
        return self.get("fullStatement")

    @property
    def label(self) -> str:
        """What people read: the abbreviated statement, else the full one."""
        return self.get("abbreviatedStatement") or self.statement

    @property
    def own(self) -> Mapping[str, Any]:
        """What stands in its extensions under our name."""
        extensions = self.members.get(_OWN)
        own = extensions.get(case.EXTENSION) if isinstance(extensions, dict) else None
        return own if isinstance(own, dict) else {}

    def get(self, name: str) -> str:
        """Return a member that is a text; "" where there is none."""
        value = self.members.get(name)
        return value if isinstance(value, str) else ""


@dataclass
class CasePackage:
    """The document, the items, and the associations by kind: both ends, None where one is in no item."""

    document: Node
    items: list[Node]
    associations: list[Node]
    _by_name: dict[str, Node] = field(default_factory=dict)
    _from: dict[str, dict[str, list[Node]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Index the ends of all associations."""
        for node in self.items:
            for name in (node.get("uri"), node.identifier):
                self._by_name.setdefault(name, node)
        self._from = defaultdict(lambda: defaultdict(list))
        for one in self.associations:
            origin = self._find_end(one, "originNodeURI")
            if origin is not None:
                self._from[one.get("associationType")][origin.at].append(one)

    def iterate(self, kind: str) -> Iterator[tuple[Node | None, Node | None, Any]]:
        """Yield both ends and the sequence number of each association of a kind."""
        for one in self.associations:
            if one.get("associationType") == kind:
                number = one.members.get("sequenceNumber")
                yield self._find_end(one, "originNodeURI"), self._find_end(one, "destinationNodeURI"), number

    def iterate_own(self, kind: str) -> Iterator[tuple[Node | None, Node | None, Mapping[str, Any]]]:
        """Yield both ends of each association of a kind, and what stands in its extensions under our name."""
        for one in self.associations:
            if one.get("associationType") == kind:
                yield self._find_end(one, "originNodeURI"), self._find_end(one, "destinationNodeURI"), one.own

    def find(self, kind: str, node: Node) -> list[Node]:
        """Return the items that a node points to by a kind of association."""
        ends = (self._find_end(one, "destinationNodeURI") for one in self._from[kind][node.at])
        return [end for end in ends if end is not None]

    def find_addresses(self, kind: str, node: Node) -> list[str]:
        """Return the URIs that a node points to by a kind of association, in the package or not."""
        links = (one.members["destinationNodeURI"] for one in self._from[kind][node.at])
        return [str(link.get("uri", "")) for link in links]

    def count_kinds(self) -> Counter[str]:
        """Return kind of association -> how many there are."""
        return Counter(one.get("associationType") for one in self.associations)

    def _find_end(self, association: Node, name: str) -> Node | None:
        link = association.members[name]
        return self._by_name.get(str(link.get("uri", ""))) or self._by_name.get(str(link.get("identifier", "")))


def read_package(path: Path, findings: list[Finding]) -> CasePackage:
    """Return the package of a file; a node without a member that it must have is a finding, and left out.

    Raises
    ------
    FileFormatError, LimitError
        It is no JSON document of a package, or too large.
    """
    try:
        document = json.loads(read_file(path).decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise FileFormatError(f"{path} is no JSON document: {error}.", path=str(path)) from None
    if not isinstance(document, dict) or not isinstance(document.get("CFDocument"), dict):
        raise FileFormatError(f"{path} is no CASE package: it has no CFDocument.", path=str(path))
    for name in _LISTS:
        if not isinstance(document.setdefault(name, []), list):
            raise FileFormatError(f"{path} is no CASE package: {name} is no list.", path=str(path))
    about = Node("CFDocument", document["CFDocument"])
    nodes = {name: [Node(f"{name}/{n}", one) for n, one in enumerate(document[name])] for name in _LISTS}
    sound = {
        name: [node for node in listed if _is_whole(node, _WANTED[name], str(path), findings)]
        for name, listed in nodes.items()
    }
    if not _is_whole(about, ("title",), str(path), findings):
        about = Node("CFDocument", {"title": path.stem})
    return CasePackage(about, sound["CFItems"], sound["CFAssociations"])


def _is_whole(node: Node, wanted: tuple[str, ...], path: str, findings: list[Finding]) -> bool:
    """Whether a node has the members that it must have, each of its kind."""
    missing = [name for name in wanted if not _is_there(node.members, name)]
    where, reason = f"{path}, {node.address}", "is missing or empty; it is required"
    findings += [Finding("error", where, 0, name, "", reason) for name in missing]
    return not missing


def _is_there(members: object, name: str) -> bool:
    if not isinstance(members, dict):
        return False
    value = members.get(name)
    if name.endswith("NodeURI"):
        return isinstance(value, dict) and any(isinstance(value.get(one), str) for one in ("uri", "identifier"))
    return isinstance(value, str) and bool(value.strip())
