"""Who of a team keeps in practice for its needs, who falls below soon, and what is left to share. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Annotated

from ontology.analysis.cover.coverage import NeedScope, build_need_scopes
from ontology.analysis.cover.practice_counts import (
    PersonPractice,
    find_practice,
    find_window_begin,
    get_practice_ceiling,
    is_practice_kept,
)
from ontology.analysis.cover.presence import get_presence
from ontology.model.identity import CountOf, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = ["NeedPractice", "PracticeResult", "find_team_practice"]


@dataclass(frozen=True, slots=True)
class NeedPractice:
    """One cover need where it counts: in the team or in one shift.

    A need for each shift has a row a shift, and its occasions of a year in each of them.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed."]
    applies: Annotated[str, "team, each-shift, or the id of one shift."]
    shift: Annotated[str | None, "The shift; null for the whole team."]
    practices_per_year: Annotated[float | None, "How often a year keeps one person current; null: not told."]
    occasions_per_year: Annotated[float | None, "How often a year the work comes up; null: not told."]
    ceiling: Annotated[int | None, "Holders that the occasions of a year keep current; null: not told, or not asked."]
    done: Annotated[int, TellsOf(), "How often the qualified did it in the twelve months, all together."]
    occasions_left: Annotated[
        float | None,
        TellsOf(),
        "Occasions of a year less what the qualified did in these months, not below 0; null: not told.",
    ]
    qualified_count: Annotated[int, TellsOf(), "How many are qualified, absent ones included."]
    below_count: Annotated[int, CountOf(of="qualified_count"), "Of them, those below what keeps one current."]
    people: Annotated[tuple[PersonPractice, ...], "Everyone qualified, absent ones included, by id."]


@dataclass(frozen=True, slots=True)
class PracticeResult:
    """The practice of a team on a day."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about, the last that counts."]
    from_date: Annotated[date, "The first day that counts: the one after the same day a year before."]
    is_recorded: Annotated[bool, "Whether practice of anyone at all is recorded; without it 0 says nothing."]
    needs: Annotated[tuple[NeedPractice, ...], "Every cover need in each of its shifts, as in coverage."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def find_team_practice(snapshot: Snapshot, team_id: str, on: date) -> PracticeResult:
    """Return for every cover need of a team how often each who is qualified did it in the twelve months up to a day.

    Parameters
    ----------
    on : date
        Who is qualified that day is who coverage says is. What was done later does not count.

    Raises
    ------
    UnknownIdError
        There is no such team.

    Notes
    -----
    As `compute_coverage`, and O(records) for each qualified person and need.
    """
    scopes = build_need_scopes(get_presence(snapshot, team_id, on))
    needs = tuple(_build_need(snapshot, scope, on) for scope in scopes)
    is_recorded = is_practice_kept(snapshot)
    return PracticeResult(
        team=team_id,
        on=on,
        from_date=find_window_begin(on),
        is_recorded=is_recorded,
        needs=needs,
        remarks=tuple(_iterate_remarks(needs, is_recorded=is_recorded)),
    )


def _build_need(snapshot: Snapshot, scope: NeedScope, on: date) -> NeedPractice:
    need = scope.need
    competency = snapshot.competencies[need.competency]
    people = tuple(find_practice(snapshot, person, competency, on) for person in scope.qualified)
    done = sum(person.count for person in people)
    left = None
    if need.occasions_per_year is not None:
        # from the written decimals, so that 0.3 less nothing is 0.3
        left = float(max(Fraction(0), Fraction(repr(need.occasions_per_year)) - done))
    return NeedPractice(
        competency=need.competency,
        level=need.level,
        applies=need.applies,
        shift=scope.shift,
        practices_per_year=competency.practices_per_year,
        occasions_per_year=need.occasions_per_year,
        ceiling=get_practice_ceiling(snapshot, need),
        done=done,
        occasions_left=left,
        qualified_count=len(people),
        below_count=sum(person.state == "below" for person in people),
        people=people,
    )


def _iterate_remarks(needs: tuple[NeedPractice, ...], *, is_recorded: bool) -> Iterator[str]:
    if not is_recorded:
        yield "No practice of anyone is recorded yet: 0 says nothing about what was done."
    for need in needs:
        if need.ceiling is not None and len(need.people) > need.ceiling:
            where = f" in shift {need.shift}" if need.shift else ""
            yield (
                f"{need.competency} at level {need.level}{where} comes up often enough to keep {need.ceiling} current; "
                f"{len(need.people)} hold it."
            )
