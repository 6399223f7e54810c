"""HTML pages."""
