"""Which right every address needs, worked out from what it is the address of; one without a right stops the start.

Said here once is what no table and no question says: pages of one's own, what is open to everyone, what is loaded.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from flask import Flask

from api.access.kinds import TABLE_KINDS
from api.access.rights import Kind, Verb
from api.desk.question import SubjectKind
from api.http.collection import COLLECTIONS
from api.http.records import BELOW
from api.questions import list_questions, load_question

#: Open to who has not signed in, by the beginning of the address. Commands of this machine have a secret of their own.
OPEN: Final = frozenset(
    {"static", "problems", "words", "health", "sign-in", "invitations", "api/health", "command-line"}
)
_VERBS: Final = {"GET": Verb.SEE, "POST": Verb.CHANGE, "PUT": Verb.CHANGE, "DELETE": Verb.REMOVE}
_FORMS: Final = {"new": Verb.CHANGE, "edit": Verb.CHANGE, "remove": Verb.REMOVE}
#: Pages and addresses that are neither of a table nor of a question; of all methods.
_OTHERS: Final[Mapping[str, tuple[Kind, Verb | None]]] = {
    "": (Kind.OWN_ACCOUNT, Verb.SEE),
    "me": (Kind.OWN_ACCOUNT, None),
    "account": (Kind.OWN_ACCOUNT, None),
    "sign-out": (Kind.OWN_ACCOUNT, None),
    "accounts": (Kind.ADMINISTRATION, None),
    "my-data": (Kind.OWN_ACCOUNT, None),
    "computing": (Kind.OWN_ACCOUNT, None),
    "framework": (Kind.FRAMEWORK, None),
    "search": (Kind.FRAMEWORK, None),
    "api": (Kind.FRAMEWORK, Verb.SEE),
    "api/browse": (Kind.FRAMEWORK, Verb.SEE),
    # a query that is sent by POST changes nothing either
    "api/sparql": (Kind.FRAMEWORK, Verb.SEE),
    "sparql": (Kind.FRAMEWORK, Verb.SEE),
    "api/exports": (Kind.FRAMEWORK, Verb.SEE),
    "api/dataset": (Kind.FRAMEWORK, Verb.SEE),
    "api/openapi.json": (Kind.FRAMEWORK, Verb.SEE),
    "history": (Kind.HISTORY_FRAMEWORK, Verb.SEE),
    "api/history": (Kind.HISTORY_FRAMEWORK, Verb.SEE),
    "api/outside": (Kind.FRAMEWORK, None),
    "outside": (Kind.FRAMEWORK, None),
    # what asks for it is of use to who may do it
    "outside/<id>": (Kind.FRAMEWORK, Verb.CHANGE),
    "loads": (Kind.LOAD_FRAMEWORK, Verb.CHANGE),
    **dict.fromkeys(("releases", "api/releases", "api/slices", "new/drafts", "retire"), (Kind.FRAMEWORK, Verb.CHANGE)),
}
#: Of whoever may change the framework; to all others each is an unknown one.
_DRAFTS: Final = "drafts"
_SHEET: Final = "assess"
#: Pages below a record that are neither its records nor a question of it.
_BELOW_RECORDS: Final[Mapping[tuple[str, str], Kind]] = {
    ("people", "roles"): Kind.EXPLORATION,
    ("sessions", "results"): Kind.ASSESSMENTS,
    ("teams", _SHEET): Kind.ASSESSMENTS,
    ("roles", "requirements"): Kind.FRAMEWORK,
    ("roles", "diagram"): Kind.FRAMEWORK,
    ("competencies", "diagram"): Kind.FRAMEWORK,
}


@dataclass(frozen=True, slots=True)
class RouteRight:
    """What an address with a method needs.

    `kind` is None where it is open to everyone. `table` is that of the record whose id stands in the path, "" where
    none does; `question` what is asked of it: for some the kind hangs on the role that is asked about. `is_draft`:
    the id is that of a draft.
    """

    kind: Kind | None
    verb: Verb = Verb.SEE
    table: str = ""
    question: str = ""
    is_draft: bool = False

    @property
    def hangs_on_role(self) -> bool:
        """Whether it is known only with the role asked about: for another one than their own it is exploration."""
        is_asked = self.table == "people" and self.verb is Verb.SEE and bool(self.question)
        return is_asked and load_question(self.question).is_standing_for_own_role


def require_rights(app: Flask) -> None:
    """Raise RuntimeError where an address of an application has no right: it must not be served."""
    missing = list(list_rightless(app))
    if missing:
        raise RuntimeError(f"no right is said for {', '.join(missing)}")


def list_rightless(app: Flask) -> Iterator[str]:
    """Yield the methods and addresses of an application that have no right."""
    for rule in app.url_map.iter_rules():
        for method in sorted((rule.methods or set()) & _VERBS.keys()):
            if find_right(rule.rule, method) is None:
                yield f"{method} {rule.rule}"


@cache
def find_right(rule: str, method: str) -> RouteRight | None:
    """Return what an address, as a template, needs; None where nothing says.

    Examples
    --------
    >>> right = find_right("/api/people/<id>/gap", "GET")
    >>> right.kind.value, right.verb.value, right.table, right.question
    ('exploration', 'r', 'people', 'gap')
    >>> find_right("/health/live", "GET").kind is None, find_right("/somewhere", "GET") is None
    (True, True)
    """
    verb = _VERBS["GET" if method in ("HEAD", "OPTIONS") else method]
    parts = rule.strip("/").split("/")
    first_two = "/".join(parts[:2])
    if parts[0] in OPEN or first_two in OPEN:
        return RouteRight(None, verb)
    below = parts[1:] if parts[0] == "api" else parts
    if below[:1] == [_DRAFTS]:
        return RouteRight(Kind.FRAMEWORK, Verb.CHANGE, is_draft=len(below) > 1)
    own = _find_own(below, verb)
    if own is not None:
        return own
    for name in (first_two, parts[0]):
        if name in _OTHERS and (parts[0] != "api" or name != "api" or len(parts) == 1):
            kind, at_least = _OTHERS[name]
            return RouteRight(kind, at_least or verb)
    return None


def _find_own(parts: list[str], verb: Verb) -> RouteRight | None:
    """Return the right to an address of a table, a record, a form, or a question; None where it is none of these."""
    if not parts or not parts[0]:
        return None
    if parts[0] in _FORMS and len(parts) > 1:
        return _find_of_form(parts[1:], _FORMS[parts[0]])
    table = _get_tables().get(parts[0])
    if table is None:
        return _find_of_question("", "/".join(parts[:1]), verb)
    asked_of_all = _find_of_question("", "/".join(parts[:2]), verb)
    if asked_of_all is not None:
        return asked_of_all
    if len(parts) <= 2:
        return RouteRight(TABLE_KINDS[table], verb, table if len(parts) == 2 else "")
    return _find_below(table, parts[2], verb)


def _find_of_form(parts: list[str], verb: Verb) -> RouteRight | None:
    table = _get_tables().get(parts[0])
    if table is None:
        return None
    return RouteRight(TABLE_KINDS[table], verb, table if len(parts) > 1 else "")


def _find_below(table: str, part: str, verb: Verb) -> RouteRight | None:
    """Return the right to what hangs below a record: its own pages first, then a question of it, then its records."""
    if (table, part) in _BELOW_RECORDS:
        # to see a sheet that is filled in one must be allowed to fill it in
        return RouteRight(_BELOW_RECORDS[table, part], Verb.CHANGE if part == _SHEET else verb, table)
    of_question = _find_of_question(table, part, verb)
    if of_question is not None:
        return of_question
    below = {(above, name): other for above, name, other, _ in BELOW}.get((table, part))
    return RouteRight(TABLE_KINDS[below], verb, table) if below is not None else None


def _find_of_question(table: str, segment: str, verb: Verb) -> RouteRight | None:
    name = _get_questions().get((table, segment))
    if name is None:
        return None
    question = load_question(name)
    if verb is Verb.SEE:
        return RouteRight(question.get_kind(SubjectKind(table)), verb, table, name)
    made = {act.makes for act in question.acts.values()}
    return RouteRight(made.pop(), verb, table, name) if len(made) == 1 else None


@cache
def _get_tables() -> Mapping[str, str]:
    return {collection.name: table for table, collection in COLLECTIONS.items()}


@cache
def _get_questions() -> Mapping[tuple[str, str], str]:
    return {(kind.value, question.segment): question.name for question in list_questions() for kind in question.asks}
