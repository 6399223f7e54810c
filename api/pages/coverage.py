"""The cover of a team on a day, and what would still hold if some were away: the table, the places, the boxes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names, count, join_names
from api.desk.sheet import Ref, State
from api.pages.addresses import build_address
from api.pages.crews import Crew, list_crews
from api.pages.page import Link, Page
from api.questions._words import show_state
from api.questions.team._cover import Scope, tell_change, tell_cover, tell_places
from ontology.analysis.cover.coverage import STATES, CoverageResult, CoverageRow, ShiftCover
from ontology.analysis.places.filling import FilledPlaces
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CoverView", "NeedView", "PlaceView", "build_view", "describe_coverage"]

_EMPTY: Final = State("empty", "empty", "nobody present fills it")
#: People named in a row; how many more there are is said.
_NAMED: Final = 3


@dataclass(frozen=True, slots=True)
class NeedView:
    """A need where it counts; `was` is the state without the supposed absences, where that differs.

    `shifts` hold every shift of a need for each shift, of which the row itself is the worst.
    """

    id: str
    state: State
    was: str
    competency: Ref
    about: str
    where: str
    present: int
    minimum: int
    target: int
    rests_on: tuple[Ref, ...]
    more: int
    not_appointed: tuple[Ref, ...]
    shifts: tuple[NeedView, ...] = ()


@dataclass(frozen=True, slots=True)
class PlaceView:
    """A slot of a place: who holds it, or that it is empty and who alone is able."""

    place: Ref
    where: str
    person: Ref | None
    state: State | None
    note: str
    is_changed: bool


@dataclass(frozen=True, slots=True)
class CoverView:
    """What stands on the page of a team's cover."""

    team: Ref
    on: str
    usual_day: str
    away: str
    first_words: str
    lead: str
    heading: str
    caption: str
    members: str
    needs: tuple[NeedView, ...]
    places: tuple[PlaceView, ...]
    places_lead: str
    crews: tuple[Crew, ...]
    acts: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    cautions: tuple[str, ...]
    revision: int


def build_view(cover: Answer, filled: Answer, base: Answer) -> CoverView:
    """Return the view of three answers: cover and places as supposed, and cover without anyone supposed away."""
    enquiry, names = cover.enquiry, cover.names
    result: CoverageResult = cover.result
    before: CoverageResult = base.result
    snapshot, team = enquiry.state.snapshot, Ref("teams", result.team, names.team(result.team))
    crews = list_crews(snapshot, result.team, result.on, absent=before.absent, away=result.away)
    n_members = sum(len(crew.members) for crew in crews)
    lead = tell_change(before, result, names) if result.away else tell_cover(result, names)
    on, today = str(result.on), str(enquiry.state.today)
    texts = {name: text for name, text in enquiry.texts.items() if (name, text) != ("on", today)}
    return CoverView(
        team=team,
        on=on,
        usual_day=today,
        away=",".join(result.away),
        first_words=_tell_first_words(result),
        lead=" ".join(filter(None, (lead, tell_places(filled.result)))),
        heading=f"What changes without {join_names(map(names.person, result.away))}" if result.away else "Needs",
        caption=_tell_caption(result),
        members=f"{count(n_members, 'member')}, {n_members - len(result.absent)} present.",
        needs=tuple(_list_needs(result, before, names)),
        places=tuple(_iterate_places(filled.result, snapshot, names)),
        places_lead=_tell_filled(filled.result),
        crews=crews,
        acts=tuple(_iterate_acts(result, texts)),
        remarks=(*result.remarks, *filled.result.remarks),
        cautions=tuple(dict.fromkeys((*enquiry.question.cautions, *filled.enquiry.question.cautions))),
        revision=snapshot.revision,
    )


def _tell_first_words(result: CoverageResult) -> str:
    short = sum(need.state == "short" for need in result.needs)
    return f"{short} of {count(len(result.needs), 'need')} short" if short else "Nothing short"


def _tell_caption(result: CoverageResult) -> str:
    return (
        f"{count(len(result.needs), 'need')}, the worst first. Black squares are people present, the blue line is the "
        "least number, white squares up to the wished number are missing."
    )


def _list_needs(result: CoverageResult, before: CoverageResult, names: Names) -> list[NeedView]:
    """Return the needs, the worse state first, then the more critical."""
    was = {(need.competency, need.level, need.applies): need for need in before.needs}

    def build(number: int, need: CoverageRow) -> NeedView:
        old = was.get((need.competency, need.level, need.applies), need)
        shifts: tuple[NeedView, ...] = ()
        if len(need.shifts) > 1:
            old_shifts = {row.shift: row for row in old.shifts}
            rows = sorted(need.shifts, key=lambda row: STATES.index(row.state))
            shifts = tuple(
                _show(f"need-{number}", Scope(need, row), old_shifts.get(row.shift, row), names) for row in rows
            )
        return _show(f"need-{number}", Scope(need, need), old, names, shifts)

    ordered = sorted(result.needs, key=lambda need: (STATES.index(need.state), -need.criticality))
    return [build(number, need) for number, need in enumerate(ordered, start=1)]


def _show(
    id: str, scope: Scope, old: CoverageRow | ShiftCover, names: Names, shifts: tuple[NeedView, ...] = ()
) -> NeedView:
    need, row = scope.need, scope.row
    is_short_list = len(row.present) <= _NAMED + 1
    shown = row.present if is_short_list else row.present[:_NAMED]
    return NeedView(
        id=id,
        state=show_state(row.state),
        was=show_state(old.state).word if old.state != row.state else "",
        competency=Ref("competencies", need.competency, names.competency(need.competency)),
        about=f"level {need.level}, criticality {need.criticality}",
        where=names.shift(row.shift) if row.shift else "whole team",
        present=row.depth,
        minimum=need.minimum,
        target=need.target,
        rests_on=names.refs("people", shown).items,
        more=len(row.present) - len(shown),
        not_appointed=names.refs("people", row.not_appointed).items,
        shifts=shifts,
    )


def _iterate_places(result: FilledPlaces, snapshot: Snapshot, names: Names) -> Iterator[PlaceView]:
    """Yield every slot, empty ones first."""
    alone = {only.place: only.person for only in result.only_one_can}
    was_empty = Counter(result.unfilled_before)
    for place in result.unfilled:
        note = "nobody present is able"
        if place in alone:
            note = f"only {names.person(alone[place])} is able"
        elif place in result.bottleneck.places and result.bottleneck.people:
            note = f"{join_names(map(names.person, result.bottleneck.people))} cannot hold all that compete"
        was_empty[place] -= 1
        yield _show_place(place, snapshot, names, _EMPTY, note, is_changed=was_empty[place] < 0)
    for row in result.assignment:
        note = "nobody else is able" if row.place in alone else ""
        yield _show_place(row.place, snapshot, names, None, note, person=names.ref("people", row.person))


def _show_place(
    place_id: str,
    snapshot: Snapshot,
    names: Names,
    state: State | None,
    note: str,
    *,
    person: Ref | None = None,
    is_changed: bool = False,
) -> PlaceView:
    shift = snapshot.places[place_id].shift
    where = names.shift(shift) if shift else "whole team"
    return PlaceView(Ref("places", place_id, names.place(place_id)), where, person, state, note, is_changed)


def _tell_filled(result: FilledPlaces) -> str:
    if not result.places:
        return "The team has no places."
    return f"{result.filled} of {count(result.places, 'place')} filled at once by different people."


def _iterate_acts(result: CoverageResult, texts: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield what one can do next: words and address."""
    team = result.team
    day = {"on": texts["on"]} if "on" in texts else {}
    worst = min(result.needs, key=lambda need: (STATES.index(need.state), -need.criticality), default=None)
    if result.away:
        yield "Find a stand-in", build_address("teams", team, "stand-ins", {"person": result.away[0], **day})
    elif worst is not None and worst.state != "covered":
        yield "Find a stand-in", build_address("teams", team, "stand-ins", {"competency": worst.competency, **day})
    yield "Plan training", build_address("teams", team, "cross-training", day)
    yield "See the next 12 weeks", build_address("teams", team, "coverage-timeline", {**texts, "weeks": "12"})
    yield "Staffing and tolerance", build_address("teams", team, "staffing", texts)


def describe_coverage(view: CoverView) -> Page:
    """Return the page of a team's cover."""
    here = build_address("teams", view.team.id, "coverage")
    day = {} if view.on == view.usual_day else {"on": view.on}
    asked = day | ({"away": view.away} if view.away else {})
    files = [
        (words, "/api" + build_address("teams", view.team.id, segment, asked | more))
        for words, segment, more in (
            ("workbook", "coverage", {"format": "xlsx"}),
            ("picture", "coverage/diagram", {}),
            ("JSON", "coverage", {}),
        )
    ]
    trail = (Link("All teams", "/teams"), Link(view.team.name, build_address("teams", view.team.id, "")))
    return Page("coverage.html", {"view": view, "here": here, "files": files}, way="cover", trail=trail)
