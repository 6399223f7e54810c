"""The courses as one profile can use them, and what levels they reach together. Pure.

All sums are whole minutes and cents; weeks are exact fractions.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from fractions import Fraction

from ontology.analysis.paths.aims import get_cents, get_minutes, get_week_fraction, read_decimal
from ontology.analysis.profiles.levels import is_in_force
from ontology.analysis.profiles.profile import Profile, add_what_it_hangs_on
from ontology.model.records import Course
from ontology.model.work_records import Equivalence
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Catalogue",
    "Fact",
    "Offer",
    "build_catalogue",
    "build_idle_offer",
    "get_relied_on",
    "keep_effects",
    "leave_out",
    "list_conditions",
    "reach_levels",
    "take_offers",
]

Fact = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Offer:
    """A course as one profile can use it: `effects` leaves out renewing outcomes that are of no use to it.

    `own_weeks` is None where the course names none.
    """

    id: str
    minutes: int
    cents: int
    conditions: tuple[Fact, ...]
    effects: tuple[Fact, ...]
    own_weeks: Fraction | None = None

    def get_weeks(self, pace: float) -> Fraction:
        """Return the weeks it counts for someone who studies `pace` hours a week."""
        return get_week_fraction(self.own_weeks, self.minutes, pace)


@dataclass(frozen=True)
class Catalogue:
    """The offers usable by a profile, by course id, and which of them reach a level of a competency."""

    offers: tuple[Offer, ...]
    by_competency: Mapping[str, tuple[tuple[int, Offer], ...]]

    def get_achievers(self, competency_id: str, level: int) -> list[Offer]:
        """Return the offers that reach at least this level of the competency, by course id."""
        return [offer for reached, offer in self.by_competency.get(competency_id, ()) if reached >= level]


def _build(offers: Iterable[Offer]) -> Catalogue:
    kept = tuple(offers)
    index: dict[str, list[tuple[int, Offer]]] = {}
    for offer in kept:
        for competency_id, level in offer.effects:
            index.setdefault(competency_id, []).append((level, offer))
    return Catalogue(kept, {key: tuple(group) for key, group in index.items()})


def _build_offer(
    snapshot: Snapshot, course: Course, renewable: Mapping[str, int], equivalences: Iterable[Equivalence]
) -> Offer | None:
    effects = {
        outcome.competency: outcome.level
        for outcome in snapshot.get_outcomes(course.id)
        if not outcome.renews or renewable.get(outcome.competency, 0) >= outcome.level
    }
    own = dict(effects)
    for row in equivalences:
        if own.get(row.competency, 0) >= row.level:
            effects[row.counts_as] = max(row.as_level, effects.get(row.counts_as, 0))
    return _make_offer(snapshot, course, tuple(effects.items())) if effects else None


def list_conditions(snapshot: Snapshot, course_id: str) -> tuple[Fact, ...]:
    """Return what must be held to begin a course, by competency id: its entry conditions, and what they hang on."""
    asked = {c.competency: c.level for c in snapshot.get_entry_conditions(course_id)}
    return tuple(sorted(add_what_it_hangs_on(snapshot, asked).items()))


def _make_offer(snapshot: Snapshot, course: Course, effects: tuple[Fact, ...]) -> Offer:
    conditions = list_conditions(snapshot, course.id)
    weeks = None if course.weeks is None else read_decimal(course.weeks)
    return Offer(course.id, get_minutes(course.hours), get_cents(course.cost), conditions, effects, weeks)


def build_idle_offer(snapshot: Snapshot, course_id: str) -> Offer:
    """Return a course that is of no use to a profile: it asks and costs, and brings nothing."""
    return _make_offer(snapshot, snapshot.courses[course_id], ())


def build_catalogue(snapshot: Snapshot, profile: Profile) -> Catalogue:
    """Return the courses that are of use to a profile, by id.

    A renewing outcome counts where the profile lost that level lately enough. Where it still holds the level the
    outcome adds nothing, and is left out too. A course all of whose outcomes are left out is left out. What is learned
    also counts as what it is equivalent to on the profile's day, unless it hangs on something else: then it is not
    relied on.

    Notes
    -----
    O(size of the courses); for profiles with nothing to renew it is built once for a Snapshot.
    """
    equivalences = get_relied_on(snapshot, profile)
    if profile.renewable:
        return _build_renewing(snapshot, profile.renewable, equivalences)
    key = "catalogue without renewals", equivalences
    return snapshot.keep(key, lambda: _build_renewing(snapshot, {}, equivalences))


def get_relied_on(snapshot: Snapshot, profile: Profile) -> tuple[Equivalence, ...]:
    """Return the equivalences by which what a profile learns counts as something else.

    Those in force on its day, and on the day until which they must be.
    """
    rows: Iterable[Equivalence] = snapshot.get_table("equivalences").values()
    return tuple(
        row
        for row in rows
        if not snapshot.require_competency(row.competency).holds_while
        and is_in_force(row, profile.on)
        and (profile.until is None or is_in_force(row, profile.until))
    )


def _build_renewing(
    snapshot: Snapshot, renewable: Mapping[str, int], equivalences: tuple[Equivalence, ...]
) -> Catalogue:
    offers = (_build_offer(snapshot, course, renewable, equivalences) for course in snapshot.courses.values())
    return _build(offer for offer in offers if offer is not None)


def leave_out(catalogue: Catalogue, course_ids: AbstractSet[str]) -> Catalogue:
    """Return the catalogue without these courses; itself where there are none to leave out."""
    if not course_ids:
        return catalogue
    return _build(offer for offer in catalogue.offers if offer.id not in course_ids)


def keep_effects(catalogue: Catalogue, effects: Mapping[str, tuple[Fact, ...]]) -> Catalogue:
    """Return the catalogue with these effects of its offers, by id; an offer without any is left out."""
    return _build(
        offer if offer.effects == effects[offer.id] else replace(offer, effects=effects[offer.id])
        for offer in catalogue.offers
        if effects.get(offer.id)
    )


def reach_levels(catalogue: Catalogue, held: Mapping[str, int]) -> dict[str, int]:
    """Return the highest level of every competency that all offers together reach from the levels held.

    O(rounds x size), with at most as many rounds as offers; few in practice.
    """
    return take_offers(catalogue.offers, held)


def take_offers(offers: Sequence[Offer], held: Mapping[str, int]) -> dict[str, int]:
    """Return the levels after all of these offers that can be taken from the levels held, in some order."""
    levels = dict(held)
    waiting = offers
    while True:
        later: list[Offer] = []
        for offer in waiting:
            if all(levels.get(i, 0) >= level for i, level in offer.conditions):
                for competency_id, level in offer.effects:
                    if level > levels.get(competency_id, 0):
                        levels[competency_id] = level
            else:
                later.append(offer)
        if len(later) == len(waiting):
            return levels
        waiting = later
