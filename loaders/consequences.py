"""Which findings only follow from another that is told already, and where that one stands: one fault, one finding."""

from __future__ import annotations

from typing import Final

from loaders.addresses import find_key
from loaders.report import Loaded, Place
from ontology.checks.rules.base import name_rule
from ontology.errors import Finding
from ontology.model.references import NAMING_COLUMNS, get_named_table
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED, parse_key_text

__all__ = ["Causes"]

#: Rules that judge a cell by itself, or with what it names: no column that is missing beside it changes what they say.
_OF_CELLS: Final = frozenset(map(name_rule, ("references exist", "values within limits", "levels within the scale")))
#: Remarks that something lacks rows of another table (or what they say): the rule's name, and that table.
_RESTS_ON: Final = {
    name_rule(rule): table
    for rule, table in (
        ("role without requirements", "requirements"),
        ("agreed plan to a role that asks for something", "requirements"),
        ("course without outcomes", "outcomes"),
        ("jump of levels", "entry_conditions"),
        ("need for shifts that do not exist", "shifts"),
        ("site that no team works at", "teams"),
        ("appointment that is not asked for", "competencies"),
        ("appointment without the level", "assessments"),
        ("no more bookings than seats", "bookings"),
    )
}
#: Those of them that are about the record which a row of the other table begins with (a role, a course, a person).
_BY_FIRST_KEY: Final = frozenset(
    map(
        name_rule,
        ("role without requirements", "course without outcomes", "jump of levels", "appointment without the level"),
    )
)


class Causes:
    """Where the faults of a load stand that further findings follow from.

    Parameters
    ----------
    loaded : Loaded
        As it is when the whole is checked: build another one once rows of it were left out. O(faulty rows).
    """

    def __init__(self, loaded: Loaded) -> None:
        self._loaded = loaded
        self._by_first: dict[tuple[str, object], Place] = {}
        for (table, key), place in loaded.faulty.items():
            self._by_first.setdefault((table, key[0]), place)

    def find(self, finding: Finding) -> Place | None:
        """Return source and row of the fault that a finding of the checks (not yet addressed) follows from, or None."""
        return self._find_lost_id(finding) or self._find_missing_rows(finding) or self._find_missing_column(finding)

    def _find_lost_id(self, finding: Finding) -> Place | None:
        """An unknown id that is unknown only because its row, or its whole table, was faulty."""
        if not finding.value:
            return None
        if finding.about and finding.about[0] == "translations":
            return self._find_translated(finding)
        places = (self._find_lost(table, finding.value) for table in self._list_referred(finding))
        return next((place for place in places if place is not None), None)

    def _find_translated(self, finding: Finding) -> Place | None:
        """A text in another language of a record that is unknown only because its row, or its table, was faulty."""
        table = str(finding.about[1])
        if finding.column != "id" or table not in TRANSLATED:
            return None
        key = parse_key_text(table, finding.value)
        return self._loaded.unread.get(table) or (self._loaded.faulty.get((table, key)) if key else None)

    def _find_lost(self, table: str, record_id: str) -> Place | None:
        if table in self._loaded.unread:
            return self._loaded.unread[table]
        if table == "scales":
            return self._by_first.get(("scales", record_id))
        return self._loaded.faulty.get((table, (record_id,)))

    def _list_referred(self, finding: Finding) -> list[str]:
        """Return the table that the value of a finding is an id of, if it is one."""
        if not finding.about:
            return []
        name = finding.about[0]
        if name in NAMING_COLUMNS and finding.column == NAMING_COLUMNS[name][0]:
            key = find_key(finding)
            record = None if key is None else self._loaded.find(*key)
            return [] if record is None else [get_named_table(name, record)]
        columns = TABLES[name].columns
        return [column.refers_to for column in columns if column.name == finding.column and column.refers_to]

    def _find_missing_rows(self, finding: Finding) -> Place | None:
        """A remark that something lacks rows, where the table they stand in could not be read, or rows of it."""
        table = _RESTS_ON.get(finding.source)
        if table is None:
            return None
        whole = self._loaded.unread.get(table) or self._loaded.untrusted.get(table)
        if whole is not None or finding.source not in _BY_FIRST_KEY:
            return whole
        return self._by_first.get((table, finding.about[1]))

    def _find_missing_column(self, finding: Finding) -> Place | None:
        """A rule broken by a row of a table with an unknown column: what that was to say stood as its default."""
        is_judged = finding.about and finding.about[0] in self._loaded.defaulted and finding.source not in _OF_CELLS
        return self._loaded.untrusted.get(finding.about[0]) if is_judged else None
