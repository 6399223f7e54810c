"""Which courses and competencies can matter for a way from levels held to those asked; never too few. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ontology.analysis.paths.offers import Fact, list_conditions
from ontology.analysis.profiles.profile import add_what_it_hangs_on
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Relevant", "find_relevant"]


@dataclass(frozen=True, slots=True)
class Relevant:
    """What can matter for a way."""

    courses: frozenset[str]
    competencies: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Offers:
    """Competency -> (level, course) of what teaches it; course -> what it builds on."""

    teach: Mapping[str, list[tuple[int, str]]]
    asked: Mapping[str, tuple[Fact, ...]]


def find_relevant(snapshot: Snapshot, held: Mapping[str, int], targets: Mapping[str, int]) -> Relevant:
    """Return what can matter for a way to targets from levels held.

    Open is a target above what is held; of use is each course that teaches more of something open than is held, be it
    only for who renews, or by what it counts as on some day; open are then its entry conditions above what is held. All
    entry conditions are competencies that matter: what they hang on may come to be asked.

    O(size of what is returned).
    """
    offers = snapshot.keep("what can teach what", lambda: _build_offers(snapshot))
    wanted = add_what_it_hangs_on(snapshot, targets)
    competencies = set(wanted)
    stack = [i for i, level in wanted.items() if level > held.get(i, 0)]
    opened, courses = set(stack), set[str]()
    while stack:
        competency_id = stack.pop()
        least = held.get(competency_id, 0)
        for level, course_id in offers.teach.get(competency_id, ()):
            if level <= least or course_id in courses:
                continue
            courses.add(course_id)
            for other, asked in offers.asked.get(course_id, ()):
                competencies.add(other)
                if asked > held.get(other, 0) and other not in opened:
                    opened.add(other)
                    stack.append(other)
    return Relevant(frozenset(courses), frozenset(competencies))


def _build_offers(snapshot: Snapshot) -> _Offers:
    teach: defaultdict[str, list[tuple[int, str]]] = defaultdict(list)
    counts: defaultdict[str, list[Any]] = defaultdict(list)
    for row in snapshot.get_table("equivalences").values():
        counts[row.competency].append(row)
    for outcome in snapshot.get_table("outcomes").values():
        teach[outcome.competency].append((outcome.level, outcome.course))
        for row in counts.get(outcome.competency, ()):
            if outcome.level >= row.level:
                teach[row.counts_as].append((row.as_level, outcome.course))
    asked = {i: list_conditions(snapshot, i) for i in snapshot.courses if snapshot.get_entry_conditions(i)}
    return _Offers(dict(teach), asked)
