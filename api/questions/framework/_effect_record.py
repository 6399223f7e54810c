"""The effect of a draft as it is answered: what differs for people, teams and courses, and what it breaks and mends."""

from __future__ import annotations

import datetime as dt
import sys
from dataclasses import dataclass, fields
from typing import Annotated

from ontology.analysis.effect.results import Effect
from ontology.checks.broken_rules import RuleFinding, find_broken_rules
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class FindingsEffect:
    """What breaks a rule in one state and not in the other."""

    new: Annotated[tuple[RuleFinding, ...], "What breaks a rule after, and did not before."]
    mended: Annotated[tuple[RuleFinding, ...], "What broke a rule before, and does not after."]


@dataclass(frozen=True, slots=True)
class DraftEffect(Effect):
    """What publishing a draft would do: the present state before, the draft on it after."""

    draft: Annotated[str, "Id of the draft."]
    number: Annotated[int, "Number of the draft's last edit."]
    title: Annotated[str, "What the draft is called."]
    findings: Annotated[FindingsEffect, "What comes to break a rule, and what no longer does."]


def build_result(effect: Effect, findings: FindingsEffect, draft: str, number: int, title: str) -> DraftEffect:
    """Return the answer."""
    members = {field.name: getattr(effect, field.name) for field in fields(Effect)}
    return DraftEffect(**members, draft=draft, number=number, title=title, findings=findings)


def compare_findings(before: Snapshot, after: Snapshot, on: dt.date) -> FindingsEffect:
    """Return what comes to break a rule and what no longer does; what is found of either state is kept with it."""
    old, new = (_find_all(state, on) for state in (before, after))
    was, now = frozenset(old), frozenset(new)
    return FindingsEffect(tuple(one for one in new if one not in was), tuple(one for one in old if one not in now))


def _find_all(snapshot: Snapshot, on: dt.date) -> tuple[RuleFinding, ...]:
    return snapshot.keep(("all findings", on), lambda: find_broken_rules(snapshot, on, limit=sys.maxsize).findings)
