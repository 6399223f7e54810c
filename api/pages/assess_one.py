"""The form of one assessment: what counts now beside what is seen, the level in words, how long it counts.

Its fields are those of the table; here they are put into the order in which one fills them in.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from api.desk.names import Names
from api.pages.addresses import build_address
from api.pages.assess import CAUTIONS, Entry, LevelRow, build_choices, build_row, list_sources, tell_rule
from api.pages.cells import write_prose
from api.pages.forms.controls import Control
from api.pages.forms.form import Field
from api.pages.page import Link, Page
from api.pages.record_form import FormView
from ontology.model.records import Competency
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AssessView", "build_view", "describe_one", "is_own_word"]

_ORDER: Final = ("person", "competency", "level", "date", "source", "valid_until", "assessor", "evidence")
#: What nobody fills in when something is seen: the day it is written down, the day it was taken back.
_LATER: Final = ("recorded_on", "withdrawn_on")
#: What nobody fills in where they speak of themselves: it counts on no day, and nobody else stands for it.
_NOT_OF_OWN: Final = (*_LATER, "person", "source", "valid_until", "assessor", "evidence")
_OWN: Final = "Say at which level you see yourself: it is shown beside what was assessed, and never counts."
_ABOUT_ZERO: Final = (
    "0 says that it was looked at and lies below level 1. Not assessed is something else: then nothing is stored."
)


@dataclass(frozen=True, slots=True)
class AssessView:
    """What stands on the form; `row` None while person and competency are not both known."""

    form: FormView
    lead: str
    row: LevelRow | None
    remark: str
    sheet: str
    cautions: tuple[str, ...]
    is_own: bool = False

    @property
    def is_locked(self) -> bool:
        """Whether who looks is the person it is about, and does not only say how they see themselves."""
        return self.row is not None and bool(self.row.locked) and not self.is_own


def build_view(form: FormView, snapshot: Snapshot, today: dt.date, *, own_id: str, remark: str = "") -> AssessView:
    """Return the view of a form of an assessment.

    Parameters
    ----------
    form : FormView
        As it is for every table.
    own_id : str
        Who looks; "" for nobody who is known.
    remark : str
        What must be read before it is stored.
    """
    texts = {one.control.name: one.text for one in form.fields}
    person, competency = texts.get("person", ""), snapshot.competencies.get(texts.get("competency", ""))
    row, lead, sheet = None, "Choose the person and the competency; its levels are then shown in words.", ""
    if person in snapshot.people and competency is not None:
        row = build_row(snapshot, person, competency, today, entry=Entry(), about="person", own_id=own_id)
        name = Names(snapshot).person(person)
        lead = f"{name}, {competency.label}: {row.now} counts now, by {row.rests_on}."
        if row.state.code == "not-assessed":
            lead = f"Nobody has assessed {name} in {competency.label} yet."
    if is_own_word(texts, own_id):
        fields = tuple(_iterate_own_fields(form, snapshot, competency, today))
        hidden = (("person", own_id), ("source", "self"), *form.hidden)
        form = replace(form, heading="What I say myself", fields=fields, hidden=hidden)
        return AssessView(form, f"{lead} {_OWN}" if row else _OWN, row, remark, "", (), is_own=True)
    if person in snapshot.people and snapshot.people[person].team:
        asked = {"competency": competency.id} if competency is not None else {}
        sheet = build_address("teams", snapshot.people[person].team, "assess", asked)
    fields = tuple(_iterate_fields(form, snapshot, competency, today, is_known=bool(own_id)))
    beside = dict(form.beside) | ({"assessor": Names(snapshot).person(own_id)} if own_id else {})
    return AssessView(replace(form, fields=fields, beside=beside), lead, row, remark, sheet, CAUTIONS)


def is_own_word(texts: Mapping[str, str], own_id: str) -> bool:
    """Whether someone says of themselves at which level they are: nobody else's word, and no assessment."""
    return bool(own_id) and texts.get("person") == own_id and texts.get("source") == "self"


def _iterate_own_fields(
    form: FormView, snapshot: Snapshot, competency: Competency | None, today: dt.date
) -> Iterator[Field]:
    for one in _iterate_fields(form, snapshot, competency, today, is_known=False):
        if one.control.name == "level" and one.control.choices:
            choices = (("", "nothing"), *one.control.choices[1:])
            yield replace(one, control=replace(one.control, choices=choices, hint=""))
        elif one.control.name not in _NOT_OF_OWN or one.faults:
            yield one


def _iterate_fields(
    form: FormView, snapshot: Snapshot, competency: Competency | None, today: dt.date, *, is_known: bool
) -> Iterator[Field]:
    """Yield the fields in the order in which one fills them in; a column that is new stands at the end."""
    order = {name: place for place, name in enumerate(_ORDER)}
    for one in sorted(form.fields, key=lambda one: order.get(one.control.name, len(order))):
        name = one.control.name
        if name in _LATER and not one.faults and not one.text:
            continue
        if name == "assessor" and is_known and not one.faults:
            yield replace(one, is_fixed=True)
        else:
            yield replace(one, control=_say(one.control, snapshot, competency, today))


def _say(control: Control, snapshot: Snapshot, competency: Competency | None, today: dt.date) -> Control:
    """Return a control in the words of who assesses."""
    if control.name == "level" and competency is not None:
        levels = [(choice.value, choice.words) for choice in build_choices(snapshot, competency, "")]
        return replace(control, shape="radio", choices=(("", "not assessed"), *levels), hint=_ABOUT_ZERO)
    if control.name == "source":
        choices = tuple((one.value, one.words) for one in list_sources(competency, ""))
        return replace(control, shape="radio", choices=choices, hint="")
    if control.name == "valid_until" and competency is not None:
        return replace(control, hint=write_prose(f"Empty: by the rule. {tell_rule(competency, today)}").striptags())
    return control


def describe_one(view: AssessView) -> Page:
    """Return the page of one assessment."""
    if view.is_own:
        return Page("assess_one.html", {"view": view}, way="stand", trail=(Link("Where I stand", "/me"),))
    return Page("assess_one.html", {"view": view}, way="cover", trail=(Link("All teams", "/teams"),))
