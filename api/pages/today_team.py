"""What a team's lead looks at first: what is broken now, the next 14 days, and by when to act."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Final

from api.desk.desk import Answer
from api.desk.names import Names, count, join_names
from api.desk.sheet import State
from api.pages.addresses import build_address
from api.pages.crews import tell_absence
from api.pages.page import Link
from api.pages.today_lists import TodayList, TodayRow, TodaySection, build_list, tell_distance, wait_for
from api.questions._words import show_state, tell_cause
from api.questions.team._cover import Scope, list_scopes, tell_cover, tell_places
from ontology.analysis.cover.coverage import CoverageResult
from ontology.analysis.outlook.cover_causes import Cause
from ontology.analysis.outlook.cover_timeline_rows import CoverAct, CoverChange, CoverTimelineResult
from ontology.analysis.places.filling import FilledPlaces
from ontology.analysis.places.single_points import SinglePoint, SinglePointsResult

__all__ = ["DAYS_AHEAD", "build_team_section", "list_broken", "tell_acts"]

#: How far the second list looks.
DAYS_AHEAD: Final = 14
_EMPTY: Final = State("empty", "empty", "nobody present fills it")
_SOLE: Final = "sole-holder"
_FAULT: Final = "a fault of the organisation, no ground to refuse leave."


def build_team_section(cover: Answer, filled: Answer, points: Answer, timeline: Answer | None) -> TodaySection:
    """Return the section of one team of four answers about the same day; the timeline may still be worked out."""
    names, result = cover.names, cover.result
    on, team = result.on, result.team
    outlook: CoverTimelineResult | None = timeline.result if timeline is not None else None
    broken = list(list_broken(cover, filled, points))
    told = (tell_cover(result, names), tell_places(filled.result), tell_acts(outlook) if outlook else "")
    return TodaySection(
        way="cover",
        heading=f"{names.team(team)} today",
        lead=" ".join(filter(None, told)),
        lists=(
            build_list("Broken now", broken, _tell_nothing(outlook), _address(team, "coverage")),
            *_list_outlook(outlook, team, on, names),
        ),
        acts=(
            Link("Cover at a glance", _address(team, "coverage")),
            Link("Record an assessment", _address(team, "assess")),
            Link("Training timetable", _address(team, "training-timetable")),
            Link("What changed since", _address(team, "changes")),
        ),
        cautions=(*points.enquiry.question.cautions, *cover.enquiry.question.cautions),
    )


def _list_outlook(
    outlook: CoverTimelineResult | None, team: str, on: dt.date, names: Names
) -> tuple[TodayList, TodayList]:
    """Return what changes in the next days, and by when to act."""
    coming, acts, all_of_it = f"The next {DAYS_AHEAD} days", "Act by", _address(team, "coverage-timeline")
    if outlook is None:
        return wait_for(coming, all_of_it), wait_for(acts, all_of_it)
    soon = on + min(dt.timedelta(days=DAYS_AHEAD), dt.date.max - on)
    changes = list(_iterate_changes(outlook, names, soon))
    last = f"Nothing has to be begun until {outlook.to_date}."
    return (
        build_list(coming, changes, f"Nothing changes until {soon}.", all_of_it),
        build_list(acts, list(_iterate_acts(outlook, names)), last, all_of_it),
    )


def _address(team: str, segment: str, **asked: str) -> str:
    return build_address("teams", team, segment, asked)


def _tell_nothing(result: CoverTimelineResult | None) -> str:
    """Return that nothing is broken, and until when nothing is due."""
    if result is None:
        return "Nothing is broken."
    days = [change.on for change in result.changes] + [act.last_day_to_act for act in result.acts if not act.is_late]
    first = min(days, default=None)
    return "Nothing is broken" + (f" and nothing is due until {first}." if first else ", and nothing changes in sight.")


def tell_acts(result: CoverTimelineResult) -> str:
    """Return how many last days to act lie in the past and how many in the next days; "" where there are none."""
    late = sum(act.is_late for act in result.acts)
    soon = sum(not act.is_late and (act.last_day_to_act - result.on).days <= DAYS_AHEAD for act in result.acts)
    if not result.acts:
        return ""
    past = f"{count(late, 'day', 'days')} to act {'lies' if late == 1 else 'lie'} in the past" if late else ""
    ahead = f"{soon or 'none'} in the next {DAYS_AHEAD} days"
    return f"{past}, {ahead}." if past else f"Of the days to act {ahead.replace('none', 'none lies')}."


def list_broken(cover: Answer, filled: Answer, points: Answer) -> Iterator[TodayRow]:
    """Yield the needs that are short, the places that are empty, and on whom alone something rests, of one day."""
    names = cover.names
    yield from _iterate_short(cover.result, names, cover)
    yield from _iterate_empty(filled.result, names, cover)
    yield from (_show_alone(point, points.result, names) for point in points.result.people if point.needs)


def _iterate_short(result: CoverageResult, names: Names, cover: Answer) -> Iterator[TodayRow]:
    short = [scope for scope in list_scopes(result) if scope.state == "short"]
    for scope in sorted(short, key=lambda scope: -scope.need.criticality):
        need = scope.need
        yield TodayRow(
            names.competency(need.competency),
            _tell_short(scope, names, cover),
            names.shift(scope.row.shift) if scope.row.shift else "Whole team",
            show_state("short"),
            act=Link("Find a stand-in", _address(result.team, "stand-ins", competency=need.competency)),
        )


def _tell_short(scope: Scope, names: Names, cover: Answer) -> str:
    row = scope.row
    told = [f"{row.depth} present, at least {scope.need.minimum}."]
    absent = [person for person in row.qualified if person not in (*row.present, *row.not_appointed)]
    if len(absent) == 1:
        away = tell_absence(cover.enquiry.state.snapshot, absent[0], cover.result.on)
        told.append(f"{names.person(absent[0])} holds it and is {away}.")
    elif absent:
        told.append(f"{join_names(map(names.person, absent))} hold it and are away.")
    if row.not_appointed:
        is_not = "is able and not appointed" if len(row.not_appointed) == 1 else "are able and not appointed"
        told.append(f"{join_names(map(names.person, row.not_appointed))} {is_not}.")
    if row.holds_again:
        told.append(f"It holds again from {row.holds_again}.")
    return " ".join(told)


def _iterate_empty(result: FilledPlaces, names: Names, cover: Answer) -> Iterator[TodayRow]:
    places = cover.enquiry.state.snapshot.places
    alone = {only.place: only.person for only in result.only_one_can}
    for place in dict.fromkeys(result.unfilled):
        n_empty, n_slots = result.unfilled.count(place), places[place].count
        shift = places[place].shift
        why = f"Only {names.person(alone[place])} can fill it." if place in alone else "Nobody present can fill it."
        if place not in alone and place in result.bottleneck.places and result.bottleneck.people:
            why = f"Those able fill other places: {join_names(map(names.person, result.bottleneck.people))}."
        yield TodayRow(
            f"{n_empty} of {count(n_slots, 'place')} {'is' if n_empty == 1 else 'are'} empty: {names.place(place)}",
            why,
            names.shift(shift) if shift else "Whole team",
            _EMPTY,
            act=Link("See staffing", _address(result.team, "staffing")),
        )


def _show_alone(point: SinglePoint, result: SinglePointsResult, names: Names) -> TodayRow:
    labels = list(dict.fromkeys(names.competency(need.competency) for need in point.needs))
    shifts = {need.shift for need in point.needs}
    shift = next(iter(shifts)) if len(shifts) == 1 else None
    rests = {1: "Rests", 2: "Both rest"}.get(len(labels), "All rest")
    return TodayRow(
        join_names(labels),
        f"{rests} on {names.person(point.id)}; {_FAULT}",
        names.shift(shift) if shift else "Whole team",
        show_state(_SOLE),
        act=Link("Plan training", _address(result.team, "cross-training")),
    )


def _iterate_changes(result: CoverTimelineResult, names: Names, soon: dt.date) -> Iterator[TodayRow]:
    """Yield the changes until a day; what one cause brings on one day is one row."""
    groups: dict[tuple[dt.date, tuple[tuple[str, str], ...]], list[CoverChange]] = {}
    for change in result.changes:
        if result.on < change.on <= soon:
            key = change.on, tuple((cause.person, cause.what) for cause in change.causes)
            groups.setdefault(key, []).append(change)
    for (day, _), changes in groups.items():
        yield TodayRow(
            _tell_causes(changes[0].causes, names) or "Something changes.",
            "; ".join(_tell_change(change, names) for change in changes) + ".",
            day=day,
            aside=tell_distance(day, result.on),
            act=Link("See the day", _address(result.team, "coverage", on=str(day))),
        )


def _tell_causes(causes: Sequence[Cause], names: Names) -> str:
    """Return what happens, each once; of what someone does as one says it: "Goran Adeyemi is back from ..."."""
    return " ".join(dict.fromkeys(tell_cause(cause, names) for cause in causes))


def _tell_change(change: CoverChange, names: Names) -> str:
    before, after = (show_state(state).word for state in (change.from_state, change.to_state))
    if change.place is not None:
        return f"{names.place(change.place)}: {change.to_depth} filled instead of {change.from_depth}"
    where = f", {names.shift(change.shift)}" if change.shift else ""
    return f"{names.competency(change.competency or '')}{where}: {after} instead of {before}"


def _iterate_acts(result: CoverTimelineResult, names: Names) -> Iterator[TodayRow]:
    """Yield the last days to act, past ones first."""
    for act in result.acts:
        yield TodayRow(
            _name_act(act, names),
            _tell_act(act, names),
            day=act.last_day_to_act,
            aside=tell_distance(act.last_day_to_act, result.on),
            act=Link("See why" if act.is_late else "Plan it", _address(result.team, "coverage-timeline")),
        )


def _name_act(act: CoverAct, names: Names) -> str:
    if act.place is not None:
        return names.place(act.place)
    where = f", {names.shift(act.shift)}" if act.shift else ""
    return f"{names.competency(act.competency or '')}{where}"


def _tell_act(act: CoverAct, names: Names) -> str:
    courses = join_names(map(names.course, act.courses))
    if act.is_late:
        return f"{names.person(act.person)} could have closed it by {act.due}: {courses}. Begun today it is later."
    return f"{names.person(act.person)} closes it in time: {courses}, done by {act.due}."
