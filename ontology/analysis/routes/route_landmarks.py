"""Landmarks of a role's entry levels: sets of courses of which every preparation takes one, with their share of hours.

Pure. A landmark rests on a zone, a set of levels not held that nobody enters but by one of its courses; it holds from
any start that holds nothing of the zone. So the landmarks found from a profile also tell what is left to learn after
time in other roles.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from ontology.analysis.paths.catalogue import Stage
from ontology.analysis.paths.offers import Catalogue, Fact, Offer
from ontology.analysis.routes.route_cuts import CutNet

__all__ = ["JointLandmarks", "Landmark", "find_joint_landmarks", "find_landmarks"]


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


def find_landmarks(catalogue: Catalogue, held: Mapping[str, int], goals: Iterable[Fact]) -> tuple[Landmark, ...]:
    """Return landmarks of the goals that are not held; their minutes add up to a lower bound of the preparation.

    The shares of one course add up to at most its hours. A goal that no courses reach has one landmark without
    courses. O(landmarks x size of what can matter).
    """
    facts = [goal for goal in goals if goal[1] > held.get(goal[0], 0)]
    offers, net = _build_net(catalogue, facts, lambda fact: fact[1] > held.get(fact[0], 0))
    return tuple(
        Landmark(_get_lowest(facts, zone), tuple(offers[operator].id for operator in operators), share)
        for zone, operators, share in net.find_shares()
    )


def find_joint_landmarks(catalogue: Catalogue, stages: Sequence[Stage], moves: Mapping[Fact, int]) -> JointLandmarks:
    """Return landmarks of the goals of all stages together; their minutes bound the courses of the whole from below.

    Forgets the limits of stages, and when time in a role brings its levels: they are there from the start, but for
    those that a goal asks of courses because no role before has brought them.

    Parameters
    ----------
    catalogue : Catalogue
    stages : sequence of Stage
    moves : mapping of fact to int
        For each goal the last move that asks for it.
    """
    held = stages[-1].held
    asked: dict[str, list[tuple[int, int]]] = {}
    for stage in stages:
        for i, level in stage.goals:
            asked.setdefault(i, []).append((stage.held.get(i, 0), level))

    def is_open(fact: Fact) -> bool:
        i, level = fact
        return level > held.get(i, 0) or any(low < level <= high for low, high in asked.get(i, ()))

    facts = sorted({goal for stage in stages for goal in stage.goals})
    offers, net = _build_net(catalogue, facts, is_open)
    shares = net.find_shares()
    return JointLandmarks(
        landmarks=tuple(
            Landmark(_get_lowest(facts, zone), tuple(offers[operator].id for operator in operators), share)
            for zone, operators, share in shares
        ),
        # a zone begins with its goal
        moves=tuple(moves[facts[zone[0]]] for zone, _, _ in shares),
    )


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
