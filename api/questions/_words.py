"""Words that several sheets share: what a status, a state or a standing means, said as a colleague would."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Final

from api.desk.columns import build_if_any, number, words
from api.desk.names import Names, count
from api.desk.sheet import State, Table

if TYPE_CHECKING:  # a question that tells of none of them brings none of what finds them
    from ontology.analysis.outlook.cover_causes import Cause
    from ontology.analysis.paths.unreachable import UnreachableLevel
    from ontology.analysis.places.holding import FallenNeed
    from ontology.analysis.places.slots import TogetherNeed

#: Causes that are told as something the person does.
_DONE: Final = ("joins", "leaves", "absence-begins", "absence-ends", "session-begins", "session-ends", "appointed")

_STATUSES: Final = {
    "optimal": "Proved: nothing better among what is entered.",
    "feasible": "The time was up: this is the best found so far.",
    "unreachable": "Not all of it can be reached; the rest is shown.",
    "nothing-to-do": "Nothing has to be learned.",
}
_STANDINGS: Final = {
    "none": "may not start yet",
    "may-start": "may start",
    "works-alone": "works alone",
    "full": "full",
}
_STATES: Final = {
    "short": ("short", "fewer present than the minimum"),
    "sole-holder": ("sole holder", "it rests on one person"),
    "no-reserve": ("no reserve", "just the minimum is present"),
    "below-target": ("below target", "fewer qualified than the target"),
    "covered": ("covered", "the target is reached"),
    "ok": ("current", "the level counts"),
    "lapsed": ("lapsed", "no longer valid"),
    "suspended": ("suspended", "it comes back once what it hangs on is held again"),
    "review-due": ("review due", "it counts, but wants a fresh look"),
    "not-assessed": ("not assessed", "nobody has assessed it yet"),
    "overdue": ("overdue", "the due day has passed"),
    "within-30": ("within 30 days", "due within 30 days"),
    "within-60": ("within 60 days", "due within 60 days"),
    "within-90": ("within 90 days", "due within 90 days"),
    "current": ("current", "held, and not due within 90 days"),
    "later": ("later", "needed in more than 90 days"),
}


def describe_status(status: str) -> str:
    """Return a sentence on how sure an answer is."""
    return _STATUSES[status]


def name_standing(standing: str) -> str:
    """Return a standing in words."""
    return _STANDINGS[standing]


@cache
@lru_cache(maxsize=64)
def show_state(code: str) -> State:
    """Return a state with its word and meaning."""
    word, meaning = _STATES.get(code, (code.replace("-", " "), ""))
    return State(code, word, meaning)


def show_yes(value: bool) -> str:
    """Return a truth as a word."""
    return "yes" if value else "no"


def describe_unreachable(rows: tuple[UnreachableLevel, ...], names: Names) -> tuple[Table, ...]:
    """Return the levels that no courses reach, and why; nothing where there are none."""
    return build_if_any(
        "Cannot be reached",
        rows,
        (
            words("competency", lambda row: names.ref("competencies", row.competency)),
            number("level", lambda row: row.level),
            words("why", lambda row: names.put_in(row.reason)),
        ),
    )


def name_fallen(
    names: Names, needs: Iterable[FallenNeed], places: Iterable[str], together: Iterable[TogetherNeed]
) -> str:
    """Return what would not hold any more, in words; a dash for nothing."""
    falls = [f"need {names.need(need.competency, need.level, need.shift)}" for need in needs]
    falls += [f"place {names.place(place)}" for place in places]
    for need in together:
        slots = count(need.slots, "slot")
        falls.append(f"{slots} of group {need.together}: {names.need(need.competency, need.level, need.shift)}")
    return "; ".join(falls) or "–"


def tell_cause(cause: Cause, names: Names) -> str:
    """Return what happened as one says it: "Goran Adeyemi is back from an absence.", "Goran Adeyemi: it lapses."."""
    return f"{names.person(cause.person)}{' ' if cause.what in _DONE else ': '}{cause.words}"
