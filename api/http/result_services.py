"""Entering the results of a session: worked out from the present state, checked, and stored in one commit. No Flask."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from api.access.seen_graph import RecordGraph
from api.http.record_services import Overtaken
from ontology.analysis.sessions.results import ResultFault, SessionResult, SessionResults, enter_results, get_results
from ontology.errors import NewelError
from ontology.live.live_graph import Change
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class StoredResults:
    """What is recorded now, how many records that took, the remarks it was stored past, and the revision."""

    results: SessionResults
    records: int
    remarks: tuple[str, ...]
    revision: int


def store_results(
    graph: RecordGraph,
    session_id: str,
    rows: Sequence[SessionResult],
    *,
    entered_by: str,
    who: str,
    today: dt.date,
    refuse: Callable[[Sequence[ResultFault]], NewelError],
    check: Callable[[SessionResults], None] = lambda present: None,
    is_trial: bool = False,
) -> StoredResults:
    """Store the results of a session; nothing is stored where one of them is wrong.

    Parameters
    ----------
    refuse : callable
        Returns the error to raise for what is wrong.
    check : callable
        Is given what is recorded at present, and raises where the results were made for another state.
    is_trial : bool
        Whether to check all and store nothing.

    Raises
    ------
    UnknownIdError
        There is no such session.
    NewelError
        From `refuse` and `check`.
    FindingsError
        The records would break a rule.
    """
    while True:
        snapshot = graph.get_snapshot()
        session = snapshot.require_session(session_id)
        check(get_results(snapshot, session))
        entered = enter_results(snapshot, session, rows, entered_by=entered_by, today=today)
        if entered.faults:
            raise refuse(entered.faults)

        def require(present: Snapshot, known: Snapshot = snapshot) -> None:
            if present is not known:
                raise Overtaken

        why = f"results of sessions/{session_id}"
        try:
            applied = graph.apply(Change(put=entered.put), who=who, why=why, require=require, is_trial=is_trial)
        except Overtaken:
            continue  # someone else stored something meanwhile: work it out again
        after = snapshot.with_changes(entered.put, ())
        remarks = (*entered.remarks, *(remark.reason for remark in applied.remarks))
        return StoredResults(get_results(after, session), len(entered.put), remarks, applied.revision)
