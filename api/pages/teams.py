"""The teams and how each stands; one team: its crews, what it must be able to do, its places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.desk.desk import Answer, State
from api.desk.names import Names, count
from api.desk.sheet import Ref
from api.desk.sheet import State as StateWord
from api.pages.addresses import build_address, build_record_address
from api.pages.crews import Crew, list_crews
from api.pages.page import Link, Page
from api.questions._words import show_state
from api.questions.team._cover import list_scopes, name_scopes, tell_cover
from ontology.analysis.cover.coverage import STATES, CoverageResult
from ontology.analysis.cover.presence import get_presence
from ontology.model.columns import Table
from ontology.model.tables import TABLES

__all__ = ["TeamRow", "TeamView", "TeamsView", "build_team_view", "build_teams_view", "describe_team", "describe_teams"]


@dataclass(frozen=True, slots=True)
class TeamRow:
    """A team: how the worst of its needs stands and what is short, who it is part of, how many are in it."""

    team: Ref
    address: str
    part_of: str
    state: StateWord | None
    what: str
    members: int
    away: int


@dataclass(frozen=True, slots=True)
class TeamsView:
    """What stands on the page of teams."""

    lead: str
    rows: tuple[TeamRow, ...]
    on: str
    usual_day: str
    revision: int

    @property
    def first_words(self) -> str:
        """What the title of the page begins with."""
        return self.lead.removesuffix(".")


@dataclass(frozen=True, slots=True)
class RecordRow:
    """A need or a place in words, with the address of its record."""

    words: str
    about: str
    where: str
    address: str


@dataclass(frozen=True, slots=True)
class TeamView:
    """What stands on the page of one team."""

    team: Ref
    lead: str
    facts: tuple[tuple[str, Ref | str], ...]
    crews: tuple[Crew, ...]
    needs: tuple[RecordRow, ...]
    places: tuple[RecordRow, ...]
    parts: tuple[Ref, ...]
    acts: tuple[tuple[str, str], ...]
    asks: tuple[tuple[str, str], ...]
    on: str
    revision: int


def build_teams_view(covers: Sequence[Answer], state: State, on: str) -> TeamsView:
    """Return the view of the cover of several teams on a day, the worst first, then by name."""
    names = Names(state.snapshot)
    rows = sorted((_show_team(answer, names) for answer in covers), key=_get_badness)
    short = [row for row in rows if row.state is not None and row.state.code == "short"]
    if not rows:
        lead = "No team is recorded yet."
    elif short:
        is_short = "has" if len(short) == 1 else "have"
        lead = f"{len(short)} of {count(len(rows), 'team')} {is_short} something short."
    else:
        lead = f"Nothing is short in {count(len(rows), 'team')}."
    return TeamsView(lead, tuple(rows), on, str(state.today), state.snapshot.revision)


def _get_badness(row: TeamRow) -> tuple[int, str, str]:
    order = len(STATES) if row.state is None else STATES.index(row.state.code)
    return order, row.team.name.casefold(), row.team.id


def _show_team(answer: Answer, names: Names) -> TeamRow:
    result: CoverageResult = answer.result
    snapshot = answer.enquiry.state.snapshot
    texts = answer.enquiry.texts
    day = (
        {"on": texts["on"]}
        if texts.get("on", str(answer.enquiry.state.today)) != str(answer.enquiry.state.today)
        else {}
    )
    presence = get_presence(snapshot, result.team, result.on)
    scopes = list_scopes(result)
    worst = min((scope.state for scope in scopes), key=STATES.index, default=None)
    bad = [scope for scope in scopes if scope.state == worst]
    part_of = snapshot.teams[result.team].part_of
    return TeamRow(
        team=Ref("teams", result.team, names.team(result.team)),
        address=build_address("teams", result.team, "coverage" if scopes else "", day),
        part_of=names.team(part_of) if part_of else "",
        state=show_state(worst) if worst is not None else None,
        what=name_scopes(bad, names) if worst in STATES[:4] else "everything asked of it" if scopes else "no needs",
        members=len(presence.members),
        away=len(presence.absent_ids),
    )


#: What can be asked of a team, in the order of a lead's day: words and the last part of the address.
_ASKS = (
    ("What changes in the next weeks", "coverage-timeline"),
    ("Who can stand where, and what breaks", "staffing"),
    ("On whom alone it rests", "single-points-of-failure"),
    ("What to mend first", "fragile-needs"),
    ("Whom to train", "cross-training"),
    ("Training timetable", "training-timetable"),
    ("What must be held, and by when", "obligations"),
    ("Day by day", "agenda"),
    ("Practice", "practice"),
    ("Enough heads?", "headcount"),
)


def build_team_view(cover: Answer) -> TeamView:
    """Return the view of one team on a day."""
    result: CoverageResult = cover.result
    names, state = cover.names, cover.enquiry.state
    snapshot, team_id = state.snapshot, result.team
    team = snapshot.teams[team_id]
    crews = list_crews(snapshot, team_id, result.on, absent=result.absent)
    facts: list[tuple[str, Ref | str]] = [("Members", str(sum(len(crew.members) for crew in crews)))]
    if team.part_of:
        facts.append(("Part of", Ref("teams", team.part_of, names.team(team.part_of))))
    if team.site:
        facts.append(("Site", Ref("sites", team.site, names.get("sites", team.site))))
    facts.append(("Away today" if result.on == state.today else "Away", str(len(result.absent))))
    return TeamView(
        team=Ref("teams", team_id, names.team(team_id)),
        lead=tell_cover(result, names),
        facts=tuple(facts),
        crews=crews,
        needs=tuple(_list_needs(cover, names)),
        places=tuple(_list_places(cover, names)),
        parts=tuple(Ref("teams", one.id, one.label) for one in snapshot.teams.values() if one.part_of == team_id),
        acts=(
            ("Cover at a glance", build_address("teams", team_id, "coverage")),
            ("Record an assessment", build_address("teams", team_id, "assess")),
            ("Add a need", f"/new/cover-needs?team={team_id}"),
            ("Add a place", f"/new/places?team={team_id}"),
            ("Edit the team", f"/edit{build_record_address('teams', team_id)}"),
        ),
        asks=tuple((words, build_address("teams", team_id, segment)) for words, segment in _ASKS),
        on=str(result.on),
        revision=snapshot.revision,
    )


def _get_id(table: Table, record: object) -> str:
    return "~".join(str(part) for part in table.get_key(record))


def _list_needs(cover: Answer, names: Names) -> list[RecordRow]:
    table, rows = TABLES["cover_needs"], []
    for need in cover.enquiry.state.snapshot.get_cover_needs(cover.result.team):
        where = {"team": "whole team", "each-shift": "each crew"}.get(need.applies) or names.shift(need.applies)
        about = (
            f"level {need.level}, at least {need.minimum} present, {need.target} wished, criticality {need.criticality}"
        )
        about += f", together with {need.together}" if need.together else ""
        address = build_record_address("cover_needs", _get_id(table, need))
        rows.append(RecordRow(names.competency(need.competency), about, where, address))
    return rows


def _list_places(cover: Answer, names: Names) -> list[RecordRow]:
    rows = []
    for place in cover.enquiry.state.snapshot.get_places(cover.result.team):
        where = names.shift(place.shift) if place.shift else "whole team"
        about = f"{names.role(place.role)}, {count(place.count, 'person', 'people')}"
        rows.append(RecordRow(names.place(place.id), about, where, build_record_address("places", place.id)))
    return rows


def describe_teams(view: TeamsView) -> Page:
    """Return the page of all teams."""
    return Page("teams.html", {"view": view}, way="cover")


def describe_team(view: TeamView) -> Page:
    """Return the page of one team."""
    return Page("team.html", {"view": view}, way="cover", trail=(Link("All teams", "/teams"),))
