"""Why there is no rotation, in words. Pure; may import rotation_setting, rotation_search and the deadline."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Literal

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.rotation.rotation_search import BrokenWish, Shortage, explain_infeasible
from ontology.analysis.rotation.rotation_setting import RotationSetting
from ontology.model.identity import PeopleShort, PersonId

__all__ = ["RotationLapse", "RotationReason", "describe_reasons"]


@dataclass(frozen=True, slots=True)
class RotationLapse:
    """Someone there who is able on the first day of the period and then no longer, for want of a competency."""

    person: Annotated[PersonId, "Id of the person."]
    competency: Annotated[str, "Id of the competency that lapsed."]


@dataclass(frozen=True, slots=True)
class RotationReason:
    """One reason why there is no rotation.

    `rule` is "able-people" (too few in an interval: `places` once for every slot that competes, `people` all able for
    one of them), "practice", "maximum-stay", "minimum-stay", or "time-limit" (it struck before a reason was found).
    `missing` counts people, or intervals by which the rule is broken when rules are broken as seldom as possible.
    `interval` is None for the whole period; `lapsed` names who would be able for one of the places but for a lapse,
    `not_there` who is able and away.
    """

    rule: Annotated[
        Literal["able-people", "practice", "maximum-stay", "minimum-stay", "time-limit"], "What cannot be kept."
    ]
    interval: Annotated[int | None, "Number of the interval; null for the whole period."]
    places: Annotated[tuple[str, ...], "The places; for able-people once for every slot that competes."]
    people: Annotated[
        tuple[PersonId, ...], "For able-people everyone able for one of these slots; else whom it is about."
    ]
    missing: Annotated[PeopleShort, "People missing, or intervals by which the rule is broken."]
    lapsed: Annotated[tuple[RotationLapse, ...], "Who would be able for one of the places but for a lapse."]
    not_there: Annotated[tuple[PersonId, ...], "Who is able for one of the places, and not there on all days."]
    reason: Annotated[str, "The same in words."]


def describe_reasons(setting: RotationSetting, deadline: Deadline) -> tuple[RotationReason, ...]:
    """Return why there is no rotation; the bottleneck of each interval, or the rules that have to give way."""
    crowded = _describe_too_many_holders(setting)
    reasons = explain_infeasible(setting.problem, deadline)
    found = [_describe_shortage(setting, reason) for reason in reasons if isinstance(reason, Shortage)]
    wishes = _join_stays([reason for reason in reasons if isinstance(reason, BrokenWish)])
    found += [_describe_wish(setting, wish) for wish in wishes]
    if not found and not crowded:
        text = "There is no such rotation; the time limit struck before the reason was found."
        found.append(RotationReason("time-limit", None, (), (), 0, (), (), text))
    is_short = any(reason.rule == "able-people" for reason in found)
    return (*(() if is_short else crowded), *found)


def _describe_shortage(setting: RotationSetting, shortage: Shortage) -> RotationReason:
    start, end = setting.dates[shortage.interval]
    places = tuple(setting.places[place].id for place in shortage.places)
    people = tuple(setting.people[person].id for person in shortage.people)
    lapsed = {
        RotationLapse(setting.people[person].id, competency)
        for (person, place, t), competencies in setting.abilities.lapses.items()
        if t == shortage.interval and place in shortage.places
        for competency in competencies
    }
    text = f"Interval {shortage.interval + 1}, {start} to {end}: "
    if people:
        text += f"{len(places)} posts ({_list(places)}) compete for {len(people)} able and there ({_list(people)})."
    else:
        text += f"nobody able is there for {_list(places)}."
    ordered = tuple(sorted(lapsed, key=lambda lapse: (lapse.person, lapse.competency)))
    away = {
        n for n, place, t in setting.abilities.away_though_able if t == shortage.interval and place in shortage.places
    }
    gone = tuple(setting.people[number].id for number in sorted(away))
    if gone:
        text += f" Able but not there: {_list(gone)}."
    if ordered:
        text += f" Lapsed by then: {_list(f'{lapse.person} {lapse.competency}' for lapse in ordered)}."
    return RotationReason("able-people", shortage.interval + 1, places, people, shortage.missing, ordered, gone, text)


def _join_stays(wishes: Iterable[BrokenWish]) -> list[BrokenWish]:
    """Return the broken rules with too long a stay told once, not for every window of it."""
    joined: list[BrokenWish] = []
    for wish in wishes:
        before = next(
            (
                n
                for n, other in enumerate(joined)
                if (other.rule, other.person, other.places) == ("maximum-stay", wish.person, wish.places)
                and wish.rule == "maximum-stay"
                and other.first + other.times == wish.first
            ),
            None,
        )
        if before is None:
            joined.append(wish)
        else:
            joined[before] = replace(joined[before], times=joined[before].times + wish.times)
    return joined


def _describe_wish(setting: RotationSetting, wish: BrokenWish) -> RotationReason:
    person = setting.people[wish.person].id
    places = tuple(setting.places[place].id for place in wish.places)
    problem = setting.problem
    if wish.rule == "practice":
        goals = [goal for goal in problem.goals if (goal.person, (goal.place,)) == (wish.person, wish.places)]
        text = f"{person} would get {wish.times} intervals of practice too few at {_list(places)}."
        if goals and not goals[0].possible:
            text = f"{person} can begin at {_list(places)} in no interval: not there, or something blocking is missing."
    elif wish.rule == "maximum-stay":
        text = (
            f"{person} would have to stay at {_list(places)} from interval {wish.first + 1} to "
            f"{wish.first + wish.times + problem.maximum_stay}, longer than {problem.maximum_stay} intervals."
        )
    else:
        text = (
            f"{person} would have to leave {_list(places)}, begun in interval {wish.first + 1}, before "
            f"{problem.minimum_stay} intervals are over."
        )
    return RotationReason(wish.rule, wish.first + 1 or None, places, (person,), wish.times, (), (), text)


def _describe_too_many_holders(setting: RotationSetting) -> list[RotationReason]:
    """Return the roles whose holders want more practice than there is: slots times intervals."""
    problem = setting.problem
    by_role: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    for practice in problem.practices:
        by_role[setting.places[practice.places[0]].role].append((practice.person, practice.wanted))
    found = []
    for role, wishes in sorted(by_role.items()):
        places = [place for place, record in enumerate(setting.places) if record.role == role]
        offered = sum(problem.slots[place] for place in places) * problem.intervals
        wanted = sum(count for _, count in wishes)
        if wanted > offered:
            text = (
                f"{len(wishes)} people are able for the places of {role} and want {wanted} intervals of practice "
                f"together, but there are {offered}: more holders than the places can keep current."
            )
            people = tuple(setting.people[person].id for person, _ in wishes)
            ids = tuple(setting.places[place].id for place in places)
            found.append(RotationReason("practice", None, ids, people, wanted - offered, (), (), text))
    return found


def _list(ids: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(ids))
