"""A draft as the state that is asked: on top of the present, with what is open of it; faulty, it answers little."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final

from api.desk.named_states import NamedState, describe_state
from api.desk.names import count
from api.desk.states import State, StateAsked, ToldState, format_time
from api.errors import ParameterError, WrongParameter
from ontology.errors import ConflictError, DraftFaultsError, Finding, UnknownIdError

if TYPE_CHECKING:  # a live graph brings the checks and the store
    from ontology.live.live_graph import LiveGraph

#: Questions that a draft with errors answers, too.
_ALWAYS: Final = frozenset({"compare", "findings"})


def choose_draft(graph: LiveGraph, asked: StateAsked, today: dt.date) -> State:
    """Return a draft on top of the present.

    Raises
    ------
    ParameterError
        There is no such draft, it was published, or another state is asked as well.
    """
    if asked.as_of or asked.people_as_of:
        raise ParameterError(WrongParameter("draft", asked.draft, "cannot go with as_of: it is seen on the present"))
    try:
        state = graph.drafts.get_state(asked.draft)
    except UnknownIdError:
        raise refuse_unknown(asked.draft) from None
    draft = state.draft
    if draft.state == "published":
        reason = f"was published as revision {draft.revision}; ask for that with as_of"
        raise ParameterError(WrongParameter("draft", asked.draft, reason))
    moment = graph.past.find_moment(str(state.snapshot.revision), state.ground.present, today)
    told = ToldState(
        as_of=None,
        draft=draft.id,
        number=draft.number,
        revision=state.snapshot.revision,
        release=moment.release or None,
        time=format_time(moment.time),
        people_as_of=None,
    )
    bar = f"Draft {draft.title}, not published"
    cautions = [f"{bar}: what would be asked and shown if it were published now; nothing of it holds."]
    if state.clashes:
        told_count = count(len(state.clashes), "conflict")
        cautions.append(f"The draft has {told_count} with what was published since; its own values are shown.")
    key = f" draft {draft.id} {draft.key} {draft.number}"
    return State(state.snapshot, today, told, asked, tuple(cautions), bar, own_key=key)


def find_draft_asked(
    graph: LiveGraph, present: State, question: str, draft_id: str, choose: Callable[[StateAsked], State]
) -> NamedState:
    """Return a draft of which something is asked, on top of the present state.

    Raises
    ------
    UnknownIdError
        There is no such draft.
    ConflictError
        It was published: nothing of it is still to come.
    DraftFaultsError
        It has errors.
    ParameterError
        It is asked on another state than the present one.
    """
    draft = graph.drafts.get(draft_id)
    for name, text in present.asked.texts.items():
        raise ParameterError(WrongParameter(name, text, "must be left out: a draft is seen on the present state"))
    if draft.state == "published":
        detail = f"The draft was published as revision {draft.revision}: nothing of it is still to come."
        raise ConflictError(detail, table="drafts", id=draft_id)
    state = choose(StateAsked(draft=draft_id))
    require_answerable(graph, state, question)
    return describe_state(graph, present, state, f"draft:{draft_id}", draft.title)


def refuse_unknown(draft_id: str) -> ParameterError:
    """Return what is raised where there is no such draft, or none that may be seen."""
    return ParameterError(WrongParameter("draft", draft_id, "names no draft"))


def is_answerable(graph: LiveGraph, state: State, question: str) -> bool:
    """Whether a question can be answered on a state: on a draft with errors only what tells of the records."""
    return question in _ALWAYS or not find_faults(graph, state)


def require_answerable(graph: LiveGraph, state: State, question: str) -> None:
    """Raise DraftFaultsError where a draft has errors and a question is none that is answered all the same."""
    faults = () if question in _ALWAYS else find_faults(graph, state)
    if faults:
        detail = f"The draft has {count(len(faults), 'error')}: until it is mended, this cannot be answered on it."
        raise DraftFaultsError(detail, faults, draft=state.asked.draft)


def find_faults(graph: LiveGraph, state: State) -> Sequence[Finding]:
    """Return the errors of the draft that is asked; none where no draft is."""
    return graph.drafts.find_errors(state.asked.draft) if state.asked.draft else ()
