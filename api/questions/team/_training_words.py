"""A row and a cell of the training chart in words."""

from __future__ import annotations

from api.desk.names import Names
from ontology.analysis.training.training_chart import ChartCell, ChartRow


def name_cell(cell: ChartCell) -> str:
    """Return a cell in words and dates."""
    if cell.state == "holds":
        return "holds" if cell.until is None else f"holds, to {cell.until}"
    if cell.state == "due":
        return f"by {cell.due}"
    if cell.state == "later":
        return f"holds, from {cell.due}"
    return "no training planned" if cell.state == "not-planned" else "other crew"


def name_row(names: Names, row: ChartRow) -> tuple[str, str]:
    """Return what a row is about, and where and at which level it counts."""
    where = "whole team" if row.shift is None else names.shift(row.shift)
    if row.role is not None:
        return names.role(row.role), f"job, unsupervised, {where}"
    return names.competency(row.competency or ""), f"level {row.level}, {where}"
