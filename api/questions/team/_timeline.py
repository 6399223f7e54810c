"""How cover over time is said: what changes next, by when to act, a strip for each need, a calendar file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final

from api.desk.names import Names, count, join_names
from api.desk.sheet import Piece, Span, State, Strips
from api.questions._calendars import build_calendar_form, name_subject
from api.questions._words import show_state, tell_cause
from loaders.calendar_file import CalendarEvent
from ontology.analysis.outlook.cover_timeline_rows import (
    CoverAct,
    CoverChange,
    CoverHole,
    CoverTimelineResult,
    NeedTimeline,
    SlotTimeline,
)

if TYPE_CHECKING:
    from api.desk.desk import Answer

_SLOT_STATES = {
    "filled": State("covered", "filled", "every slot is filled"),
    "unfilled": State("empty", "empty", "not every slot is filled"),
}


def show_slot_state(code: str) -> State:
    """Return the state of a need or of slots."""
    return _SLOT_STATES.get(code) or show_state(code)


def name_row(row: NeedTimeline | SlotTimeline | CoverChange | CoverAct, names: Names) -> str:
    """Return what a row is about: a need, a place, or a slot of a group."""
    place = getattr(row, "place", None)
    if place is not None:
        return f"place {names.place(place)}"
    need = names.need(row.competency or "", row.level or 0, row.shift)
    together = getattr(row, "together", None)
    return f"group {together}: {need}" if together else need


def tell_next(result: CoverTimelineResult, names: Names) -> str:
    """Return what changes next, and the next day to act that has not passed."""
    told = []
    coming = [change for change in result.changes if change.on > result.on]
    if coming:
        first = [change for change in coming if change.on == coming[0].on]
        more = f", and {len(first) - 1} more" if len(first) > 1 else ""
        state = show_slot_state(first[0].to_state).word
        told.append(
            f"The next change comes on {first[0].on}: {name_row(first[0], names)} is {state} from then on{more}."
        )
    else:
        told.append(f"Nothing changes until {result.to_date}.")
    acts = [act for act in result.acts if not act.is_late]
    if acts:
        told.append(f"The next day to act is {acts[0].last_day_to_act}, for {name_row(acts[0], names)}.")
    return " ".join(told)


def tell_holes(holes: Sequence[CoverHole]) -> str:
    """Return how many holes there are, and how many of them come too soon."""
    if not holes:
        return "Nothing is short and nothing unfilled on any of these days."
    late = sum(hole.is_late for hole in holes)
    lead = count(len(holes), "hole is open or will open", "holes are open or will open")
    return lead + (f", {late} of them too late to close by learning." if late else ", and all can be closed in time.")


def build_strips(result: CoverTimelineResult, names: Names) -> Strips:
    """Return a strip for each need and place; days that are alike are one piece, whoever is there."""
    rows: list[NeedTimeline | SlotTimeline] = [*result.needs, *result.slots]
    return Strips(
        "Day by day", "need or place", tuple((name_row(row, names), tuple(_join(row, names))) for row in rows)
    )


def _join(row: NeedTimeline | SlotTimeline, names: Names) -> Iterator[Piece]:
    piece: Piece | None = None
    for interval in row.intervals:
        state = show_slot_state(interval.state)
        if piece is not None and piece.state == state:
            piece = Piece(state, Span(piece.days.first, interval.to_date), piece.why)
            continue
        if piece is not None:
            yield piece
        why = " ".join(tell_cause(cause, names) for cause in interval.causes)
        piece = Piece(state, Span(interval.from_date, interval.to_date), why)
    if piece is not None:
        yield piece


def _iterate_events(answer: Answer) -> Iterator[CalendarEvent]:
    names, result = answer.names, answer.result
    store, team = answer.enquiry.state.snapshot.store_id, names.team(result.team)
    caution = "\n".join(answer.enquiry.question.cautions[:2])
    for change in result.changes:
        what = name_row(change, names)
        state = show_slot_state(change.to_state).word
        about = "\n".join((*(tell_cause(cause, names) for cause in change.causes), caution))
        key = f"{store}/cover/{result.team}/{_get_key(change)}/{change.on}"
        yield CalendarEvent(key, change.on, change.on, f"{team}: {what} {state}", about, "Cover")
    for act in result.acts:
        if not act.is_late:
            courses = join_names(map(names.course, act.courses))
            about = f"{names.person(act.person)}: {courses}, done by {act.due}.\n{caution}"
            key = f"{store}/cover-act/{result.team}/{_get_key(act)}/{act.person}/{act.due}"
            day = act.last_day_to_act
            yield CalendarEvent(key, day, day, f"Last day to act: {team}, {name_row(act, names)}", about, "Cover")


CALENDAR: Final = build_calendar_form(lambda answer: f"Cover: {name_subject(answer)}", _iterate_events)


def _get_key(row: Any) -> str:
    return "/".join(str(part) for part in (row.kind, row.place, row.competency, row.level, row.applies, row.shift))
