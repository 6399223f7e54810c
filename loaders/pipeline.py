"""From paths to one commit: guess the kind, load, check everything together, store or store nothing."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loaders.attempt import attempt
from loaders.limits import require_path
from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES, load_linked_data
from loaders.merging import merge
from loaders.open_data.esco import is_esco, load_esco
from loaders.open_data.onet import is_onet, load_onet
from loaders.open_standards.case_reader import load_case
from loaders.report import Loaded, LoadReport
from loaders.tables.csv_folder import load_csv_folder
from loaders.tables.workbook import load_workbook
from ontology.errors import FileFormatError, FindingsError, InputError, StaleError
from ontology.live.live_graph import LiveGraph
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

Progress = Callable[[str, int, int], None]

KINDS: Final = ("workbook", "csv", "linked-data", "onet", "esco", "case")


@dataclass(frozen=True)
class LoadCheck:
    """What storing all of a load would lead to, and where that is refused, what the sound rest of it would.

    `rest` is None where the whole is sound, or nothing of it is.
    """

    whole: LoadReport
    rest: LoadReport | None


def guess_kind(path: Path) -> str:
    """Return the kind of a file or folder: by the official file names of open data sets, then by suffix.

    Raises
    ------
    FileFormatError
        There is nothing there, or nothing that can be loaded.
    """
    require_path(path)
    if is_esco(path):
        return "esco"
    if is_onet(path):
        return "onet"
    suffix = path.suffix.lower()
    if path.is_dir() or suffix == ".csv":
        return "csv"
    if suffix in (".xlsx", ".xlsm"):
        return "workbook"
    if suffix in LINKED_DATA_SUFFIXES:
        return "linked-data"
    if suffix in (".ods", ".xls", ".xlsb"):
        raise FileFormatError(
            f"{path.name} is a spreadsheet of a kind that is not read; save it as .xlsx.", path=str(path)
        )
    raise FileFormatError(
        f"{path.name} cannot be loaded; what can: a workbook (.xlsx), CSV, linked data "
        f"({' '.join(sorted(LINKED_DATA_SUFFIXES))}), or the folder of an open data set.",
        path=str(path),
    )


def load_path(
    path: Path,
    kind: str | None = None,
    *,
    as_scale: str | None = None,
    scale: str | None = None,
    progress: Progress | None = None,
) -> Loaded:
    """Load one file or folder without storing anything.

    Raises
    ------
    FileFormatError, LimitError
        It cannot be read at all.
    """
    kind = kind or guess_kind(path)
    if kind not in KINDS:
        raise InputError(f"{kind!r} is not a kind of input; the kinds are {', '.join(KINDS)}.")
    require_path(path)
    if kind == "linked-data":
        return load_linked_data(path, as_scale=as_scale)
    if kind == "case":
        return load_case(path, scale or "")
    if kind == "onet":
        return load_onet(path, progress=progress)
    if kind == "esco":
        return load_esco(path, progress=progress)
    return load_workbook(path) if kind == "workbook" else load_csv_folder(path)


def load_paths(
    graph: LiveGraph,
    paths: Sequence[Path],
    *,
    kind: str | None = None,
    as_scale: str | None = None,
    scale: str | None = None,
    is_trial: bool = False,
    skip_faulty: bool = False,
    who: str = "command line",
    why: str = "",
    expected_revision: int | None = None,
    progress: Progress | None = None,
) -> LoadReport:
    """Load files and folders together into a graph, in one commit.

    Parameters
    ----------
    paths : files and folders; an id of one may be used in another
    kind : one of `KINDS`, or None to guess each
    as_scale : IRI of a SKOS scheme that becomes an ordered scale
    scale : id of the scale of what says none, in a CASE package
    is_trial : check everything, store nothing
    skip_faulty : store the sound rest; otherwise one error and nothing is stored
    who, why : kept in the history; `why` is "load" and the files where nothing is said
    expected_revision : the one the load was checked against
    progress : called with (what, done, total)

    Returns
    -------
    LoadReport
        Every finding, errors first.

    Raises
    ------
    FindingsError
        There are errors and `skip_faulty` is false; all findings are in it (the notices are its context `notices`),
        nothing is stored.
    StaleError
        The store has another revision than `expected_revision`.
    """
    with _without_collection():
        loaded = merge([load_path(path, kind, as_scale=as_scale, scale=scale, progress=progress) for path in paths])
        if progress is not None:
            progress("checking and storing", 0, 0)
        report = attempt(
            graph,
            loaded,
            is_trial=is_trial,
            skip_faulty=skip_faulty,
            who=who,
            why=why or f"load {', '.join(path.resolve().name for path in paths)}",
            expected_revision=expected_revision,
        )
    if report.is_refused:
        n_errors = sum(finding.severity == "error" for finding in report.findings)
        raise FindingsError(
            f"{format_count(n_errors, 'error')} found; nothing was stored.",
            report.findings,
            notices=list(report.notices) or None,
        )
    return report


def load_state(path: Path) -> tuple[Snapshot, frozenset[str], int]:
    """Return what a file or folder holds as a state, the tables it speaks of, and how many errors it has.

    Nothing is stored. Rows with errors are left out, and tables that could not be read to their end. What only the
    whole of a store could tell (an id that is nowhere in the file) is not judged.

    Raises
    ------
    FileFormatError, LimitError
        It cannot be read at all.
    """
    with _without_collection():
        loaded = load_path(path)
    n_errors = sum(finding.severity == "error" for finding in loaded.findings)
    tables = loaded.records.keys() - loaded.unread.keys() - loaded.untrusted.keys()
    name = f"{path}:{path.stat().st_mtime_ns}"
    return Snapshot(loaded.records, store_id=name), frozenset(tables), n_errors


def check_paths(graph: LiveGraph, paths: Sequence[Path]) -> LoadCheck:
    """Return what storing some files would lead to, and where there are errors, what storing the sound rest would.

    Raises
    ------
    FileFormatError, LimitError
        One of them cannot be read at all.
    """
    with _without_collection():
        loaded = merge([load_path(path) for path in paths])
        while True:
            try:
                whole = _try(graph, loaded, skip_faulty=False)
                rest = _try(graph, loaded, skip_faulty=True) if whole.is_refused else None
            except StaleError:
                continue
            if rest is None or rest.revision == whole.revision:
                return LoadCheck(whole, None if rest is None or rest.is_refused else rest)


def _try(graph: LiveGraph, loaded: Loaded, *, skip_faulty: bool) -> LoadReport:
    """Try to store a copy of what was loaded; StaleError where the store changes on the way."""
    revision = graph.get_snapshot().revision
    return attempt(
        graph, loaded.copy(), is_trial=True, skip_faulty=skip_faulty, who="", why="", expected_revision=revision
    )


@contextmanager
def _without_collection() -> Iterator[None]:
    """Hold back the garbage collector: a load makes millions of tuples that live to its end, and no cycles."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()
