"""The results of a session from a CSV file: a row for each person, with person, attended and passed."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from loaders.report import Loaded
from loaders.tables.csv_folder import load_csv_file
from ontology.analysis.sessions.results import SessionResult
from ontology.model.columns import Table, make_own, make_ref
from ontology.rdf import namespaces as ns

__all__ = ["load_results"]

#: No table of the store: its rows become bookings and assessments.
_RESULTS: Final = Table(
    "results",
    SessionResult,
    "result",
    "",
    ns.GRAPH_PEOPLE,
    (
        make_ref("person", "people", "Who has a seat."),
        make_own("attended", "flag", "Whether they were there."),
        make_own("passed", "flag", "Whether they passed.", default=False),
    ),
    ("person",),
)


def load_results(path: Path) -> Loaded:
    """Load the results of a session; `records["results"]` holds them, `origins` their rows.

    Raises
    ------
    FileFormatError
        The file is not there or cannot be read.
    LimitError
        It is too large.
    """
    loaded = Loaded(label=str(path))
    load_csv_file(path, _RESULTS, loaded)
    return loaded
