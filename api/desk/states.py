"""Which state of the store is asked: the present one, or a past one; and what an answer says of it.

`as_of` takes the whole store back; `people_as_of=now` keeps today's teams and people under the framework of then.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Final

from api.access.sight import Sight
from api.desk.language_ranges import look_up, read_accepted
from api.desk.names import count
from api.errors import ParameterError, WrongParameter
from ontology.errors import InputError
from ontology.model.tables import TABLES
from ontology.rdf.literals import is_language_tag
from ontology.snapshot.language_view import view_in
from ontology.snapshot.languages import get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # a live graph brings the checks and the store; a desk only needs its Snapshot
    from ontology.live.as_of import Moment
    from ontology.live.live_graph import LiveGraph
    from ontology.store.erasures import Erasures

#: Name in addresses -> what it says. No question names them.
STATE_PARAMETERS: Final[Mapping[str, str]] = {
    "as_of": (
        "The state that is asked: a revision (a number), a day (the last revision made before its end, UTC), the "
        "version of a release, or now. Levels are then judged on the day of that state."
    ),
    "people_as_of": "Goes with as_of. now: today's teams and people under the framework and courses of that state.",
    "draft": "A draft, seen on top of the present state: its values win. It does not go with as_of.",
}
#: In which language texts are read; no question names it, but one that is about languages.
LANGUAGE: Final = "language"
LANGUAGE_WORDS: Final = (
    "The language in which names and descriptions are read, as a tag (RFC 5646) that is looked up as RFC 4647, section "
    "3.4, says; what is not translated stays in the main language. It wins over Accept-Language."
)
#: What addresses of answers and pages say besides what is asked.
READ_ASIDE: Final = frozenset({*STATE_PARAMETERS, LANGUAGE})
_PRESENT: Final = "now"


@dataclass(frozen=True, slots=True)
class StateAsked:
    """Which state is asked, as in an address; empty: the present one.

    In which language it is read is no part of the state: `language` is a tag that is asked for, `accepted` what else is
    taken, as Accept-Language says it.
    """

    as_of: str = ""
    people_as_of: str = ""
    draft: str = ""
    language: str = ""
    accepted: str = ""

    @property
    def texts(self) -> dict[str, str]:
        """What is asked of states, by name in addresses; what is left out, is left out."""
        pairs = (("as_of", self.as_of), ("people_as_of", self.people_as_of), ("draft", self.draft))
        return {name: text for name, text in pairs if text}


NOW: Final = StateAsked()


@dataclass(frozen=True, slots=True)
class ToldState:
    """What an answer says of the state it was asked on, where that is not the present one."""

    as_of: Annotated[str | None, "How the state was asked for; null where a draft was."]
    draft: Annotated[str | None, "The draft it was asked on; null where there is none."]
    number: Annotated[int | None, "The number of the draft's last edit; null where there is none."]
    revision: Annotated[int, "The revision that the state is."]
    release: Annotated[str | None, "The release that names this revision; null where none does."]
    time: Annotated[str | None, "When the revision was made, as 2026-11-24T10:00:00Z; null before the first."]
    people_as_of: Annotated[str | None, "now: teams and people are those of today; null: those of the state."]


@dataclass(frozen=True, slots=True)
class Reading:
    """The language a state is read in: `asked` by name, "" where it is what is accepted; found, and the main one."""

    asked: str
    language: str
    main: str


@dataclass(frozen=True, slots=True)
class State:
    """The state of the store that is asked, and the day that is today in it.

    `told` is None for the present one; then there are no cautions, no remarks and no `bar`, which stands above a page.
    What the revision and the day do not say of it is in `own_key`. `snapshot` is what may be seen of it, `unseen` and
    `named` the people who may not and who may be told of; by itself a state is seen whole. `reading` tells the language
    where one could choose; then `origin` is the state in the main language, seen whole, unless that is the one.
    """

    snapshot: Snapshot
    today: dt.date
    told: ToldState | None = None
    asked: StateAsked = NOW
    cautions: tuple[str, ...] = ()
    bar: str = ""
    remarks: tuple[str, ...] = ()
    own_key: str = ""
    sight: Sight | None = None
    whole: Snapshot | None = None
    unseen: frozenset[str] = frozenset()
    named: frozenset[str] = frozenset()
    reading: Reading | None = None
    origin: State | None = None

    def read_in(self, asked: StateAsked) -> State:
        """Return the state, seen whole as yet, in the language asked for, or accepted, where it has texts in it.

        Where there are texts in the main language alone, and none is asked for, it stays as it is.

        Raises
        ------
        ParameterError
            What is asked for is no language tag.
        """
        check_language(asked.language)
        known = list_languages(self.snapshot)
        if not known and not asked.language:
            return self
        main = get_main_language(self.snapshot)
        ranges, refused = (
            ((asked.language.lower(),), frozenset[str]()) if asked.language else read_accepted(asked.accepted)
        )
        language = look_up(ranges, (main, *known), main, refused)
        reading = Reading(asked.language, language, main)
        if language == main:
            return replace(self, reading=reading)
        view, own_key = view_in(self.snapshot, language), f"{self.own_key} in {language}"
        return replace(self, snapshot=view, own_key=own_key, reading=reading, origin=self)

    def in_main(self) -> State:
        """Return the state in the main language, seen as this one is."""
        if self.origin is None:
            return self
        return self.origin if self.sight is None else self.origin.see(self.sight)

    def see(self, sight: Sight) -> State:
        """Return the state as it is seen by who has this sight."""
        whole = self.get_whole()
        seen = sight.look(whole)
        return replace(self, snapshot=seen.snapshot, sight=sight, whole=whole, unseen=seen.unseen, named=seen.named)

    def get_whole(self) -> Snapshot:
        """Return all of it, whatever may be seen: what answers are worked out of."""
        return self.snapshot if self.whole is None else self.whole

    @property
    def parts(self) -> tuple[str, int, dt.date, str]:
        """What tells the state from all others."""
        return self.snapshot.store_id, self.snapshot.revision, self.today, self.own_key

    @property
    def key(self) -> str:
        """The same as a text, for tags."""
        store_id, revision, today, own_key = self.parts
        return f"{store_id} {revision} {today}{own_key}"


def check_language(text: str) -> None:
    """Raise ParameterError where a text that names a language is no tag; an empty one names none."""
    if text and not is_language_tag(text):
        reason = "must be a language tag (RFC 5646), like de or pt-br"
        raise ParameterError(WrongParameter(LANGUAGE, text, reason))


def choose_state(graph: LiveGraph, asked: StateAsked, today: dt.date) -> State:
    """Return the state that is asked: the present one, or as of another.

    Raises
    ------
    InputError
        There is no such state, or it cannot be shown; the parameter is named.
    """
    present = graph.get_snapshot()
    if asked.people_as_of and asked.people_as_of != _PRESENT:
        raise ParameterError(WrongParameter("people_as_of", asked.people_as_of, "must be now"))
    if asked.people_as_of and asked.as_of in ("", _PRESENT):
        raise ParameterError(WrongParameter("people_as_of", asked.people_as_of, "goes with as_of, a state before now"))
    if asked.as_of in ("", _PRESENT):
        return State(present, today)
    moment = _find_moment(graph, asked.as_of, present, today)
    told = ToldState(
        as_of=asked.as_of,
        draft=None,
        number=None,
        revision=moment.revision,
        release=moment.release or None,
        time=format_time(moment.time),
        people_as_of=asked.people_as_of or None,
    )
    own_key = f" as of {asked.as_of} {moment.release}"
    if not asked.people_as_of:
        snapshot = graph.past.get_snapshot(moment.revision, present)
        bar = f"As of {_name(moment)}"
        caution = f"{bar}: what was recorded then, judged as it was seen then; not what holds now."
        missing = tuple(_tell_missing(graph.past.get_erasures(), moment.revision))
        return State(snapshot, moment.day, told, asked, (caution,), bar, missing, own_key)
    joined = graph.past.get_joined(moment.revision, present)
    bar = f"Framework and courses as of {_name(moment)}"
    caution = f"{bar}: teams and people are those of today."
    remarks = tuple(_tell_left_out(table, n) for table, n in joined.left_out)
    key = f"{own_key} people {present.revision}"
    return State(joined.snapshot, today, told, asked, (caution,), bar, remarks, key)


def format_time(time: dt.datetime | None) -> str | None:
    """Return a moment as answers tell it: 2026-11-24T10:00:00Z."""
    return time.strftime("%Y-%m-%dT%H:%M:%SZ") if time else None


def _find_moment(graph: LiveGraph, text: str, present: Snapshot, today: dt.date) -> Moment:
    try:
        return graph.past.find_moment(text, present, today)
    except InputError as error:
        wrong = ParameterError(WrongParameter("as_of", text, error.context.pop("reason")))
        wrong.context.update(error.context)
        raise wrong from None


def _name(moment: Moment) -> str:
    """Return "1.2, 24 November 2026": the release, or the revision, and its day."""
    day = moment.time.date() if moment.time else moment.day
    return f"{moment.release or f'revision {moment.revision}'}, {day.day} {day:%B %Y}"


def _tell_missing(erasures: Erasures, revision: int) -> Iterator[str]:
    n = erasures.count_missing(revision)
    if n:
        yield f"{count(n, 'person is', 'people are')} missing here: erased since."
    for table in erasures.list_removed_after(revision):
        words = table.replace("_", " ").capitalize()
        yield f"{words} whose time to be kept has passed are missing here."


def _tell_left_out(table: str, n: int) -> str:
    verb, they = ("is", "it names") if n == 1 else ("are", "they name")
    return f"{TABLES[table].count(n)} {verb} left out: {they} something, or a level, that was not there then."
