"""One attempt to store what was loaded: complete it, check it with the whole graph, store it, or tell why not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from loaders.addresses import address
from loaders.assessment_ends import AssessmentEnds
from loaders.comparison import compare
from loaders.consequences import Causes
from loaders.merging import leave_out, leave_out_untrusted
from loaders.report import Consequence, Loaded, LoadReport, sort_findings
from ontology.errors import Finding, FindingsError
from ontology.live.live_graph import Applied, LiveGraph
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = ["attempt"]


def attempt(
    graph: LiveGraph,
    loaded: Loaded,
    *,
    is_trial: bool,
    skip_faulty: bool,
    who: str,
    why: str,
    expected_revision: int | None,
) -> LoadReport:
    """Store what was loaded, or its sound rest; `loaded` is changed on the way.

    Returns
    -------
    LoadReport
        `is_refused` where there are errors and `skip_faulty` is false, or where nothing sound is left.

    Raises
    ------
    StaleError
        The store has another revision than `expected_revision`.
    """
    return _Attempt(graph, loaded, skip_faulty).run(is_trial, who, why, expected_revision)


class _Attempt:
    def __init__(self, graph: LiveGraph, loaded: Loaded, skip_faulty: bool) -> None:
        self._graph = graph
        self._loaded = loaded
        self._skip_faulty = skip_faulty
        self._present: Snapshot = graph.get_snapshot()
        self._ends = AssessmentEnds(loaded, self._present)
        self._ends.fill()
        self._notices = _make_notices(loaded)
        self._n_skipped = len(loaded.faulty) + (leave_out_untrusted(loaded) if skip_faulty else 0)
        self._findings: list[Finding] = list(loaded.findings)
        self._consequences: list[Consequence] = list(loaded.consequences)
        self._has_errors = any(finding.severity == "error" for finding in self._findings)

    def run(self, is_trial: bool, who: str, why: str, expected_revision: int | None) -> LoadReport:
        is_only_tried = is_trial or (self._has_errors and not self._skip_faulty)
        while True:
            loaded = self._loaded
            try:
                applied = self._graph.load(
                    loaded.records,
                    loaded.extra,
                    who=who,
                    why=why,
                    is_trial=is_only_tried,
                    expected_revision=expected_revision,
                )
            except FindingsError as error:
                self._has_errors = True
                if not self._skip_faulty:
                    self._tell(error.findings)
                    return self._report(None, is_trial)
                self._tell(finding for finding in error.findings if finding.severity == "error")
                n_dropped = leave_out(loaded, error.findings)
                if n_dropped == 0:
                    return self._report(None, is_trial)
                self._n_skipped += n_dropped
                self._ends.fill_again()
                continue
            self._tell(applied.remarks)
            return self._report(None if self._has_errors and not self._skip_faulty else applied, is_trial)

    def _tell(self, found: Iterable[Finding]) -> None:
        """Keep findings of the checks: with their address, or under the one they only follow from."""
        causes = Causes(self._loaded)
        for finding in found:
            cause = causes.find(finding)
            addressed = address(finding, self._loaded)
            if cause is None:
                self._findings.append(addressed)
            else:
                self._consequences.append(Consequence(cause, addressed))

    def _report(self, applied: Applied | None, is_trial: bool) -> LoadReport:
        is_refused = applied is None
        consequences = tuple(dict.fromkeys(self._consequences))
        return LoadReport(
            revision=self._present.revision if applied is None else applied.revision,
            counts=self._loaded.count(),
            n_extra=len(self._loaded.extra),
            findings=tuple(sort_findings(self._findings)),
            notices=(*self._notices, *_tell_number(consequences)),
            n_skipped=self._n_skipped,
            is_stored=not is_trial and not is_refused,
            is_refused=is_refused,
            consequences=consequences,
            changes=compare(self._loaded.records, self._present) if is_trial and not is_refused else {},
        )


def _tell_number(consequences: Sequence[Consequence]) -> Iterator[str]:
    if consequences:
        told = format_count(len(consequences), "more finding")
        yield f"{told} only {'follow' if len(consequences) > 1 else 'follows'} from these: mend these first."


def _make_notices(loaded: Loaded) -> tuple[str, ...]:
    assessments = loaded.records.get("assessments", ())
    n_unstated = sum(assessment.source == "unstated" for assessment in assessments)
    if n_unstated * 2 > len(assessments):
        return (
            f"{n_unstated} of {len(assessments)} assessments do not say who assessed: such levels are shown as "
            "declared and never counted.",
        )
    return ()
