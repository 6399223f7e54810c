"""Recording levels: one assessment, or a sheet for a whole team; what counts now stands beside what is entered."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from api.desk.names import Names, count
from api.desk.sheet import Ref, State
from api.questions._words import show_state
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level
from ontology.analysis.profiles.own_levels import LevelOnDate, find_assessor_limit
from ontology.model.records import Assessment, Competency
from ontology.model.validity import compute_valid_until
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "CAUTIONS",
    "Choice",
    "Entry",
    "LevelRow",
    "build_choices",
    "build_row",
    "find_default_source",
    "list_sources",
    "name_level",
    "tell_manager_remark",
    "tell_rule",
]

#: Who may be named as the source of a level that is entered for someone else.
_SOURCES: Final = (
    ("assessor", "assessor: seen at work by someone who assesses"),
    ("manager", "manager: the lead's own judgement"),
    ("certificate", "certificate: a paper that was seen"),
)
_OWN: Final = "Nobody assesses themselves: this row is locked."
_BELOW: Final = "0, below level 1"

CAUTIONS: Final = (
    "A level says what was seen, by whom and when. Look at the work, not at the person; talk about it before it is "
    "stored.",
    "A level here is not permission to work; only the employer's appointment and the local code give that.",
)

Source = Literal["certificate", "assessor", "manager"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the values of a field."""

    value: str
    words: str
    is_chosen: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """What was typed for one row, what is wrong with it, and what must be said before it is stored."""

    level: str = ""
    errors: tuple[str, ...] = ()
    remark: str = ""


@dataclass(frozen=True, slots=True)
class LevelRow:
    """One person and competency: what counts now and what it rests on, and what can be entered.

    `id` is what its field is called by; `locked` says why nothing can be entered.
    """

    id: str
    what: Ref
    where: str
    now: str
    state: State
    rests_on: str
    note: str
    choices: tuple[Choice, ...]
    locked: str = ""
    entry: Entry = field(default_factory=Entry)


def list_sources(competency: Competency | None, chosen: str) -> tuple[Choice, ...]:
    """Return who can have seen a level: of a certificate the certificate alone."""
    is_certificate = competency is not None and competency.is_certificate
    sources = _SOURCES[-1:] if is_certificate else _SOURCES
    return tuple(Choice(value, words, value == chosen or is_certificate) for value, words in sources)


def find_default_source(snapshot: Snapshot, person_id: str) -> Source:
    """Return as what someone enters levels unless they say otherwise: an assessor, or else a manager."""
    return "assessor" if person_id and snapshot.get_assessor(person_id) is not None else "manager"


def name_level(snapshot: Snapshot, names: Names, competency: Competency, rank: int | None) -> str:
    """Return a level in words; never assessed is not level 0.

    Examples
    --------
    "not assessed", "0, below level 1", "3 Independent".
    """
    if rank is None:
        return "not assessed"
    if rank == 0:
        return _BELOW
    return f"{rank} {names.level(competency.id, rank).label}".rstrip()


def build_choices(snapshot: Snapshot, competency: Competency, chosen: str) -> tuple[Choice, ...]:
    """Return the levels of a competency's scale as choices, 0 among them."""
    steps = snapshot.scales.get(competency.scale, ())
    levels = [("0", _BELOW), *((str(step.rank), f"{step.rank} {step.label}") for step in steps)]
    return tuple(Choice(value, words, value == chosen) for value, words in levels)


def build_row(
    snapshot: Snapshot,
    person_id: str,
    competency: Competency,
    on: dt.date,
    *,
    entry: Entry,
    about: Literal["person", "competency"],
    own_id: str,
) -> LevelRow:
    """Return the row of a person and a competency on a day; `about` says which of the two it is told by."""
    names = Names(snapshot)
    known = get_level(snapshot, person_id, competency, on)
    person = get_person_on(snapshot, person_id, on)
    is_by_person = about == "person"
    return LevelRow(
        id=person_id if is_by_person else competency.id,
        what=Ref("people", person_id, names.person(person_id))
        if is_by_person
        else Ref("competencies", competency.id, competency.label),
        where=names.shift(person.shift) if is_by_person and person.shift else "",
        now=name_level(snapshot, names, competency, known.level),
        state=show_state(known.state),
        rests_on=_tell_basis(known, names, on),
        note=" ".join(_iterate_notes(snapshot, person_id, competency, on)),
        choices=build_choices(snapshot, competency, entry.level),
        locked=_OWN if person_id == own_id else "",
        entry=entry,
    )


def _tell_basis(known: LevelOnDate, names: Names, on: dt.date) -> str:
    """Return who saw what counts, when, and how long it counts."""
    basis = known.basis
    if basis is None:
        own = f"; own rating {known.declared}, never counted" if known.declared is not None else ""
        return f"nobody has assessed it yet{own}"
    who = f" {names.person(basis.assessor)}" if basis.assessor else ""
    until = f", counts until {basis.valid_until}" if basis.valid_until else ""
    return f"{basis.source}{who}, {basis.date}, {count((on - basis.date).days, 'day')} ago{until}"


def _iterate_notes(snapshot: Snapshot, person_id: str, competency: Competency, on: dt.date) -> Iterator[str]:
    latest = find_limit(snapshot, person_id, competency, on)
    if latest is not None:
        yield f"Safety counts here: from a manager nothing above the assessor's {latest.level} counts."


def find_limit(snapshot: Snapshot, person_id: str, competency: Competency, on: dt.date) -> Assessment | None:
    """Return the assessor's assessment above whose level no manager's counts on a day; None where there is none."""
    rows = snapshot.get_assessments(person_id, competency.id)
    return find_assessor_limit(competency, [row for row in rows if row.date <= on and row.withdrawn_on is None])


def tell_manager_remark(
    snapshot: Snapshot, person_id: str, competency: Competency, *, level: int, source: str, on: dt.date
) -> str:
    """Return what must be said before a level is stored that will not count; "" where nothing must."""
    if source != "manager":
        return ""
    latest = find_limit(snapshot, person_id, competency, on)
    if latest is None or level <= latest.level:
        return ""
    return (
        f"A manager's level {level} stands above the assessor's {latest.level} of {latest.date}: it will be kept and "
        "not counted, for an error here can hurt someone. Let an assessor look."
    )


def tell_rule(competency: Competency, on: dt.date) -> str:
    """Return until when what is seen on a day counts, by the competency's rule."""
    months = competency.validity_months
    if months is None:
        return "It counts without an end: no rule limits it."
    try:
        last = compute_valid_until(on, months, competency.validity_rule)
    except OverflowError:
        return f"It counts for {count(months, 'month')} from the day it was seen."
    whole = ", to the end of that month" if competency.validity_rule == "end-of-month" else ""
    early = " What is renewed early counts from the end of what it renews." if competency.renewal_window_months else ""
    return f"It counts for {count(months, 'month')}{whole}: seen on {on}, until {last}.{early}"


def list_rows(
    snapshot: Snapshot,
    pairs: Sequence[tuple[str, Competency]],
    on: dt.date,
    *,
    entries: Mapping[str, Entry],
    about: Literal["person", "competency"],
    own_id: str,
) -> tuple[LevelRow, ...]:
    """Return the rows of some people and competencies."""
    return tuple(
        build_row(
            snapshot,
            person,
            competency,
            on,
            entry=entries.get(person if about == "person" else competency.id, Entry()),
            about=about,
            own_id=own_id,
        )
        for person, competency in pairs
    )
