"""What is wrong with what was typed, each at its field: from the errors of a refused change to sentences."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.table_words import tell_label, tell_one
from api.errors import FieldsError
from api.pages.addresses import build_record_address
from ontology.errors import Finding, FindingsError, NewelError
from ontology.model.columns import Table
from ontology.model.tables import TABLES
from ontology.plurals import format_count

__all__ = ["FILL_IN", "MISSING", "Fault", "build_reason", "find_faults", "get_anchor", "tell_count"]

#: As a form: a field of a record is "level", one of the third level of a scale is "levels.2.label".
_BETWEEN: Final = "."
#: What a schema says of a value that is not there, and what is said of an empty field.
MISSING: Final = ("is missing", "must not be null")
FILL_IN: Final = "must be filled in"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong.

    Parameters
    ----------
    field : str
        Name of the field it stands at; "" where it is about none of them.
    label : str
        What people read for the field, or for the other record it is about.
    reason : str
        What would be right, as a sentence without the record's own name.
    address : str
        Page of the other record it is about; "" where it is about this one.
    """

    field: str
    label: str
    reason: str
    address: str = ""

    @property
    def anchor(self) -> str:
        """Id of the field's input in the page."""
        return get_anchor(self.field)


def get_anchor(name: str) -> str:
    """Return the id of the input of a field in its page."""
    return "field-" + name.replace(".", "-")


def find_faults(
    error: NewelError, table: Table, key: Sequence[str], wrong: Mapping[str, str], fields: Sequence[str]
) -> tuple[Fault, ...]:
    """Return what an error says, field by field.

    Parameters
    ----------
    error : why a change was refused
    table, key : the record that was to be changed, the parts of its key as texts
    wrong : fields whose text is no value at all, with what would be right
    fields : names of the form's fields
    """
    if isinstance(error, FieldsError):
        found = [_tell_member(table, entry.pointer, entry.reason, wrong) for entry in error.fields]
    elif isinstance(error, FindingsError):
        found = [_tell_finding(finding, table, key) for finding in error.findings if finding.severity == "error"]
    else:
        found = [Fault("", "", error.detail)]
    known = set(fields)
    # what is no field of the form is told by the name under which it was sent
    told = [f if f.field in known else Fault("", f.field or f.label, f.reason, f.address) for f in found]
    order = {name: place for place, name in enumerate(fields)}
    return tuple(sorted(dict.fromkeys(told), key=lambda fault: order.get(fault.field, -1)))


def tell_count(faults: Sequence[Fault]) -> str:
    """Return how much is wrong.

    Examples
    --------
    >>> tell_count([Fault("level", "Level", "Is missing")])
    '1 value is wrong'
    """
    return format_count(len(faults), "value is wrong", "values are wrong")


def _tell_member(table: Table, pointer: str, reason: str, wrong: Mapping[str, str]) -> Fault:
    name = pointer.removeprefix("/").replace("~1", "/").replace("~0", "~").replace("/", _BETWEEN)
    label = tell_label(table.name, name.rpartition(_BETWEEN)[2]) if name else ""
    return Fault(name, label, _begin(wrong.get(name, FILL_IN if reason in MISSING else reason)))


def _tell_finding(finding: Finding, table: Table, key: Sequence[str]) -> Fault:
    if table.name == "scales" and finding.about[:2] == ("scales", *key):
        field = f"levels.{int(finding.about[2]) - 1}.{finding.column}"
        return Fault(field, f"Level {finding.about[2]}", _begin(finding.reason))
    if finding.about and finding.about != (table.name, *key):
        other, *parts = finding.about
        record_id = parts[0] if other == "scales" else "~".join(parts)
        label = f"{tell_one(TABLES[other])} {record_id}"
        address = build_record_address(other, record_id)
        return Fault("", label[0].upper() + label[1:], _begin(finding.reason), address)
    label = tell_label(table.name, finding.column) if finding.column else ""
    return Fault(finding.column, label, build_reason(finding, table, key))


def build_reason(finding: Finding, table: Table, key: Sequence[str]) -> str:
    """Return the reason of a finding without the name of the record and of the column that it stands at."""
    known = "~".join(key)
    words = "|".join(map(re.escape, dict.fromkeys((tell_one(table), table.segment.replace("-", " "), "certificate"))))
    names = rf"(?:the )?(?:{words}) {re.escape(known)}"
    if table.name == "assessments":
        names += rf"|assessment of {re.escape(key[0])} in {re.escape(key[1])}"
    reason = re.sub(rf"\A(?:{names})(?::)? ", "", finding.reason)
    if finding.column:
        reason = re.sub(rf"\A{re.escape(finding.column)} (?=[\d'\"])", "", reason)
    return _begin(reason)


def _begin(reason: str) -> str:
    return reason[:1].upper() + reason[1:]
