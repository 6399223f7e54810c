"""From paths to one commit: guess the kind, load, complete, check everything together, store or store nothing.

Imports the loaders and `ontology.live.live_graph`.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Final, NoReturn

from loaders.addresses import address, find_key, is_folded
from loaders.assessment_ends import AssessmentEnds
from loaders.limits import require_path
from loaders.linked_data.linked_data import LINKED_DATA_SUFFIXES, load_linked_data
from loaders.open_data.esco import is_esco, load_esco
from loaders.open_data.onet import is_onet, load_onet
from loaders.report import Loaded, LoadReport, sort_findings
from loaders.tables.csv_folder import load_csv_folder
from loaders.tables.workbook import load_workbook
from ontology.checks.meanings import SOURCE as MEANINGS
from ontology.errors import FileFormatError, Finding, FindingsError, InputError
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.plurals import format_count

Progress = Callable[[str, int, int], None]

KINDS: Final = ("workbook", "csv", "linked-data", "onet", "esco")


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
    path: Path, kind: str | None = None, *, as_scale: str | None = None, progress: Progress | None = None
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
    is_trial: bool = False,
    skip_faulty: bool = False,
    who: str = "command line",
    progress: Progress | None = None,
) -> LoadReport:
    """Load files and folders together into a graph, in one commit.

    Parameters
    ----------
    graph : LiveGraph
    paths : files and folders; an id of one may be used in another
    kind : one of `KINDS`, or None to guess each
    as_scale : IRI of a SKOS scheme that becomes an ordered scale
    is_trial : check everything, store nothing
    skip_faulty : store the sound rest; otherwise one error and nothing is stored
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
    """
    with _without_collection():
        return _load(graph, paths, kind, as_scale, is_trial, skip_faulty, who, progress)


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


def _load(
    graph: LiveGraph,
    paths: Sequence[Path],
    kind: str | None,
    as_scale: str | None,
    is_trial: bool,
    skip_faulty: bool,
    who: str,
    progress: Progress | None,
) -> LoadReport:
    loaded = _merge([load_path(path, kind, as_scale=as_scale, progress=progress) for path in paths])
    present = graph.get_snapshot()
    ends = AssessmentEnds(loaded, present)
    ends.fill()
    notices = _make_notices(loaded)
    n_skipped = len(loaded.faulty) + (_leave_out_untrusted(loaded) if skip_faulty else 0)
    findings = list(loaded.findings)
    has_errors = any(finding.severity == "error" for finding in findings)
    why = f"load {loaded.label}"
    if progress is not None:
        progress("checking and storing", 0, 0)
    while True:
        try:
            applied = graph.load(
                loaded.records,
                loaded.extra,
                who=who,
                why=why,
                is_trial=is_trial or (has_errors and not skip_faulty),
            )
            findings += [address(f, loaded) for f in applied.remarks if not is_folded(f, loaded)]
            break
        except FindingsError as error:
            found = [
                address(finding, loaded)
                for finding in error.findings
                if (finding.severity == "error") and not is_folded(finding, loaded)
            ]
            if not skip_faulty:
                remarks = (f for f in error.findings if f.severity == "remark")
                rest = [address(f, loaded) for f in remarks if not is_folded(f, loaded)]
                _fail(findings + found + rest, notices)
            findings += found
            has_errors = True
            n_dropped = _drop(loaded, error.findings)
            if n_dropped == 0:
                _fail(findings, notices)
            n_skipped += n_dropped
            ends.fill_again()
    if has_errors and not skip_faulty:
        _fail(findings, notices)
    return LoadReport(
        revision=applied.revision,
        counts=loaded.count(),
        n_extra=len(loaded.extra),
        findings=tuple(sort_findings(findings)),
        notices=notices,
        n_skipped=n_skipped,
        is_stored=not is_trial,
    )


def _fail(findings: Iterable[Finding], notices: Sequence[str]) -> NoReturn:
    ordered = sort_findings(list(findings))
    n_errors = sum(finding.severity == "error" for finding in ordered)
    raise FindingsError(
        f"{format_count(n_errors, 'error')} found; nothing was stored.", ordered, notices=list(notices) or None
    )


def _merge(parts: Sequence[Loaded]) -> Loaded:
    if len(parts) == 1:
        return parts[0]
    merged = Loaded(label=", ".join(part.label for part in parts))
    for part in parts:
        merged.findings += part.findings
        merged.extra += part.extra
        merged.faulty |= part.faulty
        merged.unread |= part.unread
        merged.untrusted |= part.untrusted
        for name, records in part.records.items():
            kept = merged.records.setdefault(name, [])
            for record in records:
                key = TABLES[name].get_key(record)
                origin = part.origins.get(name, key) or (part.label, 0)
                first = merged.origins.get(name, key)
                if first is not None:
                    reason = f"is a duplicate of {first[0]}, row {first[1]}"
                    value = "~".join(map(str, key))
                    merged.findings.append(Finding("error", origin[0], origin[1], "", value, reason))
                    continue
                merged.origins.add(name, key, *origin)
                kept.append(record)
    return merged


def _drop(loaded: Loaded, findings: Iterable[Finding]) -> int:
    """Leave out the records that errors are about and return how many; quads of others are left out whole."""
    errors = [finding for finding in findings if finding.severity == "error"]
    doomed = {key for finding in errors if (key := find_key(finding)) is not None}
    # of a scale whose recorded levels would mean something else no row is sound: the others stand around that one
    shaken = {finding.about[1] for finding in errors if finding.source == MEANINGS and finding.about[0] == "scales"}
    doomed |= {
        ("scales", (level.scale, level.rank)) for level in loaded.records.get("scales", ()) if level.scale in shaken
    }
    n_dropped = 0
    for name, records in loaded.records.items():
        table = TABLES[name]
        kept = [record for record in records if (name, table.get_key(record)) not in doomed]
        n_dropped += len(records) - len(kept)
        loaded.records[name] = kept
    loaded.faulty |= doomed
    if n_dropped == 0 and loaded.extra:
        n_dropped = len(loaded.extra)
        loaded.extra = []
    return n_dropped


def _leave_out_untrusted(loaded: Loaded) -> int:
    """Leave out the tables that were read for their faults only and return how many records those were."""
    loaded.unread |= loaded.untrusted
    return sum(len(loaded.records.pop(name, ())) for name in loaded.untrusted)


def _make_notices(loaded: Loaded) -> tuple[str, ...]:
    assessments = loaded.records.get("assessments", ())
    n_unstated = sum(assessment.source == "unstated" for assessment in assessments)
    if n_unstated * 2 > len(assessments):
        return (
            f"{n_unstated} of {len(assessments)} assessments do not say who assessed: such levels are shown as "
            "declared and never counted.",
        )
    return ()
