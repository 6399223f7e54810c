"""The O*NET content model as competencies, and the official level anchors as scales.

An official anchor belongs to one element and one value, so every rated element has a scale of its own (``onet-`` and
the element's id) that carries its anchors exactly; the elements that only group others share one plain scale.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from loaders.open_data.faults import Faults, parse_number, read_text
from loaders.open_data.onet_ratings import LEVEL_SCALE, MAX_RANK, round_half_up
from loaders.open_data.onet_sheets import (
    ANCHOR,
    ANCHOR_VALUE,
    ANCHORS,
    CONTENT_MODEL,
    ELEMENT,
    SCALE,
    read_sheet,
)
from ontology.model.columns import ID_PATTERN
from ontology.model.framework_tables import COMPETENCIES
from ontology.model.records import Competency, ScaleLevel

#: The scale of elements that are not rated themselves.
PLAIN_SCALE: Final = "onet-level"


@dataclass(frozen=True, slots=True)
class Element:
    """One node of the content model, with the row it stands in."""

    id: str
    name: str
    description: str
    row: int


def get_parent(element_id: str) -> str:
    """Return the id without its last dotted part: the element above; empty at the top."""
    return element_id.rpartition(".")[0]


def iterate_ancestors(element_id: str) -> Iterator[str]:
    """Yield the ids of the elements above, nearest first."""
    parent = get_parent(element_id)
    while parent:
        yield parent
        parent = get_parent(parent)


def read_elements(folder: Path, faults: Faults) -> dict[str, Element]:
    """Return element id -> node of the content model."""
    elements: dict[str, Element] = {}
    for row, (cell, name, description) in read_sheet(folder, CONTENT_MODEL).iterate():
        element_id, label = read_text(cell), read_text(name)
        if not ID_PATTERN.fullmatch(element_id):
            faults.add_error(CONTENT_MODEL, row, ELEMENT, element_id, "An element id is digits, letters and dots.")
        elif element_id in elements:
            faults.add_error(CONTENT_MODEL, row, ELEMENT, element_id, "The element is here twice: duplicate key.")
        elif not label:
            faults.add_error(CONTENT_MODEL, row, "Element Name", "", "An element needs a name.")
        else:
            elements[element_id] = Element(element_id, label, read_text(description), row)
    return elements


def build_competencies(rated: Mapping[str, str], elements: Mapping[str, Element], faults: Faults) -> list[Competency]:
    """Return the rated elements and everything above them as competencies, in the order of the content model.

    Parameters
    ----------
    rated : Mapping
        Id of a rated element -> "skill" or "knowledge".
    elements : Mapping
        Every node of the content model.
    faults : Faults
        Gets an error for every element whose parent does not exist.

    Returns
    -------
    list of Competency
        A grouping element is knowledge when nothing but knowledge stands below it, else a skill.
    """
    below: dict[str, set[str]] = {element_id: {kind} for element_id, kind in rated.items()}
    for element_id, kind in rated.items():
        for ancestor in iterate_ancestors(element_id):
            below.setdefault(ancestor, set()).add(kind)
    return [
        COMPETENCIES.build(
            id=element.id,
            label=element.name,
            scale=get_scale(element.id) if element.id in rated else PLAIN_SCALE,
            definition=element.description,
            broader=_get_broader(element, elements, faults),
            kind="knowledge" if below[element.id] == {"knowledge"} else "skill",
        )
        for element in elements.values()
        if element.id in below
    ]


def get_scale(element_id: str) -> str:
    """Return the id of the scale a rated element is measured on."""
    return f"onet-{element_id}"


def _get_broader(element: Element, elements: Mapping[str, Element], faults: Faults) -> tuple[str, ...]:
    parent = get_parent(element.id)
    if not parent:
        return ()
    if parent not in elements:
        faults.add_error(
            CONTENT_MODEL, element.row, ELEMENT, element.id, f"The element above it, {parent}, is not in this file."
        )
        return ()
    return (parent,)


def read_anchors(folder: Path, elements: Mapping[str, Element], faults: Faults) -> dict[tuple[str, int], str]:
    """Return (element id, rank) -> official anchor; several anchors of one rank are joined."""
    anchors: dict[tuple[str, int], str] = {}
    for row, (cell, scale, value, description) in read_sheet(folder, ANCHORS).iterate():
        element_id, text, number = read_text(cell), read_text(description), parse_number(value)
        if element_id not in elements:
            faults.add_error(ANCHORS, row, ELEMENT, element_id, f"There is no such element in {CONTENT_MODEL}.")
        elif read_text(scale) != LEVEL_SCALE:
            faults.add_error(ANCHORS, row, SCALE, scale, f"Level anchors are of the scale {LEVEL_SCALE}.")
        elif number is None or not 0 <= number <= MAX_RANK:
            faults.add_error(ANCHORS, row, ANCHOR_VALUE, value, f"An anchor stands at a value from 0 to {MAX_RANK}.")
        elif not text:
            faults.add_remark(ANCHORS, row, ANCHOR, "", "The anchor is empty.")
        elif not (rank := round_half_up(number)):
            faults.add_remark(ANCHORS, row, ANCHOR_VALUE, value, "Below rank 1 nothing is required: not kept.")
        else:
            known = anchors.get((element_id, rank))
            anchors[element_id, rank] = f"{known}; {text}" if known else text
    return anchors


def build_scales(
    rated: Mapping[str, str], elements: Mapping[str, Element], anchors: Mapping[tuple[str, int], str]
) -> list[ScaleLevel]:
    """Return the plain scale, and a scale for every rated element with its anchors, in the model's order."""
    measured = [element_id for element_id in elements if element_id in rated]
    ranks = range(1, MAX_RANK + 1)
    plain = [ScaleLevel(PLAIN_SCALE, rank, _get_label(rank), "") for rank in ranks]
    return plain + [
        ScaleLevel(get_scale(element_id), rank, _get_label(rank), anchors.get((element_id, rank), ""))
        for element_id in measured
        for rank in ranks
    ]


def _get_label(rank: int) -> str:
    return f"Level {rank} of {MAX_RANK}"
