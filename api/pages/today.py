"""The first page: for each way what is broken, what is due, what comes; for who is new, the three ways in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.desk import Answer, State
from api.desk.names import Names, count
from api.pages.addresses import build_address
from api.pages.page import Link, Page
from api.pages.today_lists import TodayList, TodayRow, TodaySection, build_list, wait_for
from api.questions._words import show_state
from ontology.analysis.outlook.company_cover import CompanyCoverResult

__all__ = ["TodayView", "WayIn", "build_view", "build_ways_in", "describe_today", "list_broken_of_all"]

#: Teams named on the first page of who is new; the rest stand in the list of all.
_TEAMS_NAMED: Final = 12
_OF_ALL: Final = "Broken now, in all teams"
_COUNTED: Final = (("competencies", "competency"), ("roles", "role"), ("courses", "course"), ("scales", "scale"))
_WEEKDAYS: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, slots=True)
class WayIn:
    """One of the three ways in: who goes it, what for, and where to begin."""

    who: str
    what_for: str
    about: str
    links: tuple[Link, ...]
    more: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class TodayView:
    """What stands on the first page."""

    on: dt.date
    weekday: str
    heading: str
    lead: str
    is_empty: bool
    sections: tuple[TodaySection, ...]
    ways: tuple[WayIn, ...]
    broken: TodayList | None
    cautions: tuple[str, ...]
    revision: int

    @property
    def is_waiting(self) -> bool:
        """Whether something of it is still worked out, so that it will be another page soon."""
        lists = [one for section in self.sections for one in section.lists]
        return any(one.is_waiting for one in (*lists, *([self.broken] if self.broken else [])))


def build_view(
    state: State,
    on: dt.date,
    *,
    sections: Sequence[TodaySection] = (),
    company: Answer | None = None,
    sees_all: bool = True,
) -> TodayView:
    """Return the view of the first page.

    Parameters
    ----------
    sections : sequence of TodaySection
        What each way of who looks has to say; none while nobody is chosen.
    company : Answer or None
        The cover of all teams, for who is new; None while it is worked out.
    sees_all : bool
        Whether who looks may see the cover of all teams.
    """
    snapshot = state.snapshot
    is_empty = not any((snapshot.competencies, snapshot.roles, snapshot.courses, snapshot.teams, snapshot.people))
    heading = sections[0].heading if sections else "Who can do what, what a role asks, and which steps lead there"
    lead = sections[0].lead if sections else _tell_newcomer(company)
    return TodayView(
        on=on,
        weekday=_WEEKDAYS[on.weekday()],
        heading=heading,
        lead=lead,
        is_empty=is_empty,
        sections=tuple(sections),
        ways=() if sections or is_empty else build_ways_in(state),
        broken=None if sections or is_empty or not sees_all else list_broken_of_all(company),
        cautions=() if is_empty else tuple(dict.fromkeys(_iterate_cautions(sections, company))),
        revision=snapshot.revision,
    )


def _iterate_cautions(sections: Sequence[TodaySection], company: Answer | None) -> Iterator[str]:
    for section in sections:
        yield from section.cautions
    if company is not None:
        yield from company.enquiry.question.cautions


def _tell_newcomer(company: Answer | None) -> str:
    about = (
        "Newel keeps competencies, levels, roles, courses and people as one graph and answers from it: what holds in a "
        "team when someone is away, what a role asks of you, which courses and roles lead there."
    )
    if company is None:
        return about
    result: CompanyCoverResult = company.result
    short = sum(row.needs for row in result.states if row.state == "short")
    if not result.needs_found:
        return about
    of_all = f"{count(result.needs_found, 'need')} in {count(result.teams, 'team')}"
    return f"{about} Today {short or 'none'} of {of_all} {'is' if short == 1 else 'are'} short."


def list_broken_of_all(company: Answer | None) -> TodayList:
    """Return what is short in all teams, in the order of the company's cover."""
    if company is None:
        return wait_for(_OF_ALL, "/company-cover")
    result: CompanyCoverResult = company.result
    names = company.names
    rows = [
        TodayRow(
            names.competency(need.competency),
            f"{need.depth} present, at least {need.minimum}.",
            ", ".join(filter(None, (names.team(need.team), need.shift and names.shift(need.shift)))),
            show_state(need.state),
            act=Link("Cover at a glance", build_address("teams", need.team, "coverage")),
        )
        for need in result.needs
        if need.state == "short"
    ]
    return build_list(_OF_ALL, rows, "Nothing is short in any team.", "/company-cover")


def build_ways_in(state: State) -> tuple[WayIn, ...]:
    """Return the three ways in, with the teams by name and how much there is of the framework."""
    snapshot, names = state.snapshot, Names(state.snapshot)
    asked = [team for team in snapshot.teams if snapshot.get_cover_needs(team) or snapshot.get_places(team)]
    teams = [Link(names.team(team), build_address("teams", team, "coverage")) for team in asked[:_TEAMS_NAMED]]
    counts = [Link(count(len(getattr(snapshot, table)), one, table), f"/{table}") for table, one in _COUNTED]
    return (
        WayIn(
            "Team lead",
            "Know what holds when someone is away",
            "Open a team, tick who is away, see what is short, who could stand in and whom to train."
            if teams
            else "Teams appear here once one has cover needs or places.",
            tuple(teams),
            (
                Link("All teams", "/teams"),
                Link("Cover of the company", "/company-cover"),
                Link("What must be held", "/company-obligations"),
                Link("What newcomers wait for", "/orientation"),
                Link("People", "/people"),
            ),
        ),
        WayIn(
            "Employee",
            "See where you stand and how to get on",
            "Choose as whom you look: what your role asks and what each level rests on, which roles are within reach, "
            "and the ways there side by side.",
            (Link("Choose as whom you look", "/me"),),
            (Link("What the words mean", "/words"),),
        ),
        WayIn(
            "HR architect",
            "Keep the framework",
            "Competencies with their levels, what roles ask, what courses reach; what stands out and is to be mended.",
            tuple(counts),
            (
                Link("Framework", "/framework"),
                Link("What stands out", "/framework-review"),
                Link("Findings", "/findings"),
                Link("Load tables", "/loads/new"),
            ),
        ),
    )


def describe_today(view: TodayView) -> Page:
    """Return the first page."""
    return Page("today.html", {"view": view})
