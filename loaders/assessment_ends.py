"""The last valid day of assessments of a load that do not say it: by the rule of their competency, renewals included.

Rows of one load are taken by date: what a row renews may stand in the store, or in another row wherever that is.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Final

from loaders.report import Loaded
from ontology.errors import Finding
from ontology.model.columns import Key
from ontology.model.records import Assessment, Competency
from ontology.model.tables import TABLES
from ontology.model.validity import fill_by_date, fill_valid_until
from ontology.snapshot.snapshot import Snapshot

_TABLE: Final = TABLES["assessments"]


class AssessmentEnds:
    """Fills in the last valid days of the assessments of a load, and again once rows of it are left out."""

    def __init__(self, loaded: Loaded, present: Snapshot) -> None:
        self._loaded = loaded
        self._present = present
        self._competencies: dict[str, Competency] = dict(present.competencies)
        self._competencies |= {record.id: record for record in loaded.records.get("competencies", ())}
        #: As they were written, of those whose last day may hang on another assessment.
        self._given: dict[Key, Assessment] = {}

    def fill(self) -> None:
        """Write the last valid days in; what would count past the end of the calendar becomes an error.

        O(n), and n log n of those of competencies whose renewals have a window.
        """
        filled: list[Assessment] = []
        by_pair: defaultdict[tuple[str, str], list[Assessment]] = defaultdict(list)
        for record in self._loaded.records.get("assessments", ()):
            competency = self._competencies.get(record.competency)
            if competency is not None and competency.renewal_window_months is not None:
                by_pair[record.person, record.competency].append(record)
                continue
            try:
                filled.append(fill_valid_until(record, competency))
            except OverflowError:
                self._refuse(record)
        for pair, records in by_pair.items():
            filled += self._fill_pair(*pair, records)
        if filled or "assessments" in self._loaded.records:
            self._loaded.records["assessments"] = filled

    def fill_again(self) -> None:
        """Write them in anew, once rows were left out that others may have counted from."""
        if self._given:
            kept = self._loaded.records.get("assessments", ())
            self._loaded.records["assessments"] = [self._given.get(_TABLE.get_key(one), one) for one in kept]
            self.fill()

    def _fill_pair(self, person_id: str, competency_id: str, records: list[Assessment]) -> list[Assessment]:
        replaced = {_TABLE.get_key(record) for record in records}
        stored = self._present.get_assessments(person_id, competency_id)
        known = [record for record in stored if _TABLE.get_key(record) not in replaced]
        filled = []
        for given, record in fill_by_date(records, self._competencies[competency_id], known):
            if given.valid_until is None:
                self._given[_TABLE.get_key(given)] = given
            if record is None:
                self._refuse(given)
            else:
                filled.append(record)
        return filled

    def _refuse(self, record: Assessment) -> None:
        key = _TABLE.get_key(record)
        source, row = self._loaded.origins.get("assessments", key) or (self._loaded.label, 0)
        months = str(self._competencies[record.competency].validity_months)
        reason = "the validity_months of the competency end after the year 9999; give valid_until or fewer months"
        self._loaded.findings.append(Finding("error", source, row, "valid_until", months, reason))
        self._loaded.faulty["assessments", key] = (source, row)
