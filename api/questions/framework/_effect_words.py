"""The first sentence of the effect of a draft: what matters most, what is lost before what is gained. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from api.access.figures import HiddenFigure
from api.desk.names import Names, amount, count
from api.questions.framework._effect_record import DraftEffect
from ontology.analysis.cover.coverage import STATES
from ontology.analysis.effect.team_day import NeedDifference

#: Standing, most people first, role.
Order = tuple[int, int, str]
#: What is said in the first sentence at the most.
_SAID: Final = 3
_LOST: Final = {
    "may-start": "may no longer start as {role}",
    "works-alone": "would no longer work alone as {role}",
    "full": "would no longer be at full level as {role}",
}
_WON: Final = {
    "may-start": "may start as {role}",
    "works-alone": "would work alone as {role}",
    "full": "would be at full level as {role}",
}
#: What is said first: who would no longer work alone, then who may no longer start.
_ORDER: Final = ("works-alone", "may-start", "full")


def tell_effect(result: DraftEffect, names: Names) -> str:
    """Return what matters most of an effect in one sentence, and how much more there is.

    First who would no longer work alone or start, then what teams lose, then paths, courses and rules; what is gained
    comes after what is lost.
    """
    said = [*_iterate_lost(result, names), *_iterate_team_losses(result, names), *_iterate_more(result, names)]
    cut = " The time was up before all that it touches was asked." if result.status == "cut-short" else ""
    if not said:
        return f"Nothing differs for people, teams and courses.{cut}"
    left = len(said) - _SAID
    more = f"; {count(left, 'more difference')} below" if left > 0 else ""
    return f"{'; '.join(said[:_SAID])}{more}.{cut}"


def say_people(n: int, what: str) -> str:
    # a number that is hidden reads "under 5"
    return f"{n} {'person' if str(n) == '1' else 'people'} {what}"


def _iterate_moved(
    result: DraftEffect, names: Names, which: str, verbs: Mapping[str, str]
) -> Iterator[tuple[Order, str]]:
    """Yield how many people and a sentence for each role and standing that someone loses or reaches."""
    for row in result.roles:
        numbers = getattr(row.everyone, which)
        for standing in _ORDER:
            if numbers[standing] and not isinstance(numbers[standing], HiddenFigure):
                told = say_people(numbers[standing], verbs[standing].format(role=names.role(row.id)))
                yield (_ORDER.index(standing), -numbers[standing], row.id), told


def _iterate_lost(result: DraftEffect, names: Names) -> Iterator[str]:
    yield from (told for _, told in sorted(_iterate_moved(result, names, "stopped_people", _LOST)))


def _iterate_team_losses(result: DraftEffect, names: Names) -> Iterator[str]:
    for team in result.teams:
        n_worse = sum(_is_worse(need) for need in team.needs)
        if n_worse:
            yield f"{count(n_worse, 'need')} of {names.team(team.id)} would stand worse"
        filled = team.places_filled
        if filled.before is not None and filled.after is not None and int(filled.after) < int(filled.before):
            yield f"fewer places of {names.team(team.id)} would be filled"
        if team.single_points.gained_people and not isinstance(team.single_points.gained_people, HiddenFigure):
            told = say_people(team.single_points.gained_people, "alone")
            yield f"something in {names.team(team.id)} would rest on {told}"


def _is_worse(need: NeedDifference) -> bool:
    if need.state_before is None or need.state_after is None:
        return False
    return STATES.index(need.state_after) < STATES.index(need.state_before)


def _iterate_more(result: DraftEffect, names: Names) -> Iterator[str]:
    for path in result.paths:
        if path.impossible and not isinstance(path.impossible, HiddenFigure):
            start = "from nothing" if path.from_ == "nothing" else "by some of those whose role it is"
            yield f"{names.role(path.role)} could not be reached any more {start}"
    if result.findings.new:
        yield f"{count(len(result.findings.new), 'rule is', 'rules are')} newly broken"
    yield from (said for _, said in sorted(_iterate_moved(result, names, "started_people", _WON)))
    lost = [course.id for course in result.courses if course.purpose == "lost"]
    if lost:
        yield f"{count(len(lost), 'course loses its', 'courses lose their')} purpose"
    told = [path for path in result.paths if not isinstance(path.hours_after, HiddenFigure)]
    before, after = (sum(getattr(path, name) for path in told) for name in ("hours_before", "hours_after"))
    if before != after:
        yield f"the learning paths that differ take {amount(after)} h together instead of {amount(before)} h"
    n_better = sum(not _is_worse(need) for team in result.teams for need in team.needs)
    if n_better:
        yield f"{count(n_better, 'need')} would stand better, be new or go"
