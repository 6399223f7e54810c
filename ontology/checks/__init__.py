"""Checks of the graph: SHACL shapes (the norm), the SKOS integrity conditions, and our own rules."""
