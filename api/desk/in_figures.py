"""Answers in figures, for who may see nobody's name: what they may not ask, and how the result is made.

What would let two answers be told apart by one person is not asked: people, days but today and the first of a month,
past states. A team of too few people is told nothing of.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Iterator
from typing import Any

from api.access.figures import find_small_teams, hide_few, leave_out_small_teams
from api.access.reduce import Reduced, reduce_result
from api.desk.named_states import NamedState, NamedStates
from api.desk.names import count
from api.desk.parameters import Asks, list_parameters
from api.desk.question import TEAM, InFigures, Question, Subject
from api.desk.states import State
from api.errors import FiguresAloneError, ParameterError, WrongParameter


def tell_remark(least: int) -> str:
    """Return what is said of every answer in figures."""
    few = f"a number of fewer than {least} people is told as “under {least}”"
    return f"In figures: nobody is named; {few}; of other days than today no number of people is told."


def require_askable(state: State, question: Question, subject: Subject, asked: Asks, least: int) -> None:
    """Raise where a question, with today filled in, is not answered in figures.

    Raises
    ------
    ParameterError
        Something is asked that would tell of single people.
    FiguresAloneError
        The team is too small.
    """
    wrong = list(_iterate_wrong(state, question, asked))
    if wrong:
        raise ParameterError(*wrong)
    if subject.kind is TEAM and subject.id in find_small_teams(state.get_whole(), _get_day(state, asked), least):
        raise FiguresAloneError(
            f"The team has fewer than {count(least, 'person', 'people')}: how it stands is not told."
        )


def _iterate_wrong(state: State, question: Question, asked: Asks) -> Iterator[WrongParameter]:
    if state.told is not None:
        ((name, given),) = [*state.asked.texts.items()][:1]
        yield WrongParameter(name, given, "must be left out: figures are of the present state")
    refused = question.figures.refuses if question.figures is not None else frozenset()
    for parameter in list_parameters(type(asked)):
        value = getattr(asked, parameter.field)
        text = asked.texts.get(parameter.name)
        if parameter.kind.table == "people" and value:
            yield WrongParameter(parameter.name, text, "must be left out: figures name nobody")
        elif parameter.field == "on" and value != state.today and value.day != 1:
            yield WrongParameter("on", text, "must be today or the first of a month: figures are told of no other day")
        elif parameter.name in refused and value != parameter.default:
            yield WrongParameter(parameter.name, text, "must be left out where figures alone are told")


def _get_day(state: State, asked: Any) -> dt.date:
    day: dt.date = getattr(asked, "on", state.today)
    return day


def compute_in_figures(
    state: State, question: Question, subject: Subject, asked: Any, least: int, states: NamedStates
) -> Reduced:
    """Return the result of a question that was found askable, with few hidden, and who is told of by name."""
    assert isinstance(question.figures, InFigures)
    whole = state.get_whole()
    day = _get_day(state, asked)
    named = ({field: _leave_out(one, day, least) for field, one in states.items()},) if states else ()
    result = question.compute(leave_out_small_teams(whole, day, least), subject, asked, *named)
    is_all = day != state.today
    if question.figures.keep_named is not None:
        kept = question.figures.keep_named(result, state.sight, least, is_all)
        return reduce_result(kept, (), whole.people.keys())
    reduced = reduce_result(question.figures.prepare(result, least), whole.people.keys()).result
    return Reduced(hide_few(reduced, least, is_all=is_all))


def _leave_out(named: NamedState, day: dt.date, least: int) -> NamedState:
    """Return a state that is named without what small teams need and without their people."""
    left = leave_out_small_teams(named.state.get_whole(), day, least)
    return dataclasses.replace(named, state=dataclasses.replace(named.state, snapshot=left, whole=None))
