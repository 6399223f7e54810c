"""Where someone stands: the first sentence, the days that come, what each level rests on, and where to from here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from markupsafe import Markup

from api.desk.desk import Answer
from api.desk.names import Names, amount
from api.desk.sheet import Ref
from api.pages.addresses import build_address
from api.pages.coming_days import ComingDay, list_coming_days
from api.pages.emphasis import stress
from api.pages.first_words import find_first_words
from api.pages.level_table import write_level_rows
from api.pages.named import list_choices
from api.pages.page import Link, Page
from api.pages.stand_words import list_stressed, tell_missing_blocks, tell_standing
from api.pages.way_words import tell_months
from ontology.analysis.agenda.agenda import PersonAgenda
from ontology.analysis.profiles.known_levels import PersonLevels, SaidLevel
from ontology.analysis.routes.moves import ReachableRole, ReachableRolesResult
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Near", "Onward", "Said", "StandView", "build_view", "describe_stand"]

_NEAREST: Final = 4


@dataclass(frozen=True, slots=True)
class Near:
    """A role within reach: what its move takes, and where the ways there are."""

    name: str
    takes: str
    address: str


@dataclass(frozen=True, slots=True)
class Onward:
    """Where to from here: how many roles are one step away, the nearest, and the roles to choose from."""

    told: str
    nearest: tuple[Near, ...]
    within: int
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """What someone says of themselves, and where to say otherwise."""

    competency: Ref
    level: int
    day: Any
    address: str


@dataclass(frozen=True, slots=True)
class StandView:
    """All that stands on the page; levels are `asked` and `others` as they are written."""

    title: str
    name: str
    role: str
    lead: Markup
    blocks: str
    days: tuple[ComingDay, ...]
    asked: tuple[str, ...]
    others: tuple[str, ...]
    said: tuple[Said, ...]
    onward: Onward | None


def build_view(
    levels: PersonLevels,
    agenda: PersonAgenda,
    reach: ReachableRolesResult | None,
    limits: tuple[float, int],
    snapshot: Snapshot,
    *,
    is_self: bool,
) -> StandView:
    """Return what stands on the page of a person.

    Parameters
    ----------
    levels : PersonLevels
        Beside the role of the day.
    agenda : PersonAgenda
    reach : ReachableRolesResult or None
        None where it is not known yet. Nobody else sees it: which roles a person looks at is theirs alone.
    limits : tuple of float and int
        Within which roles are one step away: hours of study, levels up.
    snapshot : Snapshot
    is_self : bool
    """
    names = Names(snapshot)
    lead = tell_standing(levels, names, is_self=is_self)
    return StandView(
        title=find_first_words(lead),
        name=names.person(levels.person),
        role=names.role(levels.role) if levels.role else "",
        lead=stress(lead, list_stressed(levels)),
        blocks=tell_missing_blocks(levels, names),
        days=list_coming_days(levels, agenda, snapshot, names, is_self=is_self),
        asked=write_level_rows(levels.asked, snapshot, names),
        others=write_level_rows(levels.others, snapshot, names),
        said=tuple(_build_said(row, levels.person, names) for row in levels.said),
        onward=_build_onward(reach, levels.person, limits, snapshot) if is_self else None,
    )


def describe_stand(view: StandView, answer: Answer, *, is_self: bool) -> Page:
    """Return the page; `answer` is that of the question "levels"."""
    enquiry = answer.enquiry
    values: dict[str, Any] = {
        "view": view,
        "is_self": is_self,
        "person": enquiry.subject.id,
        "on": enquiry.asked.on,
        "cautions": enquiry.question.cautions,
        "remarks": tuple(map(answer.names.put_in, answer.result.remarks)),
        "revision": enquiry.state.snapshot.revision,
    }
    trail = () if is_self else (Link("People", "/people"),)
    return Page("where_i_stand.html", values, way="stand" if is_self else "cover", trail=trail)


def _build_said(row: SaidLevel, person: str, names: Names) -> Said:
    key = "~".join((person, row.competency, row.date.isoformat(), row.source, row.assessor, str(row.level)))
    competency = Ref("competencies", row.competency, names.competency(row.competency))
    return Said(competency, row.level, row.date, build_address("edit", "assessments", key))


def _build_onward(
    reach: ReachableRolesResult | None, person: str, limits: tuple[float, int], snapshot: Snapshot
) -> Onward:
    within = [role for role in reach.roles if role.within_reach] if reach is not None else []
    hours, levels = limits
    step = f"at most {amount(hours)} hours of study and no competency more than {levels} levels up"
    if reach is None:
        told = f"Which roles are one step away is still being worked out: {step}."
    elif not within:
        told = f"No role is one step away for you: {step}."
    else:
        told = f"{len(within)} {'role is' if len(within) == 1 else 'roles are'} one step away for you: {step}."
    return Onward(
        told=told,
        nearest=tuple(_build_near(role, person) for role in within[:_NEAREST]),
        within=len(within),
        choices=tuple(name for _, name in list_choices(snapshot, "roles")),
    )


def _build_near(role: ReachableRole, person: str) -> Near:
    months = "" if role.months is None else f", about {tell_months(role.months)} months"
    takes = f"{amount(role.study_hours or 0.0)} h{months}" if role.study_hours else "nothing to learn before"
    return Near(role.label, takes, build_address("people", person, "routes", {"to": role.id}))
