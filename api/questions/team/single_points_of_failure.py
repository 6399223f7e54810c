"""People of a team on whom alone something rests: what would fall with the absence of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.names import Names, count, join_names
from api.desk.question import TEAM, InFigures, Question, Subject, by_names
from api.desk.sheet import Next, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskAboutTeam
from api.questions._words import name_fallen
from ontology.analysis.places.single_points import SinglePoint, SinglePointsResult, find_single_points_of_failure

#: On whom something rests, where nobody is named.
_ONE: Final = "1 person"
#: People named in the first sentence at the most.
_NAMED: Final = 3


def show(result: SinglePointsResult, subject: Subject, asked: AskAboutTeam, names: Names) -> Sheet:
    """Return the people with what would fall."""
    return Sheet(
        title=f"Single points of failure of {names.team(result.team)}, {result.on}",
        lead=_tell(result, names),
        parts=(
            build_table(
                "Who, and what would be lost without them",
                result.people,
                (
                    words("person", lambda row: names.ref("people", row.id)),
                    words("lost without them", lambda row: name_fallen(names, row.needs, row.places, row.together)),
                ),
                "Nobody.",
            ),
        ),
        next=tuple(
            Next(
                f"Who could stand in for {names.person(row.id)}",
                "stand-ins",
                result.team,
                {"person": row.id, "on": str(result.on)},
            )
            for row in result.people[:3]
        ),
    )


def _tell(result: SinglePointsResult, names: Names) -> str:
    """Return how much rests on whom; of many people, on how many."""
    people = result.people
    if not people:
        return "Nothing rests on one person alone."
    what = _count_fallen(people)
    if len(people) > _NAMED:
        return f"{what} on one person alone each: {len(people)} people in all."
    each = " alone" if len(people) == 1 else ", each on one of them alone"
    return f"{what} on {join_names(names.person(row.id) for row in people)}{each}."


def _count_fallen(people: Sequence[SinglePoint]) -> str:
    """Return how many needs, places and slots of groups rest on people, with their verb."""
    numbers = [sum(len(getattr(row, kind)) for row in people) for kind in ("needs", "places", "together")]
    nouns = (("need", "needs"), ("place", "places"), ("slot of a group", "slots of groups"))
    told = join_names(count(n, one, many) for n, (one, many) in zip(numbers, nouns, strict=True) if n)
    return f"{told} {'rests' if sum(numbers) == 1 else 'rest'}"


def part_by_what_falls(result: SinglePointsResult) -> SinglePointsResult:
    """Return for each need, place or group that rests on one person a row by itself, which does not say on whom."""
    parts: dict[SinglePoint, None] = {}
    for row in result.people:
        one = replace(row, id=_ONE, needs=(), places=(), together=())
        parts |= dict.fromkeys(replace(one, needs=(need,)) for need in row.needs)
        parts |= dict.fromkeys(replace(one, places=(place,)) for place in row.places)
        parts |= dict.fromkeys(replace(one, together=(need,)) for need in row.together)
    # not by person, or what hangs on the same one would stand together
    order = sorted(parts, key=repr)
    return replace(result, people=tuple(order))


def show_in_figures(result: SinglePointsResult, subject: Subject, asked: AskAboutTeam, names: Names) -> Sheet:
    """Return what rests on one person, not on whom."""
    n = len(result.people)
    return Sheet(
        title=f"Single points of failure of {names.team(result.team)}, {result.on}",
        lead=f"{count(n, 'need or place rests', 'needs and places rest')} on 1 person alone."
        if n
        else "Nothing rests on one person alone.",
        parts=(
            build_table(
                "What would fall without 1 person",
                result.people,
                (words("what would fall", lambda row: name_fallen(names, row.needs, row.places, row.together)),),
                "Nothing.",
            ),
        ),
    )


QUESTION = Question(
    asks={TEAM: AskAboutTeam},
    answers=SinglePointsResult,
    compute=by_names(find_single_points_of_failure),
    cautions=(cautions.NO_REASON_TO_REFUSE, cautions.NO_ROSTER_LAW, cautions.NO_AUTHORISATION),
    needs=Kind.TEAM_ANSWERS,
    show=show,
    figures=InFigures(show_in_figures, prepare=lambda result, _: part_by_what_falls(result)),
)
