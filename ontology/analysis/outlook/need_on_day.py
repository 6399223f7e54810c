"""A need where it counts, on a day of a team's calendar. Pure."""

from __future__ import annotations

from datetime import date

from ontology.analysis.cover.coverage import NeedScope, build_scope
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.model.records import CoverNeed

__all__ = ["find_days_of_need", "get_need_on_day"]


def get_need_on_day(calendar: TeamCalendar, need: CoverNeed, shift: str | None, day: date) -> NeedScope:
    """Return who is qualified and present for a need in a shift (None: the team), as coverage of that day says it.

    O(members).
    """
    members = calendar.get_members(day, shift)
    who = [p for p in members if calendar.get_rank(p.id, need.competency, day) >= need.level]
    there = {p.id for p in who if calendar.is_present(p, day)}
    return build_scope(calendar.snapshot, need, shift, day, [p.id for p in who], there)


def find_days_of_need(calendar: TeamCalendar, need: CoverNeed, shift: str | None) -> set[date]:
    """Return every day of a calendar on which who counts for a need in a shift may differ from the day before."""
    people = calendar.get_scope(shift)
    return {day for person in people for day in calendar.find_days_of_change(person, need.competency)}
