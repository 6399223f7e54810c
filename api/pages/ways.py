"""Ways to a role side by side: cards with their stairs on one scale, the same as a table, what to ask differently."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from markupsafe import Markup

from api.desk.columns import build_table, number, words
from api.desk.desk import Answer
from api.desk.names import Names, amount, count, join_names
from api.desk.sheet import Quantity, Ref, Table
from api.pages.addresses import build_address
from api.pages.ask_form import Field, list_fields
from api.pages.emphasis import stress
from api.pages.figure import Figure
from api.pages.first_words import find_first_words
from api.pages.page import Link, Page
from api.pages.stair import Climb, Scale, build_scale, write_stair
from api.pages.way_cards import Chosen, choose_ways, list_ways, name_way
from api.pages.way_words import tell_lead, tell_months, tell_proof, tell_reason
from api.questions.person._path import ask_first_plan
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.routes.route_results import DirectMove, Route, RouteMove, RoutesResult

__all__ = ["Card", "Step", "WaysView", "build_view", "describe_ways"]

#: The fields of "Ask differently", with plain words.
_FIELDS: Final = {
    "avoid": "Not by way of",
    "via": "By way of",
    "study_hours_per_week": "Hours a week",
    "max_moves": "Most moves",
    "preparation_limit": "Most hours before a move",
    "level_limit": "Most levels up at once",
}
_COURSES_NAMED: Final = 3
#: Ways in the table besides the direct one; the rest is folded.
_IN_TABLE: Final = 7
_HEADINGS: Final = {1: "One way", 2: "Two ways, side by side", 3: "Three ways, side by side"}


@dataclass(frozen=True, slots=True)
class Step:
    """A move of a way: the role, and the courses before it."""

    role: Ref
    told: str


@dataclass(frozen=True, slots=True)
class Card:
    """A way as a card. `strong` and `told` say why it is shown; `stair` is "" where no hours a week are free."""

    key: str
    title: str
    strong: str
    told: str
    hours: str
    months: str
    moves: int
    stair: Markup
    steps: tuple[Step, ...]
    act: str
    address: str
    is_out_of_reach: bool


@dataclass(frozen=True, slots=True)
class WaysView:
    """All that stands on the page."""

    title: str
    start: str
    target: str
    lead: Markup
    proof: str
    heading: str
    cards: tuple[Card, ...]
    table: Table
    more: Table
    wider: str
    reasons: tuple[str, ...]
    fields: tuple[Field, ...]
    keepable: tuple[tuple[str, str], ...]


def build_view(answer: Answer, kept: str = "") -> WaysView:
    """Return what stands on the page of the ways that an answer tells.

    Parameters
    ----------
    answer : Answer
        Of the question "routes", about a person.
    kept : str
        The key of the way that is to stand first: one that was kept.
    """
    result, names = answer.result, answer.names
    chosen = choose_ways(result, kept)
    climbs = [_list_climbs(answer, way.route) for way in chosen]
    scale = build_scale([stair for stair in climbs if stair is not None])
    cards = tuple(_build_card(answer, way, stair, scale, chosen[0]) for way, stair in zip(chosen, climbs, strict=True))
    lead = tell_lead(result, names)
    *ways, direct = list_ways(result)
    shown, others = (*ways[:_IN_TABLE], direct), ways[_IN_TABLE:]
    return WaysView(
        title=find_first_words(lead),
        start=_name_start(answer),
        target=names.role(result.role),
        lead=stress(lead, (names.role(role) for role in _list_through(result))),
        proof=tell_proof(result),
        heading=_HEADINGS[len(cards)],
        cards=cards,
        table=_build_table("The same in a table", shown, result, names),
        more=_build_table("Other ways", others, result, names),
        wider=_widen(answer),
        reasons=tuple(row.reason for row in result.direct.unreachable),
        fields=_list_fields(answer),
        keepable=tuple(_tell_keepable(card, names.role(result.role)) for card in cards if not card.is_out_of_reach),
    )


def _tell_keepable(card: Card, target: str) -> tuple[str, str]:
    """Return what keeps a way (its key, then the words it is kept with), and its name."""
    way = card.title[:1].lower() + card.title[1:]
    size = f"{card.hours} h, at least {card.months} months, {count(card.moves, 'move')}"
    return f"{card.key} {target}: {way}, {size}", card.title


def describe_ways(answer: Answer, view: WaysView, figure: Figure | None, *, is_self: bool) -> Page:
    """Return the page."""
    enquiry = answer.enquiry
    person = enquiry.subject.id
    values: dict[str, Any] = {
        "view": view,
        "figure": figure,
        "is_self": is_self,
        "person": Ref("people", person, answer.names.person(person)),
        "here": build_address("people", person, "routes"),
        "to": answer.result.role,
        "same": build_address("people", person, "routes", enquiry.texts),
        "cautions": enquiry.question.cautions,
        "remarks": tuple(map(answer.names.put_in, answer.result.remarks)),
        "revision": enquiry.state.snapshot.revision,
    }
    first = Link("Where I stand" if is_self else answer.names.person(person), build_address("people", person, ""))
    trail = (first, Link("Choose a role", build_address("people", person, "roles")))
    return Page("ways.html", values, way="stand", trail=trail)


def _name_start(answer: Answer) -> str:
    enquiry = answer.enquiry
    role = get_person_on(enquiry.state.snapshot, enquiry.subject.id, enquiry.asked.on).role
    return answer.names.role(role) if role else "where you are"


def _list_climbs(answer: Answer, route: Route | DirectMove) -> tuple[Climb, ...] | None:
    roles = answer.enquiry.state.snapshot.roles
    climbs = []
    for at, move in enumerate(route.moves, start=1):
        if move.study_hours is None or move.months is None:
            return None
        flat = roles[move.role].months_to_full if at < len(route.moves) else 0.0
        climbs.append(Climb(move.study_hours, move.months - flat, flat))
    return tuple(climbs)


def _build_card(answer: Answer, way: Chosen, climbs: Sequence[Climb] | None, scale: Scale, first: Chosen) -> Card:
    names, route, enquiry = answer.names, way.route, answer.enquiry
    is_out = way.is_direct and not answer.result.direct.within_reach
    strong, told = tell_reason(answer.result, way, first, names)
    day = {name: text for name, text in enquiry.texts.items() if name == "on"}
    if is_out:
        act, segment, asked = "See what stands in the way", "gap", {"role": route.roles[-1]}
    else:
        act, segment, asked = "See the first plan with dates", "schedule", ask_first_plan(route.moves)
        asked |= {name: text for name, text in enquiry.texts.items() if name == "study_hours_per_week"}
    return Card(
        key=way.key,
        title=name_way(route, names),
        strong=strong,
        told=told,
        hours="–" if route.study_hours is None else amount(route.study_hours),
        months=tell_months(route.months),
        moves=len(route.roles),
        stair=Markup("") if climbs is None else write_stair(climbs, scale, is_dashed=is_out),
        steps=tuple(_build_step(move, names) for move in route.moves),
        act=act,
        address=build_address("people", enquiry.subject.id, segment, asked | day),
        is_out_of_reach=is_out,
    )


def _build_step(move: RouteMove, names: Names) -> Step:
    role = Ref("roles", move.role, names.role(move.role))
    if move.study_hours is None:
        return Step(role, "no courses lead there")
    if not move.courses:
        return Step(role, "nothing to learn before")
    named = [names.course(course) for course in move.courses[:_COURSES_NAMED]]
    more = len(move.courses) - len(named)
    courses = join_names([*named, f"{more} more"] if more else named)
    return Step(role, f"{amount(move.study_hours)} h before: {courses}")


def _list_through(result: RoutesResult) -> tuple[str, ...]:
    best = result.best.study_hours
    return () if best is None else best.roles[:-1]


def _build_table(title: str, ways: Sequence[Chosen], result: RoutesResult, names: Names) -> Table:
    direct = result.direct
    place = "within reach" if direct.within_reach else "out of reach"

    def tell_why(way: Chosen) -> str:
        best = f"{join_names(way.best_in)}; " if way.best_in else ""
        return f"{best}always shown; {place}" if way.is_direct else join_names(way.best_in) or "another way"

    return build_table(
        title,
        ways,
        (
            words("Way", lambda way: name_way(way.route, names)),
            number("Study", lambda way: way.route.study_hours, "h"),
            words("Months, at least", lambda way: Quantity(way.route.months), is_number=True),
            number("Moves", lambda way: len(way.route.roles)),
            number("Cost units", lambda way: way.route.cost),
            words("Shown because", tell_why),
        ),
        "",
    )


def _widen(answer: Answer) -> str:
    """Return the address that asks with limits which open the direct way; "" where a way is open, or none can be."""
    result, enquiry = answer.result, answer.enquiry
    if result.best.study_hours is not None or not result.direct.broken_limits or result.direct.study_hours is None:
        return ""
    limits: dict[str, str] = {}
    for limit in result.direct.broken_limits:
        name = "preparation_limit" if limit.limit == "preparation" else "level_limit"
        limits[name] = f"{max(float(limits.get(name, 0)), limit.needed):g}"
    return build_address("people", enquiry.subject.id, "routes", enquiry.texts | limits)


def _list_fields(answer: Answer) -> tuple[Field, ...]:
    enquiry = answer.enquiry
    asks = enquiry.question.asks[enquiry.subject.kind]
    fields = {one.name: one for one in list_fields(asks, enquiry.texts, enquiry.state.snapshot)}
    return tuple(replace(fields[name], words=words) for name, words in _FIELDS.items())
