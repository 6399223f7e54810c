"""What one does about each thing that is to mend, and the page where it is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final
from urllib.parse import quote, urlencode

from ontology.analysis.health.faults import Fault
from ontology.rdf import namespaces as ns

_Act = tuple[str, str]


def _edit(words: str) -> Callable[[Fault], _Act]:
    return lambda fault: (words, f"/edit{_locate(fault)}")


def _edit_profile(words: str) -> Callable[[Fault], _Act]:
    return lambda fault: (words, f"/edit{_locate(fault)}/requirements")


def _retire(fault: Fault) -> _Act:
    return "Retire it in a draft", f"/retire{_locate(fault)}"


def _add_outcome(fault: Fault) -> _Act:
    return "Say what teaches it, or mark it as learned on the job", f"/new/outcomes?{_ask(competency=fault.id)}"


def _see_requirement(fault: Fault) -> _Act:
    return "Look whether the level is wrong or people are untrained", f"/edit{_locate(fault)}"


def _tell_apart(fault: Fault) -> _Act:
    if fault.table != "competencies":
        return "Merge the two, or say in the label how they differ", f"/edit{_locate(fault)}"
    other = ns.record_iri("competency", fault.other or "")
    marked = _ask(competency=fault.id, target=other, relation="different")
    return "Merge the two in a draft, or mark them as different", f"/new/mappings?{marked}"


def _translate(fault: Fault) -> _Act:
    column, language = fault.asks or ("label", "")
    asked = _ask(table=fault.table, id=fault.id, column=column, language=language)
    return "Translate it", f"/new/translations?{asked}"


#: Rule -> what to do, and where. A finding says by itself what would be right.
_ACTS: Final[Mapping[str, Callable[[Fault], _Act]]] = {
    "near-duplicate labels": _tell_apart,
    "definition missing": _edit("Write the definition"),
    "definition says nothing": _edit("Say what is done"),
    "level not described": _edit("Describe what is seen"),
    "levels alike": _edit("Say what sets them apart"),
    "no observable act": _edit("Say what one sees done"),
    "needed by none": _retire,
    "taught by none": _add_outcome,
    # who assesses sees people, whom an architect may not see: the lead is to be asked
    "held by none": lambda fault: ("Ask leads to assess it; see how many hold it", f"{_locate(fault)}/holders"),
    "met by all": _edit("Raise the level, or drop the requirement"),
    "met by none": _see_requirement,
    "roles alike": _edit_profile("Merge the two, or ask for what differs"),
    "too few": _edit_profile("Add what it asks for"),
    "too many": _edit_profile("Leave out what need not be assessed"),
    "course without purpose": _retire,
    "translation missing": _translate,
}


def find_mend(fault: Fault) -> _Act:
    """Return the words and the address of what one does about a fault."""
    if fault.bound_by == "obligations":
        return "Look at the obligations first", f"/obligations{_narrow(fault)}"
    if fault.bound_by:
        return "Look first at what counts only while it is held", f"/competencies?{_ask(holds_while=fault.id)}"
    act = _ACTS.get(fault.rule)
    if act is not None:
        return act(fault)
    if fault.id is None:
        return "See the findings", "/findings"
    return "Mend it as the finding says", f"/edit{_locate(fault)}"


def _narrow(fault: Fault) -> str:
    """Return what narrows the list of obligations to those that name a competency."""
    return f"?{_ask(competency=fault.id)}" if fault.table == "competencies" else ""


def _ask(**asked: str | None) -> str:
    return urlencode({name: text for name, text in asked.items() if text})


def _locate(fault: Fault) -> str:
    """Return the address of a fault's record; a level is changed with its scale."""
    record_id = fault.id or ""
    if fault.table == "scales":
        record_id = record_id.partition("~")[0]
    return f"/{fault.table.replace('_', '-')}/{quote(record_id, safe='')}"
