"""What the questions of what changed since share: the state before, its words, and how a reason is said."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

from api.desk.kinds import StateText
from api.desk.named_states import NamedStates
from api.desk.parameters import Asks, param
from api.desk.plain_cells import say_day
from api.errors import ParameterError, WrongParameter
from api.questions._asks import AskOnDay
from ontology.analysis.effect.between import Between
from ontology.analysis.effect.why import TIME, Reasons, Why
from ontology.snapshot.snapshot import Snapshot

TOUCHES: Final = (
    "A reason is a change that touches what differs; it is no proof that it alone made the difference. Changes in "
    "records that you may not see are not told."
)
#: What a state before can be named as: a draft, a file and a framework of others have no history that leads here.
_OWN_STATES: Final = ("now", "revision", "date", "release")
#: Reasons in one cell.
_REASONS_SHOWN: Final = 8
_TIME_WORDS: Final = "time alone: something lapsed, began or ended"


@dataclass(frozen=True, kw_only=True)
class AskSince(Asks):
    """Since which state."""

    since: StateText = param(
        "The state before: a revision (a number), a day or a release. It is judged on its own day.", is_word=True
    )


@dataclass(frozen=True, kw_only=True)
class AskChanges(AskOnDay, AskSince):
    """Since which state, on a day."""


def read_between(snapshot: Snapshot, asked: AskChanges, states: NamedStates) -> Between:
    """Return the state before, on its own day, and the one that is asked, on the day asked.

    Raises
    ------
    ParameterError
        It is no state of this store, or was made after the one that is asked.
    """
    since = states["since"]
    if since.told.kind not in _OWN_STATES:
        raise ParameterError(WrongParameter("since", asked.since, "must be a revision, a day or a release"))
    if since.state.snapshot.revision > snapshot.revision:
        reason = f"must be a state before the one that is asked, revision {snapshot.revision}"
        raise ParameterError(WrongParameter("since", asked.since, reason))
    before = since.state.get_whole()
    return Between(before, snapshot, since.state.today, asked.on, asked.since, Reasons(since.tell_rows))


def say_since(text: str, day: dt.date) -> str:
    """Return a state before as one says it: its day, and the release or revision where that was named.

    Examples
    --------
    >>> import datetime as dt
    >>> say_since("2026-11-03", dt.date(2026, 11, 3)), say_since("1.2", dt.date(2026, 11, 3))
    ('3 November 2026', '1.2 of 3 November 2026')
    """
    told = say_day(day)
    if text == str(day):
        return told
    return f"{f'revision {text}' if text.isdigit() else text} of {told}"


def say_why(why: Why) -> str:
    """Return the first reasons as one cell, and how many more there are; the JSON has all."""
    told = [_TIME_WORDS if one == TIME else one[:1].upper() + one[1:] for one in why[:_REASONS_SHOWN]]
    if len(why) > len(told):
        told.append(f"and {len(why) - len(told):,} more changes")
    return "; ".join(told) or "–"
