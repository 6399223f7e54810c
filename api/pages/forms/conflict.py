"""Two people changed the same record: as it was read, as it is now, and what was typed, beside each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from api.desk.change_words import get_own_reason
from api.desk.plain_cells import say_day
from ontology.store.history import Commit

__all__ = ["Difference", "compare_versions", "tell_conflict", "tell_last"]


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in three versions; None where a version is not known or has no such record.

    `is_changed`: someone else changed it since it was read. `is_yours`: what was typed is not what stands there now.
    """

    label: str
    read: str | None
    present: str | None
    typed: str | None
    is_changed: bool
    is_yours: bool


def compare_versions(
    labels: Mapping[str, str],
    read: Mapping[str, str] | None,
    present: Mapping[str, str] | None,
    typed: Mapping[str, str] | None,
) -> tuple[Difference, ...]:
    """Return the fields in their order, each in its three versions.

    Parameters
    ----------
    labels : name -> what people read, in the order of the form
    read, present, typed : texts by name; None: not known, gone since, to be removed

    Examples
    --------
    >>> was, now, mine = {"weight": "3"}, {"weight": "4"}, {"weight": "3"}
    >>> [row] = compare_versions({"weight": "Weight"}, was, now, mine)
    >>> row.is_changed, row.is_yours
    (True, True)
    """
    rows = []
    for name, label in labels.items():
        was, now, mine = (
            None if version is None else version.get(name, "").replace("\r\n", "\n")
            for version in (read, present, typed)
        )
        is_changed = read is not None and was != now
        rows.append(Difference(label, was, now, mine, is_changed, mine != now))
    return tuple(rows)


def tell_conflict(rows: tuple[Difference, ...], is_gone: bool) -> str:
    """Return what has happened, in a sentence or two."""
    if is_gone:
        return "Someone has removed it since you read it. Nothing of yours is stored yet."
    both = [row.label for row in rows if row.is_changed and row.is_yours and row.typed != row.read]
    others = [row.label for row in rows if row.is_changed and row.label not in both]
    told = [f"Both of you changed {', '.join(both)}."] if both else []
    told += [f"{', '.join(others)} changed since you read it."] if others else []
    return " ".join((*(told or ["It has changed since you read it."]), "Nothing of yours is stored yet."))


def tell_last(commit: Commit) -> str:
    """Return who changed a record last, when, and why where they said so."""
    why = get_own_reason(commit.why)
    return f"Changed last by {commit.who}, {say_day(commit.when.date())}{f': {why}' if why else ''}."
