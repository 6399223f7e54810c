"""Linked data in and out: Turtle, JSON-LD, RDF/XML and their kin."""
