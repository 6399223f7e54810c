"""Landmarks of a role's entry levels: sets of courses of which every preparation takes one, with their share of hours.

Pure. A landmark rests on a zone, a set of levels not held that nobody enters but by one of its courses; it holds from
any start that holds nothing of the zone. So the landmarks found from a profile also tell what is left to learn after
time in other roles.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.paths.catalogue import Stage
from ontology.analysis.paths.offers import Catalogue, Fact, Offer
from ontology.analysis.routes.level_facts import LevelFacts
from ontology.analysis.routes.route_cuts import CutNet

__all__ = ["JointLandmarks", "Landmark", "LandmarkBook"]

_MARKS_KEPT: Final = 50_000


@dataclass(frozen=True, slots=True)
class Landmark:
    """One of `courses` is in every preparation, and its share is `minutes`; infinite where there is no such course.

    `zone` holds the lowest level of each competency in the zone: whoever holds one of them needs no landmark.
    """

    zone: tuple[Fact, ...]
    courses: tuple[str, ...]
    minutes: float


@dataclass(frozen=True, slots=True)
class JointLandmarks:
    """Landmarks of a whole sequence; each is due at one of its `moves`, so time in a role after it cannot bring it."""

    landmarks: tuple[Landmark, ...]
    moves: tuple[int, ...]

    @property
    def minutes(self) -> float:
        """A lower bound for the sequence."""
        return sum(landmark.minutes for landmark in self.landmarks)


class _Marks(NamedTuple):
    """Landmarks, each with the goal it is found for, and the cheapest courses where they prove them so."""

    marks: tuple[tuple[Landmark, Fact], ...]
    cheapest: tuple[Offer, ...] | None


class LandmarkBook:
    """Landmarks of one catalogue; those of goals that share no course are found once."""

    def __init__(self, catalogue: Catalogue, facts: LevelFacts) -> None:
        self._catalogue = catalogue
        self._facts = facts
        self._known: dict[tuple[int, int], _Marks] = {}

    def find(self, held: Mapping[str, int], goals: Iterable[Fact]) -> tuple[Landmark, ...]:
        """Return landmarks of the goals that are not held; their minutes add up to a lower bound of the preparation.

        The shares of one course add up to at most its hours. A goal that no courses reach has one landmark without
        courses. O(landmarks x size of what can matter).
        """
        due = self._join(goal for goal in goals if goal[1] > held.get(goal[0], 0))
        return tuple(mark for mark, _ in self._find(due, self._facts.get_held(held)))

    def find_joint(self, stages: Sequence[Stage], moves: Mapping[Fact, int]) -> JointLandmarks:
        """Return landmarks of the goals of all stages together; their minutes bound the courses of the whole.

        Forgets the limits of stages, and when time in a role brings its levels: they are there from the start, but for
        those that a goal asks of courses because no role before has brought them.

        Parameters
        ----------
        moves : mapping of fact to int
            For each goal the last move that asks for it.
        """
        marks = self._find_joint(stages)
        return JointLandmarks(tuple(mark for mark, _ in marks), tuple(moves[goal] for _, goal in marks))

    def bound(self, stages: Sequence[Stage]) -> float:
        """Return the minutes of the landmarks of all stages together."""
        return sum(mark.minutes for mark, _ in self._find_joint(stages))

    def _find_joint(self, stages: Sequence[Stage]) -> list[tuple[Landmark, Fact]]:
        asked = self._join(
            (i, level)
            for stage in stages
            for i, high in stage.goals
            for level in range(stage.held.get(i, 0) + 1, high + 1)
        )
        due = self._join(goal for stage in stages for goal in stage.goals)
        return self._find(due, self._facts.get_held(stages[-1].held) & ~asked)

    def _join(self, facts: Iterable[Fact]) -> int:
        mask = 0
        for fact in facts:
            mask |= 1 << self._facts.get_number(fact)
        return mask

    def _find(self, goals: int, held: int) -> list[tuple[Landmark, Fact]]:
        marks: list[tuple[Landmark, Fact]] = []
        for own, reach, _ in self._facts.split(goals, held):
            marks += self._look_up(own, reach).marks
        return marks

    def find_cheapest(self, goals: int, reach: int) -> tuple[Offer, ...] | None:
        """Return the cheapest courses for goals of one time, in an order in which they can be taken.

        None where the landmarks do not prove any to be the cheapest. `reach` holds what is not held of all that the
        goals can depend on.
        """
        return self._look_up(goals, reach).cheapest

    def _look_up(self, goals: int, reach: int) -> _Marks:
        known = self._known.get((goals, reach))
        if known is None:
            facts = self._facts
            own = [facts.get_fact(number) for number in iterate_bits(goals)]
            known = _find_marks(self._catalogue, own, lambda fact: bool(reach >> facts.get_number(fact) & 1))
            if len(self._known) >= _MARKS_KEPT:
                self._known.clear()
            self._known[goals, reach] = known
        return known


def _find_marks(catalogue: Catalogue, facts: list[Fact], is_open: Callable[[Fact], bool]) -> _Marks:
    """Return landmarks of some facts, the goals."""
    offers, net = _build_net(catalogue, facts, is_open)
    shares = net.find_shares()
    marks = tuple(
        (
            Landmark(_get_lowest(facts, zone), tuple(offers[operator].id for operator in operators), share),
            facts[zone[0]],  # a zone begins with its goal
        )
        for zone, operators, share in shares
    )
    minutes = sum(share for _, _, share in shares)
    places = None if minutes == math.inf else net.find_paid_plan()
    if places is None or sum(offers[place].minutes for place in places) > minutes:
        return _Marks(marks, None)
    return _Marks(marks, tuple(offers[place] for place in places))


def _build_net(catalogue: Catalogue, facts: list[Fact], is_open: Callable[[Fact], bool]) -> tuple[list[Offer], CutNet]:
    """Return what can matter for some facts, the goals; the list grows by the conditions that are open."""
    goal_count = len(facts)
    number = {fact: place for place, fact in enumerate(facts)}
    offers: list[Offer] = []
    needs: list[list[int]] = []
    seen: set[str] = set()
    for i, level in facts:  # grows
        for reached, offer in catalogue.by_competency.get(i, ()):
            if reached >= level and offer.id not in seen:
                seen.add(offer.id)
                offers.append(offer)
                asked = [fact for fact in offer.conditions if is_open(fact)]
                for fact in asked:
                    if fact not in number:
                        number[fact] = len(facts)
                        facts.append(fact)
                needs.append([number[fact] for fact in asked])
    levels: dict[str, list[tuple[int, int]]] = {}
    for place, (i, level) in enumerate(facts):
        levels.setdefault(i, []).append((level, place))
    effects = [
        [place for i, reached in offer.effects for level, place in levels.get(i, ()) if level <= reached]
        for offer in offers
    ]
    return offers, CutNet(len(facts), [offer.minutes for offer in offers], needs, effects, range(goal_count))


def _get_lowest(facts: list[Fact], zone: list[int]) -> tuple[Fact, ...]:
    lowest: dict[str, int] = {}
    for place in zone:
        i, level = facts[place]
        lowest[i] = min(level, lowest.get(i, level))
    return tuple(sorted(lowest.items()))
