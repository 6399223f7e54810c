"""What several questions may be asked, each described once, and how they tell of whom they speak."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from api.desk.kinds import PersonIds, RoleId
from api.desk.names import Names
from api.desk.parameters import TODAY, USUAL_TIME, Asks, param
from api.desk.question import PERSON, ROLE, Subject, SubjectKind, get_by_names
from ontology.analysis.profiles.profile import Profile, build_profile, build_role_profile
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, kw_only=True)
class AskOnDay(Asks):
    """On a day."""

    on: dt.date = param("The day asked about (default: today, UTC).", default=TODAY)


@dataclass(frozen=True, kw_only=True)
class AskAboutTeam(AskOnDay):
    """Of a team on a day, also with people supposed away."""

    away: PersonIds = param("People to take as absent.", default=frozenset())


@dataclass(frozen=True, kw_only=True)
class AskSlowly(Asks):
    """What may take long."""

    time_limit_s: float = param(
        "Seconds to compute; afterwards the best found is told, with a lower bound.",
        default=USUAL_TIME,
        minimum=0.01,
        name="time_limit",
        unit="s",
    )


@dataclass(frozen=True, kw_only=True)
class AskToRole(Asks):
    """To a role: of a person."""

    role: RoleId = param("The role asked about.", is_word=True)


@dataclass(frozen=True, kw_only=True)
class AskFromRole(Asks):
    """To the role that is asked of: from another."""

    from_role: RoleId = param("The role whose full profile is the start.", name="from")


def to_a_role(asks: type[Asks]) -> dict[SubjectKind, type[Asks]]:
    """Return what a question "to a role" is asked of a person, to a role, and of a role, from another."""
    return {
        kind: dataclass(frozen=True, kw_only=True)(type(f"{asks.__name__}Of{kind.word.title()}", (start, asks), {}))
        for kind, start in ((PERSON, AskToRole), (ROLE, AskFromRole))
    }


@dataclass(frozen=True, slots=True)
class Way:
    """From whose levels to which role: a person's, or those of someone fully in another role."""

    role_id: str
    person_id: str | None = None
    from_role_id: str | None = None


def find_way(subject: Subject, asked: Asks) -> Way:
    """Return the way that a question "to a role" is about."""
    if subject.kind is PERSON:
        assert isinstance(asked, AskToRole)
        return Way(asked.role, person_id=subject.id)
    assert isinstance(asked, AskFromRole)
    return Way(subject.id, from_role_id=asked.from_role)


def build_start_profile(snapshot: Snapshot, subject: Subject, on: dt.date) -> Profile:
    """Return the profile a question starts from: a person's on a day, or that of someone fully in a role."""
    if subject.kind is PERSON:
        return build_profile(snapshot, subject.id, on)
    return build_role_profile(snapshot, subject.id)


def by_start(analysis: Callable[..., Any], **renamed: str) -> Callable[[Snapshot, Subject, Any], Any]:
    """Return the `compute` of a question whose analysis is given the profile it starts from; all else as `by_names`."""

    def compute(snapshot: Snapshot, subject: Subject, asked: Any) -> Any:
        given = get_by_names(asked, renamed)
        return analysis(snapshot, build_start_profile(snapshot, subject, given.pop("on")), **given)

    return compute


def name_start(names: Names, subject: Subject, asked: Asks) -> str:
    """Return from whose levels a question starts, in words."""
    if subject.kind is PERSON:
        return names.person(subject.id)
    role_id = asked.from_role if isinstance(asked, AskFromRole) else subject.id
    return f"someone at full level as {names.role(role_id)}"
