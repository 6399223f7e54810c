"""The pages on which one record is made, changed or removed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any, Final

from api.desk.naming import take_id
from api.desk.record_words import get_record_id, name_record
from api.desk.table_words import tell_label, tell_one
from api.pages.addresses import build_record_address
from api.pages.forms.faults import Fault, tell_count
from api.pages.forms.form import Body, Field, build_fields, format_texts, read_body
from api.pages.forms.language_fields import FieldsIn, build_language_fields
from api.pages.forms.scale_form import build_scale_fields, format_scale_texts, read_scale_body
from api.pages.offered import list_offered, name_beside
from api.pages.page import Link, Page
from api.pages.records import Referrers, build_page, build_trail, get_list_address, list_facts, list_referrers
from ontology.model.columns import Table
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "FormView",
    "RemovalView",
    "build_form_view",
    "build_removal_view",
    "describe_form",
    "describe_removal",
    "get_own_name",
    "has_reason",
    "list_labels",
    "list_texts",
    "read_form",
]

#: Referring records of one table named before a removal; the rest stand in their list.
_NAMED: Final = 100


def get_own_name(table: Table, name: str) -> str:
    """Return the name of one of the form's own fields: another one where a column has it.

    They are "state", the tag of the record as it was read, "read", the record as it was read, and "why".
    """
    names = {column.name for column in table.columns}
    while name in names:
        name += "_"
    return name


def has_reason(table: Table) -> bool:
    """Whether one says why one changes it: of the framework and its courses, where it is no business of anyone's life.

    Of people and teams nobody is to write down a reason.
    """
    return table.graph in (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS)


def list_texts(table: Table, members: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of a record's form, by field."""
    if table.name == "scales":
        return format_scale_texts(table, members)
    return format_texts(table.columns, members)


def list_labels(table: Table, texts: Mapping[str, str]) -> dict[str, str]:
    """Return what people read for the fields of a record, in their order; of a scale for those that have texts."""
    if table.name == "scales":
        fields = build_scale_fields(table, texts, (), is_fixed=True)
        return {one.control.name: one.control.label for one in fields if one.control.name in texts}
    return {column.name: tell_label(table.name, column.name) for column in table.columns}


def read_form(snapshot: Snapshot, table: Table, posted: Mapping[str, str], shown: Mapping[str, Any] | None) -> Body:
    """Return the body of what was typed into a record's form; `shown` are the members of the record as it stands.

    A name that only one record has stands for its id.
    """
    if table.name == "scales":
        return read_scale_body(table, posted, shown)
    return read_body(table.columns, posted, shown, partial(take_id, snapshot))


@dataclass(frozen=True, slots=True, kw_only=True)
class FormView:
    """All that a form shows.

    `beside` is what people read for the ids in a field, `offered` the records of small tables, by table.
    """

    heading: str
    faults: tuple[Fault, ...]
    users: tuple[Referrers, ...]
    fields: tuple[Field, ...]
    beside: Mapping[str, str]
    offered: Mapping[str, tuple[tuple[str, str], ...]]
    hidden: tuple[tuple[str, str], ...]
    why: tuple[str, str] | None
    why_faults: tuple[str, ...] = ()
    is_new: bool
    action: str
    back: str
    remove: str
    revision: int
    languages: tuple[FieldsIn, ...] = ()

    @property
    def title(self) -> str:
        """The first words of the page's title: how much is wrong."""
        if self.faults:
            return f"{tell_count(self.faults)}: {self.heading}"
        return self.heading if self.is_new else f"Edit: {self.heading}"

    @property
    def summary(self) -> str:
        """What is said first where something is wrong."""
        return f"Nothing is stored yet: {tell_count(self.faults)}" if self.faults else ""


def build_form_view(
    snapshot: Snapshot,
    table: Table,
    texts: Mapping[str, str],
    *,
    item: Any | None,
    action: str,
    hidden: Iterable[tuple[str, str]] = (),
    why: str = "",
    faults: Sequence[Fault] = (),
    users: Sequence[Referrers] = (),
    said: Mapping[str, str] = MappingProxyType({}),
    closed: Collection[str] = (),
) -> FormView:
    """Return what the form of a record shows.

    Parameters
    ----------
    snapshot, table : of what
    texts : what stands in the fields, by name
    item : the record, or a scale's levels, as it is stored; None for a new one
    action : address that the form is sent to
    hidden : the form's own fields that are not seen
    why : why it is changed, as far as it was typed
    faults, users : what is wrong; what uses the record and would be broken
    said : its texts in other languages, by field
    closed : names of columns that who looks may not change
    """
    fields = _list_fields(snapshot, table, texts, faults, is_fixed=item is not None, closed=closed)
    record_id = get_record_id(table, item) if item is not None else ""
    heading = name_record(snapshot, table, item) if item is not None else f"New {tell_one(table)}"
    reason = get_own_name(table, "why")
    told = tuple(fault.reason for fault in faults if fault.field == reason)
    return FormView(
        heading=heading,
        faults=tuple(faults),
        users=tuple(users),
        fields=fields,
        beside=name_beside(snapshot, fields),
        offered=list_offered(snapshot, fields),
        hidden=tuple(hidden),
        why=(reason, why) if has_reason(table) else None,
        why_faults=told,
        is_new=item is None,
        action=action,
        back=build_record_address(table.name, record_id) if item is not None else get_list_address(table),
        languages=build_language_fields(snapshot, table, said, faults),
        remove=f"/remove{build_record_address(table.name, record_id)}" if item is not None else "",
        revision=snapshot.revision,
    )


def _list_fields(
    snapshot: Snapshot,
    table: Table,
    texts: Mapping[str, str],
    faults: Sequence[Fault],
    *,
    is_fixed: bool,
    closed: Collection[str],
) -> tuple[Field, ...]:
    if table.name == "scales":
        return build_scale_fields(table, texts, faults, is_fixed=is_fixed)
    fixed = [column.name for column in table.columns if column.attribute in table.key] if is_fixed else ()
    return build_fields(table, texts, faults, levels_of=make_levels_of(snapshot), fixed=(*fixed, *closed))


def make_levels_of(snapshot: Snapshot) -> Callable[[str], Sequence[Any]]:
    """Return what tells the levels of a competency's scale; () where there is no such competency."""

    def levels_of(competency_id: str) -> Sequence[Any]:
        competency = snapshot.competencies.get(competency_id)
        return snapshot.scales.get(competency.scale, ()) if competency is not None else ()

    return levels_of


def describe_form(table: Table, view: FormView) -> Page:
    """Return the page of a form."""
    trail = build_trail(table) if view.is_new else build_trail(table, Link(view.heading, view.back))
    return build_page(table, "record_form.html", {"view": view}, trail)


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovalView:
    """What a page shows before a record is removed: what refers to it, or the one question.

    A draft may hold errors meanwhile: from it a record goes also while something refers to it.
    """

    heading: str
    facts: tuple[tuple[str, Any], ...]
    referrers: tuple[Referrers, ...]
    faults: tuple[Fault, ...]
    hidden: tuple[tuple[str, str], ...]
    why: tuple[str, str] | None
    action: str
    back: str
    revision: int
    is_on_draft: bool

    @property
    def total(self) -> int:
        """How many records refer to it."""
        return sum(group.total for group in self.referrers)

    @property
    def is_held(self) -> bool:
        """Whether it cannot go, since something refers to it."""
        return bool(self.total) and not self.is_on_draft


def build_removal_view(
    snapshot: Snapshot,
    table: Table,
    item: Any,
    *,
    action: str,
    hidden: Iterable[tuple[str, str]],
    why: str,
    faults: Sequence[Fault],
    is_on_draft: bool = False,
) -> RemovalView:
    """Return what is shown before a record goes; parameters as in `build_form_view`."""
    record_id = get_record_id(table, item)
    return RemovalView(
        heading=name_record(snapshot, table, item),
        facts=list_facts(snapshot, table, item),
        referrers=list_referrers(snapshot, table, record_id, _NAMED),
        faults=tuple(faults),
        hidden=tuple(hidden),
        why=(get_own_name(table, "why"), why) if has_reason(table) else None,
        action=action,
        back=build_record_address(table.name, record_id),
        revision=snapshot.revision,
        is_on_draft=is_on_draft,
    )


def describe_removal(table: Table, view: RemovalView) -> Page:
    """Return the page that asks whether a record is to be removed."""
    trail = build_trail(table, Link(view.heading, view.back))
    return build_page(table, "record_removal.html", {"view": view}, trail)
