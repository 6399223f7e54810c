"""Why something that must be held is due, in one sentence: what is missing, since when, what to do. Pure."""

from __future__ import annotations

from datetime import date
from typing import Final

from ontology.analysis.obligations.due import Due
from ontology.analysis.obligations.first_act import FirstAct
from ontology.analysis.profiles.levels import get_level
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.records import Competency
from ontology.snapshot.snapshot import Snapshot

__all__ = ["tell_reason"]

_MISSING: Final = {
    "not-assessed": "has not been assessed",
    "lapsed": "has lapsed",
    "suspended": "is suspended",
    "review-due": "is due for review",
}


def tell_reason(
    known: Snapshot,
    person_id: str,
    competency: Competency,
    level: int,
    due: Due,
    first: FirstAct | None,
    held: LevelOnDate,
) -> str:
    """Return the sentence.

    Parameters
    ----------
    first : FirstAct or None
        What to do; None where nothing is due.
    held : LevelOnDate
        What is known of it on the day asked about.
    """
    ranks = known.scales.get(competency.scale, ())
    what = f"{competency.label} at level {level}" if len(ranks) > 1 else competency.label
    if first is None or due.first_bad is None:
        return f"{what} is held on every day on which it must be."
    if first.act == "restore":
        return _tell_suspended(known, person_id, competency, what, due)
    missing = _tell_missing(due, held, level, is_certificate=competency.is_certificate)
    return f"{what} {missing}{_tell_shift(due)}; {_tell_act(first)}."


def _tell_missing(due: Due, held: LevelOnDate, level: int, *, is_certificate: bool) -> str:
    assert due.first_bad is not None
    if due.is_lapse:
        last = date.fromordinal(due.first_bad - 1)
        return f"is no longer held: the last valid day was {last}" if due.is_bad else f"is held until {last}"
    if is_certificate and held.state == "not-assessed":
        why = "no certificate of it is recorded"
    elif held.state in _MISSING:
        why = _MISSING[held.state]
    elif (held.level or 0) < level:
        why = f"is held at level {held.level or 0} only"
    else:
        why = "will have ended by then"
    if not due.first_bad:
        return f"must be held, since when is not known, and {why}"
    since = date.fromordinal(due.first_bad)
    return f"has had to be held since {since} and {why}" if due.is_bad else f"must be held from {since} on and {why}"


def _tell_shift(due: Due) -> str:
    """Return that the due day was moved, where it was; never why the person is away."""
    if due.day is None or due.first_bad is None or due.day == due.first_bad - due.is_lapse:
        return ""
    return f", due on {date.fromordinal(due.day)}, the first day back"


def _tell_act(first: FirstAct) -> str:
    if first.act == "assess":
        return "assess it"
    if first.course is None:
        return "no single course reaches it, the learning path may"
    return f"{first.act} it by {first.course.label}"


def _tell_suspended(known: Snapshot, person_id: str, competency: Competency, what: str, due: Due) -> str:
    assert due.first_bad is not None
    first = date.fromordinal(max(due.first_bad, 1))
    missing = " and ".join(known.competencies[i].label for i in _find_missing(known, person_id, competency, first))
    if due.is_bad:
        since = f"has not counted since {first}" if due.first_bad else "does not count"
    else:
        since = f"will not count from {first} on"
    return f"{what} {since}{_tell_shift(due)}, because it holds only together with {missing}; renew {missing}."


def _find_missing(known: Snapshot, person_id: str, competency: Competency, day: date) -> list[str]:
    """Return what is not held of that on which a competency hangs; of what is itself suspended what this hangs on."""
    found: dict[str, None] = {}
    for other_id in competency.holds_while:
        other = known.competencies[other_id]
        level = get_level(known, person_id, other, day)
        if level.state == "suspended":
            found |= dict.fromkeys(_find_missing(known, person_id, other, day))
        elif not level.level:
            found[other_id] = None
    return sorted(found)
