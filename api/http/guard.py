"""The guard before every request where there are accounts: who has not signed in, or may not this, comes no further.

What an answer or a record needs is checked once more where it is asked or changed; here every address is held to the
right that it has, so that none is forgotten.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, Literal
from urllib.parse import parse_qsl, unquote, urlencode, urlsplit

from flask import current_app, redirect
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response

from api.access.check import could, decide
from api.access.kinds import TABLE_KINDS
from api.access.rights import OF_EVERYONE, TOLD_IN_FIGURES, Kind, Right, Verb
from api.access.sight import Sight
from api.desk.bounded import find_kept
from api.desk.states import State
from api.errors import FiguresAloneError, ThrottledError, UnauthenticatedError
from api.http.access_context import get_access
from api.http.actors import get_sight
from api.http.collection import COLLECTIONS
from api.http.context import SAFE_METHODS, get_desk, get_request
from api.http.rates import Rates
from api.http.route_rights import RouteRight, find_right
from api.questions import load_question
from ontology.errors import ForbiddenError, InputError, UnknownIdError
from ontology.model.retirable import RETIRABLE
from ontology.snapshot.snapshot import Snapshot

_Told = Literal["open", "unknown", "refused"]
_SIGN_IN: Final = "/sign-in"
_TOO_MANY: Final = "This account has asked as much as it may in a minute: ask again in a moment."
#: Pages of whoever is a person here: an account that is tied to nobody has none.
_OF_A_PERSON: Final = ("/me", "/me/kept")
#: Kinds of what is made for one team.
_OF_TEAMS: Final = (Kind.TEAMS, Kind.COVER_NEEDS)
#: The page of what became of a record.
_LIFE: Final = "/history/<table>/<path:id>"
#: Of so many addresses at the most it is kept whether they may be opened.
_MOST_KNOWN: Final = 50_000


def build_guard(most: int) -> Callable[[], Response | None]:
    """Return what lets a request pass, or answers or refuses it; of one account `most` in a minute.

    The account is counted here, where it is at hand.
    """
    rates = Rates()

    def guard() -> Response | None:
        sight, request = get_sight(), get_request()
        if sight is None:
            return None
        if request.url_rule is not None:
            rule, record_id = request.url_rule.rule, (request.view_args or {}).get("id", "")
            # a name in an address may be escaped; where nothing is, to look for it costs as much as all else here
            query = request.query_string
            role = request.args.get("role") if b"role" in query or b"%" in query else None
            told = _decide(get_desk().get_state(), sight, rule, request.method, record_id, role)
            if told != "open":
                return _refuse(told, sight, rule, request.method, record_id)
        account = sight.actor.account
        wait = rates.count(account, most) if account else 0.0
        if wait:
            raise ThrottledError(wait, _TOO_MANY)
        return None

    return guard


def _refuse(told: _Told, sight: Sight, rule: str, method: str, record_id: str) -> Response:
    """Send who has not signed in to where they can, and refuse all others.

    Raises
    ------
    UnauthenticatedError
        Under /api: nobody has signed in.
    UnknownIdError
        The record of the address may not be seen: the very answer to an id that nobody has.
    FiguresAloneError
        Who asks would be told figures, and this answer has none.
    ForbiddenError
        It may be seen, but not this of it.
    """
    if not sight.actor.is_signed_in:
        return _send_to_sign_in()
    right = find_right(rule, method)
    if told == "unknown" and right is not None:
        raise UnknownIdError(right.table, record_id)
    if right is not None and right.is_draft:
        raise UnknownIdError("drafts", record_id)
    if right is not None and right.kind is not None and right.question:
        no_figures = load_question(right.question).no_figures
        if no_figures and decide(sight.actor, Right(right.kind, right.verb)) == "figures":
            raise FiguresAloneError(no_figures)
    access = get_access()
    if access is not None:
        access.events.tell_once("refused: not allowed", sight.actor.account)
    raise ForbiddenError("You may not do or see this.")


def _decide(state: State, sight: Sight, rule: str, method: str, record_id: str, role: str | None) -> _Told:
    """Return what an address answers; kept with what who asks sees, which it hangs on alone."""
    snapshot = state.snapshot
    known: dict[tuple[str, str, str, str | None], _Told] = snapshot.keep("what addresses answer", dict)
    asked = (rule, method, record_id, role)
    found = known.get(asked)
    return find_kept(known, asked, _MOST_KNOWN, lambda: _find_out(sight, snapshot, *asked)) if found is None else found


def _find_out(sight: Sight, snapshot: Snapshot, rule: str, method: str, record_id: str, role: str | None) -> _Told:
    right = find_right(rule, method)
    if right is not None and right.kind is None:
        return "open"
    if not sight.actor.is_signed_in:
        return "refused"
    if rule in _OF_A_PERSON and not sight.actor.person:
        return "refused"
    # a PUT at its own address may make it
    makes = method == "PUT" and rule.endswith("id>")
    if right is not None and not makes and not _is_there(snapshot, right.table, record_id):
        return "unknown"
    return "open" if _is_allowed(sight, snapshot, right, record_id, role) else "refused"


def build_opener() -> Callable[[str], bool]:
    """Return what says whether who asks may open the page of an address of ours: what a link to it needs.

    It is kept with what they see: a page has many links, and the next one the same.
    """
    sight = get_sight()
    if sight is None:
        return lambda _: True
    known: dict[str, bool] = _get_state().snapshot.keep("addresses that may be opened", dict)

    def may_open(address: str) -> bool:
        found = known.get(address)
        return find_kept(known, address, _MOST_KNOWN, lambda: _leads_on(sight, address)) if found is None else found

    return may_open


def _get_state() -> State:
    """Return the state that is asked; the present one on the page that says there is no such state."""
    try:
        return get_desk().get_state()
    except InputError:
        return get_desk().choose_state()


def _leads_on(sight: Sight, address: str) -> bool:
    parts = urlsplit(address)
    try:
        rule, values = current_app.url_map.bind("").match(unquote(parts.path), "GET", return_rule=True)
    except HTTPException:
        return True  # what leads on by itself, or nowhere, is no matter of rights
    if parts.path == _OF_A_PERSON[0] and parts.query:
        return False  # who signed in looks as themselves
    if rule.rule == _LIFE:
        collection = COLLECTIONS.get(str(values["table"]).replace("-", "_"))
        key = None if collection is None else collection.parse_id(str(values["id"]))
        return collection is None or key is None or sight.decide_life(collection.table.name, key)
    asked = dict(parse_qsl(parts.query))
    right = find_right(rule.rule, "GET")
    if right is not None and right.kind in _OF_TEAMS and right.verb is Verb.CHANGE and asked.get("team"):
        # a form that is filled in with a team makes something of that team
        return _may(sight, sight.build_right(right.kind, right.verb, team=asked["team"]))
    return _decide(_get_state(), sight, rule.rule, "GET", str(values.get("id", "")), asked.get("role")) == "open"


def _send_to_sign_in() -> Response:
    request = get_request()
    if request.path == "/api" or request.path.startswith("/api/"):
        raise UnauthenticatedError("Sign in, or send a token.")
    here = request.full_path.rstrip("?") if request.method in SAFE_METHODS else ""
    return redirect(f"{_SIGN_IN}?{urlencode({'to': here})}" if here not in ("", "/") else _SIGN_IN, 303)


def _is_there(snapshot: Snapshot, table: str, record_id: str) -> bool:
    """Whether the record that an address names, if it names one, is among what may be seen."""
    return not (table and record_id) or _find(snapshot, table, record_id) is not None


def _find(snapshot: Snapshot, table: str, record_id: str) -> Any | None:
    """Return a record by its id in addresses; quicker where that is its key."""
    collection = COLLECTIONS[table]
    by_id = getattr(snapshot, table, None) if collection.table.id_field else None
    if by_id is None or table in RETIRABLE:
        return collection.find_item(snapshot, record_id)
    return by_id.get(record_id)


def _is_allowed(sight: Sight, snapshot: Snapshot, right: RouteRight | None, record_id: str, role: str | None) -> bool:
    """Whether an address may be used at all; of which record, where it names none, is told by the body."""
    if right is None or right.kind is None:
        return False
    has_figures = bool(right.question) and load_question(right.question).figures is not None
    item = _find(snapshot, right.table, record_id) if right.table and record_id else None
    # what someone says of their own levels stands among what others say of them
    is_of_levels = right.kind is Kind.ASSESSMENTS and right.table in ("", "people") and not right.question
    kinds = (right.kind, Kind.OWN_RATINGS) if is_of_levels else (right.kind,)
    if right.table == "people" and item is not None:
        if right.hangs_on_role and sight.is_of_standing(record_id, role):
            kinds = (Kind.STANDING,)
        of_person = (sight.build_right(kind, right.verb, person=record_id) for kind in kinds)
        is_shown = right.verb is Verb.SEE and bool(right.question) and sight.may_be_shown(record_id)
        return is_shown or any(_may(sight, one) for one in of_person)
    if right.table in ("teams", "places") and item is not None:
        team = record_id if right.table == "teams" else item.team
        return any(_may(sight, sight.build_right(kind, right.verb, team=team), has_figures) for kind in kinds)
    if item is not None and TABLE_KINDS[right.table] is right.kind and not isinstance(item, tuple):
        return _may(sight, sight.build_record_right(right.table, item, right.verb))
    # what hangs below a record of the framework is of its own kind, and told as far as it may be seen
    if right.kind in OF_EVERYONE:
        return _may(sight, Right(right.kind, right.verb), has_figures)
    return any(could(sight.actor, kind, right.verb, of_new=item is None) for kind in kinds)


def _may(sight: Sight, right: Right, has_figures: bool = False) -> bool:
    """Whether something may be seen or done; `has_figures`: it is an answer that can be told in figures."""
    extent = decide(sight.actor, right)
    return extent in ("rows", "name") or (extent == "figures" and (has_figures or right.kind in TOLD_IN_FIGURES))
