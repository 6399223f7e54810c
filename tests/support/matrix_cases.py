"""What every kind of actor may do at every address with their own, another's and an unknown record, by the table alone.

It is worked out of the cells of the table and of whom records are, with nothing of the check that is tried by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from canary_company import EMPLOYEE, LEAD, OTHER, OTHER_TEAM, TEAM

from api.access.actor import Scope
from api.access.kinds import get_record_kind
from api.access.rights import COLUMNS, OF_EVERYONE, Kind, Standpoint, Verb, get_cell
from api.http.collection import COLLECTIONS
from ontology.analysis.profiles.belonging import get_person_on
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Subject", "describe", "find_subjects", "is_allowed", "is_visible", "list_standpoints"]

_POSSIBLE = {
    "reader": {Standpoint.READER},
    "employee": {Standpoint.READER, Standpoint.SELF, Standpoint.COLLEAGUE},
    "lead": {
        *(Standpoint.READER, Standpoint.SELF, Standpoint.COLLEAGUE),
        *(Standpoint.OWN_LEAD, Standpoint.OTHER_LEAD),
    },
    "other lead": {Standpoint.READER, Standpoint.OWN_LEAD, Standpoint.OTHER_LEAD},
    "assessor": {Standpoint.READER, Standpoint.ASSESSOR},
    "architect": {Standpoint.READER, Standpoint.ARCHITECT},
    "architect with purpose": {Standpoint.READER, Standpoint.ARCHITECT},
    "administrator": {Standpoint.READER, Standpoint.ADMINISTRATOR},
}
_PERSON = {"employee": EMPLOYEE, "lead": LEAD}
_LEADS = {"lead": TEAM, "other lead": OTHER_TEAM}
_ASSESSED = "disinfection-control"
#: A program of the lead, with a token that leaves little of their rights.
NARROW = "narrow token"
NARROW_SCOPE = Scope(frozenset({Kind.TEAMS, Kind.PERSON, Kind.TEAM_ANSWERS}), frozenset({Verb.SEE}), frozenset({TEAM}))


@dataclass(frozen=True)
class Subject:
    """A record: of which table, its id in addresses, whom or which teams it is of; "" and none for an unknown one."""

    table: str
    id: str
    person: str = ""
    teams: frozenset[str] = frozenset()
    competency: str = ""
    kind: Kind | None = None


def find_subjects(snapshot: Snapshot, today: Any) -> dict[str, list[Subject]]:
    """Return table -> a record of one's own team (and of the employee), one of another team, and one of nobody."""
    found: dict[str, list[Subject]] = {}
    for name, collection in COLLECTIONS.items():
        subjects = [describe(snapshot, name, item, today) for item in collection.get_items(snapshot)]
        chosen = [
            next((one for one in subjects if fits(one)), None)
            for fits in (
                lambda one: one.person == EMPLOYEE,
                lambda one: TEAM in one.teams and one.person not in (EMPLOYEE, LEAD),
                lambda one: one.person == OTHER or (OTHER_TEAM in one.teams and one.person != EMPLOYEE),
                lambda one: True,
            )
        ]
        key = "~".join("zqnobody" for _ in collection.key_names)
        known = list(dict.fromkeys(one for one in chosen if one is not None))
        found[name] = [*known, Subject(name, key)]
    return found


def describe(snapshot: Snapshot, name: str, item: Any, today: Any) -> Subject:
    """Return what a record is of."""
    path_id = COLLECTIONS[name].get_path_id(item)
    if isinstance(item, tuple):
        return Subject(name, path_id, kind=Kind.FRAMEWORK)
    kind = get_record_kind(name, item)
    if name == "translations" and kind is not Kind.FRAMEWORK:
        # a text is of what its record is of
        of = describe(snapshot, item.table, snapshot.get_all(item.table)[(item.id,)], today)
        return Subject(name, path_id, of.person, of.teams, of.competency, kind)
    if kind is Kind.FRAMEWORK:
        return Subject(name, path_id, kind=kind)
    if name in ("teams", "shifts", "cover_needs", "places"):
        team = item.id if name == "teams" else item.team
        return Subject(name, path_id, teams=frozenset({team}), kind=kind)
    person = item.id if name == "people" else getattr(item, "person", "")
    if name == "agreed_courses":
        person = snapshot.agreed_plans[item.plan].person
    own = snapshot.people[person]
    teams = frozenset(filter(None, (own.team, get_person_on(snapshot, person, today).team)))
    return Subject(name, path_id, person, teams, getattr(item, "competency", ""), kind)


def list_standpoints(actor: str, kind: Kind, subject: Subject | None) -> set[Standpoint]:
    """Return what an actor is to a subject; to nothing in particular: to what is everyone's, what they are anywhere."""
    possible = _POSSIBLE[actor]
    if subject is None or not (subject.person or subject.teams):
        others = {Standpoint.COLLEAGUE, Standpoint.OTHER_LEAD}
        gone = others if kind in OF_EVERYONE else set()
        return possible - gone - (set() if kind is Kind.FRAMEWORK or kind not in OF_EVERYONE else {Standpoint.ASSESSOR})
    own_person = subject.person == _PERSON.get(actor) if subject.person else TEAM in subject.teams
    own_team = _LEADS.get(actor) in subject.teams
    gone = {Standpoint.COLLEAGUE if own_person else Standpoint.SELF}
    gone.add(Standpoint.OTHER_LEAD if own_team else Standpoint.OWN_LEAD)
    is_assessed = kind is Kind.FRAMEWORK or (
        bool(subject.person)
        and TEAM in subject.teams
        and (kind is not Kind.ASSESSMENTS or subject.competency == _ASSESSED)
    )
    return possible - gone - (set() if is_assessed else {Standpoint.ASSESSOR})


def is_allowed(actor: str, kind: Kind, verb: Verb, subject: Subject | None, has_figures: bool = False) -> bool:
    """Whether the cells of the table let an actor do something to a record, or to nothing in particular.

    `has_figures`: it is an answer that can be told in figures.
    """
    if actor == "nobody":
        return False
    if actor == NARROW:
        is_left = kind in NARROW_SCOPE.kinds and verb in NARROW_SCOPE.verbs
        is_there = subject is None or not subject.teams or bool(NARROW_SCOPE.teams & subject.teams)
        return is_left and is_there and is_allowed("lead", kind, verb, subject, has_figures)
    # a purpose is for a team: it opens that team's records and answers, and no answer about all teams
    is_of_team = TEAM in subject.teams if subject is not None and subject.teams else kind not in OF_EVERYONE
    has_purpose = actor == "architect with purpose" and is_of_team
    if kind is Kind.ASSESSMENTS and verb is not Verb.SEE and subject and subject.person == _PERSON.get(actor, "-"):
        return False
    # of whom one may change some columns one makes no record
    in_part = COLUMNS if verb is Verb.CHANGE and subject is None else {}
    cells = [get_cell(kind, one) for one in list_standpoints(actor, kind, subject) if (kind, one) not in in_part]
    return any(
        verb in cell.verbs
        or (has_purpose and verb in cell.with_purpose)
        or (verb is Verb.SEE and cell.has_name)
        or (verb is Verb.SEE and cell.has_figures and (has_figures or kind is Kind.REVIEW))
        for cell in cells
    )


def is_visible(actor: str, subject: Subject) -> bool:
    """Whether an actor may see a record at all."""
    # that there is a record of the framework is no secret to who has signed in
    is_plain = actor == NARROW and subject.kind is Kind.FRAMEWORK
    return subject.kind is not None and (is_plain or is_allowed(actor, subject.kind, Verb.SEE, subject))


def iterate_rules(app: Any) -> Iterator[tuple[str, str]]:
    """Yield every address of an application as a template, with each of its methods."""
    for rule in sorted(app.url_map.iter_rules(), key=lambda one: one.rule):
        for method in sorted(rule.methods & {"GET", "POST", "PUT", "DELETE"}):
            yield rule.rule, method
