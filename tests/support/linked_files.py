"""Short files of linked data for tests: text in, what the loader hands over out."""

from __future__ import annotations

from pathlib import Path

from loaders.linked_data.linked_data import load_linked_data
from loaders.report import Loaded
from ontology.rdf import namespaces as ns

PREFIXES = (
    f"@prefix nw: <{ns.NW}> .\n@prefix skos: <{ns.SKOS}> .\n@prefix id: <{ns.ID}> .\n@prefix org: <{ns.ORG}> .\n"
    f"@prefix schema: <{ns.SCHEMA}> .\n@prefix dcterms: <{ns.DCTERMS}> .\n@prefix xsd: <{ns.XSD}> .\n"
)


def load_text(tmp_path: Path, text: str, name: str = "file.ttl", *, prefixed: bool = True) -> Loaded:
    path = tmp_path / name
    is_turtle = name.endswith(".ttl") and prefixed
    path.write_text((PREFIXES if is_turtle else "") + text, encoding="utf-8")
    return load_linked_data(path)


def tell(loaded: Loaded) -> list[tuple[str, str, str]]:
    return [(finding.severity, finding.column, finding.value) for finding in loaded.findings]
