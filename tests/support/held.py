"""Analyses that a question holds: what hands its parameters on by name has the analysis itself, not where it stands."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from api.desk.question import Question


def replace_held(monkeypatch: pytest.MonkeyPatch, question: Question, analysis: Callable[..., Any]) -> None:
    """Have a question made by `by_names` or `by_start` ask another analysis."""
    (held,) = (cell for cell in question.compute.__closure__ or () if callable(cell.cell_contents))
    monkeypatch.setattr(held, "cell_contents", analysis)
