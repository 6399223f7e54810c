"""What a cross-training plan may do: who learns, by which courses, until when, coached by whom. Pure.

May import presence, offers, levels and errors. All of it is optional; without rules everybody may learn everything.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from ontology.analysis.cover.presence import Presence, find_absent_days, find_members
from ontology.analysis.paths.aims import get_minutes, get_whole_minutes
from ontology.analysis.paths.offers import Catalogue, Fact, Offer, keep_effects, leave_out, reach_levels
from ontology.analysis.paths.pace import WORKING_HOURS_PER_WEEK
from ontology.analysis.paths.renewing import find_last_day_of_use
from ontology.analysis.profiles.belonging import find_last_day_in_team, get_people_of_team
from ontology.analysis.training.learner_days import CourseLength, get_course_length, place_course
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LearnerRules", "TrainingAsked", "build_learner_rules"]


@dataclass(frozen=True)
class TrainingAsked:
    """What the question asks for.

    Attributes
    ----------
    hours_limit : float or None
        The most own hours of each person.
    exclude_people, exclude_courses : frozenset of str
        People who do not learn (what they hold counts), and courses that are not used.
    by : date or None
        The last day by which every course of the plan has ended.
    is_fair : bool
        Whether the largest load of one person is to be small, right after the missing people.
    with_coach : bool
        Whether a course with coach hours needs for each of its outcomes somebody who could coach it.
    lending_teams : tuple of str
        Teams whose people may coach, besides the team's own.
    """

    hours_limit: float | None = None
    exclude_people: frozenset[str] = frozenset()
    exclude_courses: frozenset[str] = frozenset()
    by: date | None = None
    is_fair: bool = False
    with_coach: bool = False
    lending_teams: tuple[str, ...] = ()

    def require_sound(self, snapshot: Snapshot, on: date) -> None:
        """Check the rules against what there is.

        Raises
        ------
        UnknownIdError
            A person, course or team does not exist.
        InputError
            The limit is below 0, or `by` lies before the day asked about.
        """
        if self.hours_limit is not None and not self.hours_limit >= 0:
            raise InputError(
                f"hours_limit must be at least 0, not {self.hours_limit}.",
                parameter="hours_limit",
                value=self.hours_limit,
            )
        if self.by is not None and self.by < on:
            raise InputError(f"by must not be before {on}, the day asked about.", parameter="by", value=self.by)
        for person_id in sorted(self.exclude_people):
            snapshot.require_person(person_id)
        for course_id in sorted(self.exclude_courses):
            snapshot.require_course(course_id)
        for team_id in self.lending_teams:
            snapshot.require_team(team_id)


@dataclass(frozen=True)
class LearnerRules:
    """The rules worked out for a team on a day.

    Attributes
    ----------
    coaches : tuple of str
        Who may coach if they hold the level: employed that day, not taken as away, by id.
    """

    asked: TrainingAsked
    presence: Presence
    coaches: tuple[str, ...]

    def get_last_day(self, person_id: str) -> int | None:
        """Return the day, from the day asked about, by which a person's courses must be done; None without one.

        Their last day, or the date asked for where that is earlier: nobody ends a course after either.
        """
        ends = (self.asked.by, self.find_end_in_team(person_id))
        return min(((end - self.presence.on).days for end in ends if end is not None), default=None)

    def find_end_in_team(self, person_id: str) -> date | None:
        """Return a person's last day in the team that holds the day asked about; None where no end is known."""
        presence = self.presence
        return find_last_day_in_team(presence.snapshot, person_id, presence.team, presence.on)

    def get_limit(self, person_id: str) -> int | None:
        """Return the most own minutes of a person; None without a limit."""
        limits = []
        if self.asked.hours_limit is not None:
            limits.append(get_whole_minutes(self.asked.hours_limit))
        last_day = self.get_last_day(person_id)
        if last_day is not None:
            limits.append(last_day * WORKING_HOURS_PER_WEEK * 60 // 7)
        finite = [limit for limit in limits if limit is not None]
        return min(finite) if finite else None

    def find_coaches(self, learner_id: str, fact: Fact, until: date) -> tuple[str, ...]:
        """Return who holds a level on the day, is not the learner and has not left by a date, by id."""
        people = self.presence.snapshot.people
        return tuple(
            i
            for i in self.coaches
            if i != learner_id
            and self.presence.get_level_rank(i, fact[0]) >= fact[1]
            and ((end := people[i].end_date) is None or end >= until)
        )

    def is_coached(self, learner_id: str, offer: Offer) -> bool:
        """Whether a course needs no coach, or each of its outcomes has one who is there until it can be done."""
        course = self.presence.snapshot.courses[offer.id]
        if not get_minutes(course.coach_hours):
            return True
        length = get_course_length(course)
        days = min(math.ceil(length.lead + length.whole), (date.max - self.presence.on).days)
        until = self.presence.on + timedelta(days=days)
        return all(self.find_coaches(learner_id, fact, until) for fact in offer.effects)

    def restrict(self, person_id: str, catalogue: Catalogue, held: dict[str, int]) -> Catalogue:
        """Return the courses that a person may use: none for those who do not learn."""
        if person_id in self.asked.exclude_people:
            return leave_out(catalogue, frozenset(offer.id for offer in catalogue.offers))
        allowed = leave_out(catalogue, self.asked.exclude_courses)
        if self.asked.with_coach:
            allowed = self._leave_out_uncoached(person_id, allowed)
        return self._keep_in_time(person_id, allowed, held)

    def explain_loss(self, person_id: str, catalogue: Catalogue, held: dict[str, int], fact: Fact) -> str:
        """Return which of the rules keeps a person from a level that the courses of a catalogue would reach."""
        asked = self.asked
        left = leave_out(catalogue, asked.exclude_courses)
        if reach_levels(left, held).get(fact[0], 0) < fact[1]:
            return f"only by courses that are left out, as asked ({', '.join(sorted(asked.exclude_courses))})."
        if (
            asked.with_coach
            and reach_levels(self._leave_out_uncoached(person_id, left), held).get(fact[0], 0) < fact[1]
        ):
            return "only by courses that nobody in these teams can coach."
        end = self.find_end_in_team(person_id)
        if end is not None and (asked.by is None or end < asked.by):
            return f"no course to it is done by {end}, their last day."
        if asked.by is None:
            return "no course to it is done while they can still use its refresher."
        return f"no course to it is done by {asked.by}."

    def _leave_out_uncoached(self, person_id: str, catalogue: Catalogue) -> Catalogue:
        out = {offer.id for offer in catalogue.offers if not self.is_coached(person_id, offer)}
        return leave_out(catalogue, out)

    def get_length(self, person_id: str, offer: Offer, held: Mapping[str, int]) -> CourseLength:
        """Return how long a course takes, and by when someone must be done with it for it to be of use to them.

        By their last day; and where it only renews what they have lost, while they still can use it.
        """
        ends = [self.get_last_day(person_id)]
        gains = [fact for fact in offer.effects if fact[1] > held.get(fact[0], 0)]
        uses = self._find_last_uses(person_id, offer, held)
        if all(fact in uses for fact in gains):
            ends += [uses[fact] for fact in gains]
        course = self.presence.snapshot.courses[offer.id]
        return get_course_length(course, min((end for end in ends if end is not None), default=None))

    def _find_last_uses(self, person_id: str, offer: Offer, held: Mapping[str, int]) -> dict[Fact, int]:
        """Return the levels that a course renews for someone who lost them, each with the last day they can use it."""
        snapshot, on = self.presence.snapshot, self.presence.on
        uses = {}
        for outcome in snapshot.get_outcomes(offer.id):
            fact = outcome.competency, outcome.level
            if outcome.renews and outcome.level > held.get(outcome.competency, 0) and fact in offer.effects:
                last = find_last_day_of_use(snapshot, person_id, outcome, on)
                if last is not None:
                    uses[fact] = (last - on).days
        return uses

    def _keep_in_time(self, person_id: str, catalogue: Catalogue, held: dict[str, int]) -> Catalogue:
        """Return the catalogue without what comes too late even if the person took only what a course waits for."""
        lengths = {offer.id: self.get_length(person_id, offer, held) for offer in catalogue.offers}
        uses = {offer.id: self._find_last_uses(person_id, offer, held) for offer in catalogue.offers}
        if all(length.last_day is None and not uses[course_id] for course_id, length in lengths.items()):
            return catalogue
        absences = find_absent_days(self.presence.snapshot, person_id, self.presence.on)
        ends: dict[str, Fraction] = {}
        reached: dict[str, dict[int, Fraction]] = {}

        def get_begin(fact: Fact) -> Fraction | None:
            if held.get(fact[0], 0) >= fact[1]:
                return Fraction(0)
            ends_of = reached.get(fact[0], {})
            return min((end for level, end in ends_of.items() if level >= fact[1]), default=None)

        changed = True
        while changed:
            changed = False
            for offer in catalogue.offers:
                begins = [get_begin(fact) for fact in offer.conditions]
                if any(begin is None for begin in begins):
                    continue
                length = lengths[offer.id]
                ready = max(length.lead, *(begin for begin in begins if begin is not None), Fraction(0))
                end = place_course(0, length, ready, absences).end
                is_late = length.last_day is not None and end > length.last_day
                if not is_late and (offer.id not in ends or end < ends[offer.id]):
                    ends[offer.id] = end
                    changed = True
                    for fact in offer.effects:
                        if fact not in uses[offer.id] or end <= uses[offer.id][fact]:
                            ends_of = reached.setdefault(fact[0], {})
                            ends_of[fact[1]] = min(end, ends_of.get(fact[1], end))
        return keep_effects(
            catalogue,
            {
                offer.id: tuple(
                    fact
                    for fact in offer.effects
                    if fact not in uses[offer.id] or ends[offer.id] <= uses[offer.id][fact]
                )
                for offer in catalogue.offers
                if offer.id in ends
            },
        )


def build_learner_rules(presence: Presence, asked: TrainingAsked) -> LearnerRules:
    """Return the rules worked out for a team on a day."""
    snapshot = presence.snapshot
    teams = dict.fromkeys((presence.team, *asked.lending_teams))
    coaches = sorted(
        person.id
        for team_id in teams
        for person in find_members(snapshot, get_people_of_team(snapshot, team_id), team_id, presence.on)
        if person.id not in presence.away
    )
    return LearnerRules(asked, presence, tuple(coaches))
