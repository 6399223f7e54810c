"""The findings of a load as one CSV file: those that only follow from others stand below them and say from which."""

from __future__ import annotations

from loaders.report import LoadReport
from loaders.tables.table_writers import format_row
from ontology.errors import Finding

__all__ = ["write_findings"]

_HEADER = ("kind", "where", "row", "column", "says", "what would be right", "follows from")


def write_findings(report: LoadReport) -> bytes:
    """Return every finding of a load as CSV (RFC 4180, UTF-8), which no spreadsheet program runs anything of."""
    rows = [_list_cells(finding, "") for finding in report.findings]
    rows += [_list_cells(entry.finding, f"{entry.cause[0]}, row {entry.cause[1]}") for entry in report.consequences]
    return "".join(map(format_row, (_HEADER, *rows))).encode()


def _list_cells(finding: Finding, cause: str) -> tuple[str, ...]:
    row = str(finding.row) if finding.row else ""
    return (finding.severity, finding.source, row, finding.column, finding.value, finding.reason, cause)
