"""People by name, team, role, and by what they can do: one team at a time where levels are told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names
from api.desk.sheet import Ref, State
from api.pages.addresses import build_address
from api.pages.assess import Choice
from api.pages.page import Page
from api.questions._words import show_state
from api.questions.company.who_can import tell_basis, tell_people
from ontology.analysis.cover.who_can import FoundPerson, WhoCanResult
from ontology.snapshot.snapshot import Snapshot

__all__ = ["PeopleView", "PersonRow", "build_view", "describe_people", "list_competencies_of_team"]

#: People on one page.
_ON_PAGE: Final = 50


@dataclass(frozen=True, slots=True)
class PersonRow:
    """One person; what is told of a level is "" where none was asked for."""

    person: Ref
    team: Ref | None
    shift: str
    role: Ref | None
    level: str
    state: State | None
    rests_on: str
    away: str


@dataclass(frozen=True, slots=True)
class PeopleView:
    """What stands on the page of people."""

    lead: str
    hint: str
    q: str
    on: str
    usual_day: str
    teams: tuple[Choice, ...]
    roles: tuple[Choice, ...]
    competencies: tuple[Choice, ...]
    levels: tuple[Choice, ...]
    has_levels: bool
    rows: tuple[PersonRow, ...]
    found: str
    earlier: str
    later: str
    assess: str
    cautions: tuple[str, ...]
    json: str
    revision: int

    @property
    def first_words(self) -> str:
        """What the title of the page begins with: the first sentence."""
        return self.lead.split(". ")[0].removesuffix(".")


def build_view(answer: Answer, *, page: int = 1, hint: str = "") -> PeopleView:
    """Return the view of who fits; `hint` says what of the question could not be asked, and why."""
    result: WhoCanResult = answer.result
    names, state, texts = answer.names, answer.enquiry.state, answer.enquiry.texts
    snapshot = state.snapshot
    if texts.get("on") == str(state.today):
        texts = {name: text for name, text in texts.items() if name != "on"}
    pages = max(1, -(-len(result.people) // _ON_PAGE))
    page = min(max(page, 1), pages)
    shown = result.people[(page - 1) * _ON_PAGE : page * _ON_PAGE]
    team, competency = result.team or "", result.competency or ""
    asked = {"competency": competency} if competency else {}
    return PeopleView(
        lead=tell_people(result, names, state.today),
        hint=hint,
        q=result.q,
        on=str(result.on),
        usual_day=str(state.today),
        teams=_list_choices(((one.id, one.label) for one in snapshot.teams.values()), team),
        roles=_list_choices(((one.id, one.label) for one in snapshot.roles.values()), result.role or ""),
        competencies=_list_choices(_list_pairs(snapshot, names, team, competency), competency) if team else (),
        levels=_list_levels(snapshot, competency, result.level),
        has_levels=bool(competency),
        rows=tuple(_show(row, result, snapshot, names) for row in shown),
        found=f"{(page - 1) * _ON_PAGE + 1} to {(page - 1) * _ON_PAGE + len(shown)} of {len(result.people)}, by name",
        earlier=_address(texts, page - 1) if page > 1 else "",
        later=_address(texts, page + 1) if page < pages else "",
        assess=build_address("teams", team, "assess", asked) if team else "",
        cautions=answer.enquiry.question.cautions,
        json="/api" + build_address("", "", "who-can", texts),
        revision=snapshot.revision,
    )


def _address(texts: Mapping[str, str], page: int) -> str:
    return build_address("people", "", "", {**texts, "page": str(page)} if page > 1 else texts)


def _list_choices(pairs: Iterable[tuple[str, str]], chosen: str) -> tuple[Choice, ...]:
    ordered = sorted(pairs, key=lambda pair: (pair[1].casefold(), pair[0]))
    return tuple(Choice(value, words, value == chosen) for value, words in ordered)


def _list_pairs(snapshot: Snapshot, names: Names, team: str, chosen: str) -> list[tuple[str, str]]:
    ids = list_competencies_of_team(snapshot, team) | ({chosen} if chosen else set())
    return [(i, names.competency(i)) for i in ids]


def list_competencies_of_team(snapshot: Snapshot, team: str) -> set[str]:
    """Return what a team is asked for: by its needs, its places, and the roles of its people."""
    roles = {place.role for place in snapshot.get_places(team)} | {p.role for p in snapshot.get_members(team) if p.role}
    asked = {need.competency for need in snapshot.get_cover_needs(team)}
    return asked | {row.competency for role in roles for row in snapshot.get_requirements(role)}


def _list_levels(snapshot: Snapshot, competency: str, chosen: int | None) -> tuple[Choice, ...]:
    if competency not in snapshot.competencies:
        return ()
    steps = snapshot.scales.get(snapshot.competencies[competency].scale, ())
    return tuple(Choice(str(step.rank), f"{step.rank} {step.label}", step.rank == chosen) for step in steps)


def _show(row: FoundPerson, result: WhoCanResult, snapshot: Snapshot, names: Names) -> PersonRow:
    level, state, rests_on = "", None, ""
    if result.competency is not None:
        level = _name_level(names, result.competency, row.have)
        state = show_state(row.state or "not-assessed")
        rests_on = tell_basis(row, names)
        if row.valid_until is not None:
            rests_on += f", counts until {row.valid_until}"
    away = "away" if row.is_absent else ""
    if row.is_appointed is False:
        away = ", ".join(filter(None, (away, "not appointed")))
    return PersonRow(
        person=Ref("people", row.person, names.person(row.person)),
        team=names.ref("teams", row.team),
        shift=names.shift(row.shift) if row.shift else "",
        role=names.ref("roles", row.role),
        level=level,
        state=state,
        rests_on=rests_on,
        away=away,
    )


def _name_level(names: Names, competency: str, rank: int | None) -> str:
    if rank is None:
        return "not assessed"
    return f"{rank} {names.level(competency, rank).label}".rstrip() if rank else "0"


def describe_people(view: PeopleView) -> Page:
    """Return the page of people."""
    return Page("people.html", {"view": view}, way="cover")
