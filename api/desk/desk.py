"""The desk: the only place that answers. Rights, the state asked, today, limits, the gate and the cache live here.

A face (HTTP, terminal, page) reads what is asked, hands it in, and writes what comes back.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Final

from api.access.actor import Actor
from api.access.reduce import Told, reduce_result
from api.access.seen_graph import SeenGraph
from api.access.sight import Sight
from api.desk.answer import Answer, Enquiry
from api.desk.answer_cache import AnswerCache
from api.desk.completing import complete
from api.desk.draft_states import choose_draft, find_draft_asked, is_answerable, require_answerable
from api.desk.extents import find_extent
from api.desk.found import FoundAnswers
from api.desk.gate import SlowGate
from api.desk.in_figures import compute_in_figures, require_askable, tell_remark
from api.desk.named_leads import name_leads
from api.desk.named_states import NamedStates, find_named_states
from api.desk.parameters import Asks, find_unknown_ids
from api.desk.question import DRAFT, Act, Question, Subject
from api.desk.states import NOW, State, StateAsked, choose_state
from api.errors import ParameterError
from api.json_text import dump_json
from api.settings import Settings
from ontology.errors import ForbiddenError, InputError, UnknownIdError

if TYPE_CHECKING:  # a live graph brings the checks and the store; a desk only needs its Snapshot
    from ontology.live.live_graph import LiveGraph

#: Texts of which it is kept whom they tell of; one set of a team takes about a kilobyte.
_MOST_TOLD: Final = 10_000
#: Results of slow and of quick questions that are kept for their other forms and for pages.
_MOST_FOUND: Final = (32, 64)

__all__ = ["Answer", "Desk", "Enquiry", "State", "get_utc_day"]

#: A question whose parameters name no state.
NO_STATES: Final[NamedStates] = {}


def get_utc_day() -> dt.date:
    """Return today's date, UTC."""
    return dt.datetime.now(dt.UTC).date()


class Desk:
    """Answers questions about one live graph, which the caller keeps open.

    `version` is the program's: another one may answer otherwise.
    """

    def __init__(self, graph: LiveGraph, settings: Settings, version: str = "") -> None:
        self.graph = graph
        self.settings = settings
        self._version = version
        self.gate = SlowGate(settings.slow_computing_max, settings.slow_waiting_max, settings.time_limit_default_s)
        self._cache = AnswerCache(settings.answer_cache_bytes)
        self._found = FoundAnswers(*(_MOST_FOUND if settings.answer_cache_bytes else (0, 0)))
        #: Tag of what is kept -> whom it tells of.
        self._told: dict[str, frozenset[str]] = {}

    def find_sight(self) -> Sight | None:
        """Return what who asks may see; None: all, whoever has the desk by itself being its owner."""
        return None

    def note_look(self, actor: Actor, what: str, people: frozenset[str]) -> None:
        """Note, before it leaves, that an actor is told of people; who has the desk by itself keeps no such log."""

    def get_today(self) -> dt.date:
        """Return the day on which the present state is asked."""
        return get_utc_day()

    def get_state(self, asked: StateAsked = NOW) -> State:
        """Return the state that is asked, in its language; InputError where there is none, or it cannot be shown."""
        choose = choose_draft if asked.draft else choose_state
        return choose(self.graph, asked, get_utc_day()).read_in(asked)

    def require_subject(self, state: State, subject: Subject) -> None:
        """Raise UnknownIdError where there is no such subject."""
        table = subject.kind.value
        if subject.kind is DRAFT:
            self.graph.drafts.get(subject.id)
        elif table and subject.id not in getattr(state.snapshot, table):
            raise UnknownIdError(table, subject.id)

    def receive(
        self,
        actor: Actor,
        state: State,
        question: Question,
        subject: Subject,
        asked: Asks,
        known: NamedStates = NO_STATES,
    ) -> Enquiry:
        """Return a question as it will be answered; `known` are states that its parameters name and that are at hand.

        Raises
        ------
        ForbiddenError
            The actor may not ask this.
        UnknownIdError
            There is no such subject.
        ParameterError
            A limit is too high, an id in a parameter is unknown, or parameters do not go together.
        """
        self.require_subject(state, subject)
        if state.asked.draft:
            require_answerable(self.graph, state, question.name)
        extent = find_extent(actor, state, question, subject, asked)
        if extent is None:
            raise ForbiddenError("You may not ask this.")
        asked = complete(asked, state.today, self.settings)
        if extent == "figures":
            require_askable(state, question, subject, asked, self.settings.small_group)
        wrong = find_unknown_ids(state.snapshot, asked)
        if wrong:
            raise ParameterError(*wrong)
        asked.check(state.snapshot)
        present = state.in_main() if question.is_in_main else state
        states = find_named_states(self.graph, present, asked, self.get_state, known)
        if subject.kind is DRAFT:
            draft = find_draft_asked(self.graph, present, question.name, subject.id, self.get_state)
            states = {**states, "draft": draft}
        return Enquiry(actor, state, question, subject, asked, extent == "figures", states)

    def may_ask(
        self, actor: Actor, state: State, question: Question, subject: Subject, asked: Asks | None = None
    ) -> bool:
        """Whether an actor may ask this of a state, is told of people, and it can be answered on it.

        Otherwise as `find_extent`.
        """
        if not is_answerable(self.graph, state, question.name):
            return False
        return find_extent(actor, state, question, subject, asked) == "rows"

    def get_tag(self, enquiry: Enquiry, form: str) -> str:
        """Return what stands for an answer in one form: the same tag, the same bytes.

        It covers the question, what is asked, the state and its day, the program, and what the actor may see.
        """
        tag = enquiry.tags.get(form)
        if tag is None:
            tag = enquiry.tags[form] = self._make_tag(enquiry, form)
        return tag

    def _make_tag(self, enquiry: Enquiry, form: str) -> str:
        question = f"{enquiry.subject.kind.value}/{enquiry.subject.id}/{enquiry.question.name}"
        texts = "&".join(f"{name}={text}" for name, text in enquiry.texts.items())
        states = " ".join(state.key for state in enquiry.all_states)
        whole = "\n".join((question, texts, form, f"{states} {self._version}", enquiry.actor.key, enquiry.leads))
        return hashlib.sha256(whole.encode()).hexdigest()[:32]

    def tag_record(self, state: State, subject: Subject, more: str, actor: Actor, form: str) -> str:
        """Return what stands for a record in one form, and with `more` that changes how it is shown."""
        snapshot = state.snapshot
        of_state = (snapshot.store_id, f"{snapshot.revision}{state.own_key}")
        parts = (f"{subject.kind.value}/{subject.id}", more, form, *of_state)
        return hashlib.sha256("\n".join((*parts, self._version, actor.key)).encode()).hexdigest()[:32]

    def answer(self, enquiry: Enquiry) -> Answer:
        """Return the answer; a slow one may have to wait for its turn.

        Raises
        ------
        BusyError
            Too many wait already, or who asks has two under way.
        InputError
            The question cannot be answered as asked.
        """
        if not enquiry.question.is_slow:
            return self.hand_out(self._found.find_or_make(enquiry, self._compute), enquiry.actor)
        answer = self._found.find(enquiry)
        if answer is None:
            with self.gate.enter(enquiry.actor.account):
                answer = self.compute(enquiry)
        return self.hand_out(answer, enquiry.actor)

    def hand_out(self, answer: Answer, actor: Actor) -> Answer:
        """Return an answer to who asked it, which is noted first."""
        if answer.told:
            self.note_look(actor, answer.enquiry.question.title, answer.told)
        return answer

    def compute(self, enquiry: Enquiry) -> Answer:
        """Return the answer, without whom the actor may not see; a slow one has its place in the gate already."""
        return self._found.find_or_make(enquiry, self._compute) if enquiry.question.is_slow else self._compute(enquiry)

    def _compute(self, enquiry: Enquiry) -> Answer:
        question, state = enquiry.question, enquiry.state
        read = state.in_main() if question.is_in_main else state
        if enquiry.is_in_figures:
            least = self.settings.small_group
            figures = compute_in_figures(read, question, enquiry.subject, enquiry.asked, least, enquiry.states)
            return Answer(enquiry, figures.result, told=figures.told, remarks=(tell_remark(least),))
        snapshot = read.snapshot if question.is_of_seen else read.get_whole()
        named = (enquiry.states,) if enquiry.states else ()
        result = question.compute(snapshot, enquiry.subject, enquiry.asked, *named)
        if state.sight is None or not question.is_about_people:
            return Answer(enquiry, result)
        known: dict[str, Told] = state.snapshot.keep("texts as they are told", dict)
        reduced = reduce_result(result, state.unseen, state.named, known)
        if reduced.result is None:
            raise ForbiddenError("You may not ask this.")
        told_of, answered = reduced.told | {enquiry.subject.person_id or ""}, reduced.result
        if question.name_leads is not None:
            answered, leads = name_leads(question.name_leads, answered, state.sight)
            told_of |= leads
        return Answer(enquiry, answered, state.sight.find_teams_of(reduced.gone), told_of)

    def ask(
        self,
        actor: Actor,
        state: State,
        question: Question,
        subject: Subject,
        asked: Asks,
        known: NamedStates = NO_STATES,
    ) -> Answer:
        """Receive a question and answer it."""
        return self.answer(self.receive(actor, state, question, subject, asked, known))

    def carry_out(self, answer: Answer, act: Act, said: Mapping[str, str], *, who: str) -> int:
        """Make the change that an answer stands for, in one commit; return how many records it wrote.

        `said` are texts that the act writes down with it, `who` is who the history says did it.

        Raises
        ------
        StaleError
            The store has changed since the question was answered: nothing is written.
        FindingsError
            The records break a rule: nothing is written.
        InputError
            The question was asked on another state than the present one.
        ForbiddenError
            Who asked may not change these records: nothing is written.
        """
        if answer.enquiry.state.told is not None:
            (name, *_) = answer.enquiry.state.asked.texts
            raise InputError("Only what is asked of the present state can be carried out.", parameter=name)
        # brings the checks
        from ontology.live.live_graph import Change

        put = tuple(act.build(answer, said))
        if put:
            revision = answer.enquiry.state.snapshot.revision
            sight = answer.enquiry.state.sight
            graph = self.graph if sight is None else SeenGraph(self.graph, sight)
            graph.apply(Change(put=put), who=who, why=act.why, expected_revision=revision)
        return len(put)

    def keep(self, tag: str, make: Callable[[], bytes]) -> bytes:
        """Return what is kept under a tag; made, and kept from then on, where there is nothing yet."""
        content = self._cache.get(tag)
        if content is None:
            content = make()
            self._cache.put(tag, content)
        return content

    def _keep_told(self, tag: str, told: frozenset[str]) -> None:
        """Keep whom a text tells of as long as the text; where too many are kept, all texts go with them."""
        if len(self._told) >= _MOST_TOLD:
            self.forget()
        self._told[tag] = told

    def forget(self) -> None:
        """Let go of every answer that is kept."""
        self._cache.clear()
        self._told.clear()
        self._found.clear()

    def write_json(self, enquiry: Enquiry, tag: str) -> bytes:
        """Return the answer as JSON text; who asks the same again gets the text kept under the tag."""
        kept = None if enquiry.question.is_private else self._cache.get(tag)
        if kept is not None:
            told = self._told.get(tag)
            if told:
                self.note_look(enquiry.actor, enquiry.question.title, told)
            return kept
        # the text of a quick answer is kept: what it was made of need not be
        is_slow = enquiry.question.is_slow
        answer = self.answer(enquiry) if is_slow else self.hand_out(self.compute(enquiry), enquiry.actor)
        content = dump_json(answer.members)
        if answer.is_final and not enquiry.question.is_private:
            if answer.told:
                self._keep_told(tag, answer.told)
            self._cache.put(tag, content)
        return content
