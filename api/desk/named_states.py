"""States that a question names in its parameters: which each is, what is told of it, and of which tables it speaks."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Annotated, Final, Literal

from api.desk.history import tell_rows_between
from api.desk.parameters import Asks, list_parameters
from api.desk.states import State, StateAsked, format_time
from api.errors import ParameterError, WrongParameter
from ontology.errors import NotFoundError
from ontology.model.columns import Key
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # a live graph brings the checks and the store; a desk only needs its Snapshot
    from ontology.live.live_graph import LiveGraph

_PRESENT: Final = "now"
#: Before the id of a draft: "draft:spring".
_DRAFT: Final = "draft"
#: What a framework of others is named by: outside:ID.
OUTSIDE: Final = "outside:"


@dataclass(frozen=True, slots=True)
class ToldNamedState:
    """What an answer says of a state that was named."""

    text: Annotated[str, "How it was named."]
    kind: Annotated[Literal["now", "revision", "date", "release", "draft", "file", "outside"], "What that names."]
    revision: Annotated[int | None, "The revision that it is; of an outside framework its own; null of a file."]
    release: Annotated[str | None, "The release that names this revision; null where none does."]
    time: Annotated[str | None, "When the revision was made, as 2026-11-24T10:00:00Z; null before the first."]
    left_out: Annotated[int, "Errors of a file: the rows that have them are left out."]
    counts: Annotated[Mapping[str, int], "How many records each table has; of a file those that it holds."]


def _tell_nothing(_: Iterable[tuple[str, Key]]) -> Mapping[tuple[str, Key], Sequence[tuple[int, str]]]:
    return {}


@dataclass(frozen=True, slots=True)
class NamedState:
    """A state, what is told of it, and the tables it speaks of: all but those about people, or those a file holds.

    `tell_rows` tells what became of records, (table, key), from it to the state asked: revision and words of each
    change, newest first, as far as who asks may read it. Of a file nothing is known. A draft has a `title`.
    """

    state: State
    told: ToldNamedState
    title: str = ""
    tell_rows: Callable[[Iterable[tuple[str, Key]]], Mapping[tuple[str, Key], Sequence[tuple[int, str]]]] = (
        _tell_nothing
    )

    @property
    def tables(self) -> frozenset[str]:
        """The tables it speaks of."""
        return frozenset(self.told.counts)


#: Of a question: field of the parameter -> the state it names.
NamedStates = Mapping[str, NamedState]


def find_named_states(
    graph: LiveGraph, present: State, asked: Asks, choose: Callable[[StateAsked], State], known: NamedStates
) -> NamedStates:
    """Return the states that a question's parameters name; those that are `known` stay.

    `present` is the state that is asked itself, which `now` means; `choose` gives any other.

    Raises
    ------
    ParameterError
        There is no such state, or it cannot be shown.
    """
    found: dict[str, NamedState] = dict(known)
    for parameter in list_parameters(type(asked)):
        if parameter.kind.name not in ("state", "outside") or parameter.field in found:
            continue
        text: str = getattr(asked, parameter.field)
        if parameter.kind.name == "outside":
            text = OUTSIDE + text
        if text.startswith(OUTSIDE):
            found[parameter.field] = _describe_outside(graph, present, parameter.name, text)
            continue
        try:
            state = present if text == _PRESENT else choose(_read(text))
        except ParameterError as error:
            wrong = ParameterError(*(dataclasses.replace(one, parameter=parameter.name) for one in error.wrong))
            wrong.context.update({name: value for name, value in error.context.items() if name not in wrong.context})
            raise wrong from None
        found[parameter.field] = describe_state(graph, present, state, text)
    return found


def describe_state(graph: LiveGraph, present: State, state: State, text: str, title: str = "") -> NamedState:
    """Return a state with what is told of it, beside the one that is asked; `text` is how it was named."""
    return NamedState(state, _tell(graph, state, text), title, partial(tell_rows_between, graph, state, present))


def describe_file(text: str, snapshot: Snapshot, tables: frozenset[str], n_errors: int, state: State) -> NamedState:
    """Return the state that is what a file holds; `state` lends it the day."""
    counts = {name: len(snapshot.get_table(name)) for name in TABLES if name in tables - PERSONAL_TABLES}
    own = dataclasses.replace(state, snapshot=snapshot, told=None, own_key=f" file {text}", sight=None, whole=None)
    return NamedState(own, ToldNamedState(text, "file", None, None, None, n_errors, counts))


def _read(text: str) -> StateAsked:
    kind, colon, draft_id = text.partition(":")
    return StateAsked(draft=draft_id) if colon and kind == _DRAFT else StateAsked(text)


def _describe_outside(graph: LiveGraph, present: State, parameter: str, text: str) -> NamedState:
    """Return an outside framework as a state, of the tables that it holds; the present state lends it the day."""
    try:
        framework = graph.outside.get(text.removeprefix(OUTSIDE))
    except NotFoundError:
        known = ", ".join(OUTSIDE + one for one in graph.outside.list_ids())
        known = f"loaded: {known}" if known else "none is loaded"
        raise ParameterError(WrongParameter(parameter, text, f"names no framework of others; {known}")) from None
    snapshot = framework.snapshot
    own_key = f" outside {text} {snapshot.store_id}"
    state = dataclasses.replace(present, snapshot=snapshot, told=None, own_key=own_key, sight=None, whole=None)
    time = format_time(framework.loaded)
    return NamedState(state, ToldNamedState(text, "outside", framework.revision, None, time, 0, framework.counts))


def _tell(graph: LiveGraph, state: State, text: str) -> ToldNamedState:
    """Return what is told of a state; of the present one, too, when it was made and what names it."""
    revision = state.snapshot.revision
    moment = graph.past.find_moment(str(revision), graph.get_snapshot(), state.today)
    release = (state.told.release if state.told is not None else moment.release) or None
    counts = {name: len(state.snapshot.get_table(name)) for name in TABLES if name not in PERSONAL_TABLES}
    return ToldNamedState(text, _find_kind(text, release), revision, release, format_time(moment.time), 0, counts)


def _find_kind(text: str, release: str | None) -> Literal["now", "revision", "date", "release", "draft"]:
    if text == _PRESENT:
        return "now"
    if text.startswith(f"{_DRAFT}:"):
        return "draft"
    if text == release:
        return "release"
    return "revision" if text.isdigit() else "date"
