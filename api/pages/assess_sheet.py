"""The sheet on which the levels of a team are recorded at once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from api.desk.names import Names, count
from api.desk.sheet import Ref
from api.pages.addresses import build_address
from api.pages.assess import CAUTIONS, Choice, Entry, LevelRow, list_rows, list_sources, tell_rule
from api.pages.page import Link, Page
from api.pages.people import list_competencies_of_team
from ontology.analysis.cover.presence import get_presence
from ontology.model.folding import fold
from ontology.model.records import Competency
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Filled",
    "SheetView",
    "build_sheet_view",
    "describe_sheet",
    "list_pairs",
    "tell_sheet",
]

_TO_CHOOSE: Final = "Choose a competency to assess everyone of the team in it, or a person to go through what is asked."

About = Literal["person", "competency"]


@dataclass(frozen=True, slots=True)
class Filled:
    """What a form holds: texts of its own fields, entries by row, what is wrong with the whole, what was said."""

    date: str
    source: str
    entries: Mapping[str, Entry]
    errors: tuple[str, ...] = ()
    heard: str = ""


@dataclass(frozen=True, slots=True)
class SheetView:
    """What stands on the sheet of a team; `subject` None while neither a competency nor a person is chosen."""

    team: Ref
    heading: str
    lead: str
    field: str
    subject: Ref | None
    competencies: tuple[Choice, ...]
    people: tuple[Choice, ...]
    sources: tuple[Choice, ...]
    rule: str
    rows: tuple[LevelRow, ...]
    filled: Filled
    n_wrong: int
    action: str
    cautions: tuple[str, ...]
    revision: int

    @property
    def has_remarks(self) -> bool:
        """Whether something must be read before it is stored."""
        return any(row.entry.remark for row in self.rows)


def list_pairs(
    snapshot: Snapshot, team: str, on: dt.date, *, person: str = "", competency: str = ""
) -> tuple[About, list[tuple[str, Competency]]]:
    """Return by what the rows of a sheet are told, and whose level in what each is about.

    Of a competency the members by name; of a person what their team and role ask and what they were assessed in.
    """
    names = Names(snapshot)
    if competency:
        members = sorted(get_presence(snapshot, team, on).members, key=lambda p: (fold(names.person(p.id)), p.id))
        return "person", [(member.id, snapshot.competencies[competency]) for member in members]
    ids = list_competencies_of_team(snapshot, team)
    ids |= {row.competency for row in snapshot.get_requirements(snapshot.people[person].role)}
    ids |= {row.competency for row in snapshot.get_assessments(person)}
    ordered = sorted(ids, key=lambda one: (fold(names.competency(one)), one))
    return "competency", [(person, snapshot.competencies[one]) for one in ordered]


def tell_sheet(rows: Sequence[LevelRow], about: About, subject: str, team: str, n_today: int) -> str:
    """Return how many of a sheet's rows are assessed, and how many of them today."""
    assessed = sum(row.state.code != "not-assessed" for row in rows)
    today = f", {n_today} of them today" if n_today else ""
    are = "is" if assessed == 1 else "are"
    if about == "person":
        return f"{assessed} of {count(len(rows), 'person', 'people')} of {team} {are} assessed in {subject}{today}."
    return f"{assessed} of {count(len(rows), 'thing')} that {subject} is asked for {are} assessed{today}."


def build_sheet_view(
    snapshot: Snapshot, team: str, today: dt.date, *, person: str, competency: str, own_id: str, filled: Filled
) -> SheetView:
    """Return the view of a team's sheet for a competency, or for a person, or for choosing one of them."""
    names = Names(snapshot)
    rows: tuple[LevelRow, ...] = ()
    heading, lead, subject, rule = f"Assess {names.team(team)}", _TO_CHOOSE, None, ""
    asked = snapshot.competencies.get(competency)
    if competency or person:
        about, pairs = list_pairs(snapshot, team, today, person=person, competency=competency)
        rows = list_rows(snapshot, pairs, today, entries=filled.entries, about=about, own_id=own_id)
        n_today = sum(_is_of_today(snapshot, who, what.id, today) for who, what in pairs)
        subject = Ref("competencies", competency, names.competency(competency)) if competency else None
        subject = subject or Ref("people", person, names.person(person))
        heading = f"Assess {subject.name}: {names.team(team)}" if competency else f"Assess {subject.name}"
        lead = tell_sheet(rows, about, subject.name, names.team(team), n_today)
        rule = tell_rule(asked, today) if asked else "Each by the rule of its competency."
    members = sorted(get_presence(snapshot, team, today).members, key=lambda p: (fold(names.person(p.id)), p.id))
    offered = {*list_competencies_of_team(snapshot, team), *([competency] if competency else [])}
    return SheetView(
        team=Ref("teams", team, names.team(team)),
        heading=heading,
        lead=lead,
        field="competency" if competency else "person",
        subject=subject,
        competencies=_list_choices(((one, names.competency(one)) for one in offered), competency),
        people=_list_choices(((one.id, names.person(one.id)) for one in members), person),
        sources=list_sources(asked, filled.source),
        rule=rule,
        rows=rows,
        filled=filled,
        n_wrong=sum(bool(row.entry.errors) for row in rows) + len(filled.errors),
        action=build_address("teams", team, "assess"),
        cautions=CAUTIONS,
        revision=snapshot.revision,
    )


def _is_of_today(snapshot: Snapshot, person: str, competency: str, today: dt.date) -> bool:
    return any(row.date == today and row.withdrawn_on is None for row in snapshot.get_assessments(person, competency))


def _list_choices(pairs: Iterable[tuple[str, str]], chosen: str) -> tuple[Choice, ...]:
    ordered = sorted(pairs, key=lambda pair: (fold(pair[1]), pair[0]))
    return tuple(Choice(value, words, value == chosen) for value, words in ordered)


def describe_sheet(view: SheetView) -> Page:
    """Return the page of a team's sheet."""
    trail = (Link("All teams", "/teams"), Link(view.team.name, build_address("teams", view.team.id, "")))
    return Page("assess_sheet.html", {"view": view}, way="cover", trail=trail)
