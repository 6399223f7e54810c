"""What a request works with: the desk of its application, the live graph behind it, one Snapshot."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache, lru_cache
from http import HTTPStatus
from typing import Any, Final, cast
from urllib.parse import urlencode

from flask import Flask, Request, Response, current_app, g, has_request_context, request
from werkzeug.local import LocalProxy

from api.access.actor import Actor
from api.access.check import decide
from api.access.draft_graph import DraftGraph
from api.access.rights import Kind, Right, Verb
from api.access.seen_graph import RecordGraph, SeenGraph
from api.access.sight import Sight
from api.desk.desk import Desk
from api.desk.draft_states import refuse_unknown
from api.desk.parameters import list_parameters
from api.desk.sights import Sights
from api.desk.states import LANGUAGE, NOW, READ_ASIDE, State, StateAsked, check_language
from api.errors import ParameterError, WrongParameter
from api.http.quick_response import add_headers, change_headers
from api.json_text import to_json
from api.questions import list_questions
from api.settings import Settings
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

#: Under which name an application keeps its desk among its extensions.
EXTENSION: Final = "newel"
#: Methods that change nothing (RFC 9110, section 9.2.1).
SAFE_METHODS: Final = ("GET", "HEAD", "OPTIONS")
#: What one must be allowed to do to see drafts.
_KEEPS_DRAFTS: Final = Right(Kind.FRAMEWORK, Verb.CHANGE)
#: What the blueprints of questions are called, before their kind of subject.
QUESTIONS: Final = "questions about "
_FORMS: Final = "record-forms"
_ACCEPTED: Final = "Accept-Language"
#: Where the framework is changed: pages whose fields hold the texts of the main language.
_IN_MAIN: Final = frozenset({_FORMS, "drafts", "loads", "releases", "requirement-sheet", "retire"})
#: What of the API is read, beside answers.
_READ: Final = frozenset({"history", "pictures"})
#: What can be changed in a draft: records over REST, and in forms.
_IN_DRAFTS: Final = frozenset({*(name.replace("_", "-") for name in TABLES), _FORMS, "requirement-sheet"})


#: Returns the request itself: each use of `flask.request` looks it up anew, which adds up in a quick answer.
get_request: Final[Callable[[], Request]] = cast("LocalProxy[Request]", request)._get_current_object
_get_g: Final[Callable[[], object]] = cast("LocalProxy[object]", g)._get_current_object
_get_app: Final[Callable[[], Flask]] = cast("LocalProxy[Flask]", current_app)._get_current_object


def get_kept() -> dict[str, Any]:
    """Return what is kept with the request until it is answered, without the way through `flask.g`."""
    return vars(_get_g())


def get_extensions() -> dict[str, Any]:
    """Return what the application keeps, without the way through `flask.current_app`."""
    return _get_app().extensions


def get_graph() -> RecordGraph:
    """Return the live graph this application serves, or the draft of it that is asked, as who asks may change it."""
    desk = get_desk()
    sight = desk.find_sight()
    asked = read_state_asked(get_request())
    if asked.draft:
        desk.get_state()  # refuses a draft that is none, or may not be seen
        draft = DraftGraph(desk.graph, asked.draft)
        return draft if sight is None else SeenGraph(draft, sight)
    return desk.graph if sight is None else SeenGraph(desk.graph, sight)


def get_settings() -> Settings:
    """Return the application's settings."""
    return get_desk().settings


def get_desk() -> RequestDesk:
    """Return the desk that answers for this application."""
    desk: RequestDesk = _get_app().extensions[EXTENSION]
    return desk


def get_snapshot() -> Snapshot:
    """Return the one Snapshot this request is answered from."""
    return get_desk().get_state().snapshot


#: Writes that an actor is told of people, by the kind of answer.
Note = Callable[[Actor, str, frozenset[str]], None]


class RequestDesk(Desk):
    """The desk of an application: the state that is asked is the one that the request names, as who asks may see it.

    `find_sight` returns what who asks may see; None: all. `note` writes who is told of whom.
    """

    def __init__(
        self, graph: LiveGraph, settings: Settings, version: str, find_sight: Callable[[], Sight | None], note: Note
    ) -> None:
        super().__init__(graph, settings, version)
        self.sights = Sights()
        self._find_sight = find_sight
        self._note = note

    def note_look(self, actor: Actor, what: str, people: frozenset[str]) -> None:
        """Write, before it leaves, that an actor is told of people."""
        self._note(actor, what, people)

    def find_sight(self) -> Sight | None:
        """Return what who asks may see; None: all, also outside a request."""
        return self._find_sight() if has_request_context() else None

    def choose_state(self, asked: StateAsked = NOW) -> State:
        """Return a state as who asks may see it, whatever the request names."""
        sight = self.find_sight()
        if asked.draft and sight is not None and decide(sight.actor, _KEEPS_DRAFTS) != "rows":
            if sight.actor.is_signed_in:
                raise refuse_unknown(asked.draft)
            asked = NOW  # whoever has not signed in is told nothing, of any state
        if asked is NOW:
            today = self.get_today() if sight is None else sight.today
            return self.sights.see(self.graph.get_snapshot(), today, sight, super().get_state)
        state = super().get_state(asked)
        return state if sight is None else state.see(sight)

    def get_state(self, asked: StateAsked = NOW) -> State:
        """Return the state asked, or else the one that this request asks; a request that reads sees one state only."""
        if asked is not NOW or not has_request_context():
            return self.choose_state(asked)
        kept = get_kept()
        state: State | None = kept.get("state")
        if state is None:
            named = get_request()
            state = _choose_read_state(self, named)
            if named.method in SAFE_METHODS:
                kept["state"] = state
        return state


def is_read_in_languages(request: Request) -> bool:
    """Whether what a request asks for is read in any language: answers, their pictures, pages.

    Records are not: who sends back what was read in another language would overwrite them. No more are forms.
    """
    if request.path.startswith("/api/"):
        return is_read(request.blueprint or "")
    return request.blueprint not in _IN_MAIN


def is_about_languages(path: str) -> bool:
    """Whether an address asks for a language as something else than the one to read in: it is what it is about."""
    return path.removeprefix("/api") in _list_about_languages()


@cache
def _list_about_languages() -> frozenset[str]:
    asked = {
        question.get_path(kind, "")
        for question in list_questions()
        for kind, asks in question.asks.items()
        if any(parameter.name == LANGUAGE for parameter in list_parameters(asks))
    }
    tables = {table.name for table in TABLES.values() if any(column.name == LANGUAGE for column in table.columns)}
    return frozenset(asked | {f"/{name}" for name in tables if name != "framework"})


def is_read(blueprint: str) -> bool:
    """Whether what a blueprint of the API answers is read in any language."""
    return blueprint in _READ or blueprint.startswith(QUESTIONS)


def _choose_read_state(desk: RequestDesk, request: Request) -> State:
    """Return the state that a request asks, in the language in which it is read."""
    asked = read_state_asked(request)
    if not is_read_in_languages(request):
        check_language(asked.language)
        state = desk.choose_state(replace(asked, language="") if asked.language else asked)
        return state if state.reading is None else replace(state, reading=None)
    accepted = "" if asked.language else request.environ.get("HTTP_ACCEPT_LANGUAGE", "")
    return desk.choose_state(replace(asked, accepted=accepted) if accepted else asked)


def read_state_asked(request: Request) -> StateAsked:
    """Return which state, and which language, the address of a request asks; ParameterError where it says so twice."""
    query = request.query_string
    # most ask the present one, and reading the parameters a second way costs as much as a short answer
    if b"as_of" not in query and b"draft" not in query and b"language" not in query and b"%" not in query:
        return NOW
    aside = READ_ASIDE - {LANGUAGE} if is_about_languages(request.path) else READ_ASIDE
    given = {name: request.args.getlist(name) for name in aside}
    twice = [
        WrongParameter(name, ", ".join(texts), "is given twice") for name, texts in given.items() if len(texts) > 1
    ]
    if twice:
        raise ParameterError(*twice)
    empty = [WrongParameter(name, "", "is empty") for name, texts in given.items() if texts == [""]]
    if empty and request.path.startswith("/api"):
        raise ParameterError(*empty)
    found = {name: texts[0] for name, texts in given.items() if texts and texts[0]}
    return StateAsked(**found) if found else NOW


def require_present_state() -> None:
    """Refuse to change anything on another state than the present one, but for records of a draft.

    Nor does a program change anything in a language: a record holds the main one, and its translations by themselves.
    """
    request = get_request()
    if request.method in SAFE_METHODS:
        return
    named = read_state_asked(request)
    if named.language and request.path.startswith("/api/"):
        raise ParameterError(WrongParameter(LANGUAGE, named.language, "cannot go with a change"))
    if set(named.texts) == {"draft"} and request.blueprint in _IN_DRAFTS:
        table = (
            (request.endpoint or "").rpartition("-")[2] if request.blueprint == "record-forms" else request.blueprint
        )
        if (table or "").replace("-", "_") in PERSONAL_TABLES:
            reason = "cannot go with a table about people: a draft holds none"
            raise ParameterError(WrongParameter("draft", named.draft, reason))
        return
    wrong = [WrongParameter(name, text, "cannot go with a change") for name, text in named.texts.items()]
    if wrong:
        raise ParameterError(*wrong)


def tell_state(response: Response) -> Response:
    """Tell in headers in which language, and of which state where that is not the present one, this answers."""
    state = cast("State | None", getattr(g, "state", None))
    if state is not None and state.told is not None:
        response.headers["Newel-State"] = json.dumps(to_json(state.told))
    if state is not None and state.reading is not None and response.status_code < HTTPStatus.BAD_REQUEST:
        if response.status_code != HTTPStatus.NOT_MODIFIED:
            add_headers(response, (("Content-Language", state.reading.language),))
        if not state.reading.asked:
            change_headers(response, _BY_LANGUAGE)
    if response.status_code == HTTPStatus.SEE_OTHER:
        kept = _list_kept(state)
        if kept:
            address, mark, part = response.headers["Location"].partition("#")
            response.headers["Location"] = f"{address}{'&' if '?' in address else '?'}{urlencode(kept)}{mark}{part}"
    return response


@lru_cache
def _hang_on_language(told: str) -> str:
    return told if _ACCEPTED in told else f"{told}, {_ACCEPTED}" if told else _ACCEPTED


_BY_LANGUAGE: Final = (("Vary", _hang_on_language),)


def _list_kept(state: State | None) -> dict[str, str]:
    """Return what stays in the address of who is sent on: the draft that was changed, the language that it names."""
    if get_request().method in SAFE_METHODS:
        asked = StateAsked(language=state.reading.asked) if state is not None and state.reading is not None else NOW
    else:
        asked = read_state_asked(get_request())
    kept = asked.texts if asked.draft else {}
    return {**kept, LANGUAGE: asked.language} if asked.language else kept
