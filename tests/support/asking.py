"""Asking the desk in tests: a question by its name, of a Snapshot, as a person would, on a day."""

from __future__ import annotations

import datetime as dt
from typing import Any, cast

from api.access.actor import LOCAL_OWNER
from api.desk.desk import Answer, Desk, State
from api.desk.parameters import list_parameters
from api.desk.question import PERSON, ROLE, TEAM, Subject, SubjectKind
from api.json_text import to_json
from api.questions import load_question
from api.settings import Settings
from ontology.snapshot.snapshot import Snapshot

__all__ = ["PERSON", "ROLE", "TEAM", "answer", "find", "tell"]

_TODAY = dt.date(2026, 11, 24)


def answer(snapshot: Snapshot, name: str, kind: SubjectKind, subject: str, **asked: Any) -> Answer:
    """Return the answer to a question; parameters by their names in Python, what is left out has its default.

    Without a time limit there is none: the most that can be asked.
    """
    question = load_question(name)
    asks = question.asks[kind]
    if "time_limit_s" not in asked and any(parameter.field == "time_limit_s" for parameter in list_parameters(asks)):
        asked["time_limit_s"] = 3600.0
    desk = Desk(cast(Any, None), Settings(time_limit_max_s=3600.0))
    return desk.ask(LOCAL_OWNER, State(snapshot, _TODAY), question, Subject(kind, subject), asks(**asked))


def find(snapshot: Snapshot, name: str, kind: SubjectKind, subject: str, **asked: Any) -> Any:
    """Return the result record of a question; parameters as `answer`."""
    return answer(snapshot, name, kind, subject, **asked).result


def tell(snapshot: Snapshot, name: str, kind: SubjectKind, subject: str, **asked: Any) -> dict[str, Any]:
    """Return the answer to a question as the API gives it; parameters as `answer`."""
    told: dict[str, Any] = to_json(answer(snapshot, name, kind, subject, **asked).members)
    return told
