"""A question, described once: of what it is asked, what it may be asked, what answers it, and how people see that.

Every face (address, OpenAPI document, command, page, workbook, tests) is made from this description.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from enum import Enum
from typing import Any, Final, Literal

from api.access.rights import Kind
from api.access.sight import Sight
from api.desk.names import Names
from api.desk.parameters import Asks
from api.desk.sheet import Next, Sheet
from ontology.snapshot.snapshot import Snapshot


class SubjectKind(Enum):
    """What a question can be asked of; the value is the table whose ids name it, "" for the company as a whole.

    Drafts are no table: what is asked of one is asked of the present state and of the draft on it.
    """

    PERSON = "people"
    ROLE = "roles"
    COMPETENCY = "competencies"
    COURSE = "courses"
    SESSION = "sessions"
    TEAM = "teams"
    PLACE = "places"
    DRAFT = "drafts"
    COMPANY = ""

    @property
    def word(self) -> str:
        """The word for one of them."""
        return self.name.lower()


PERSON: Final = SubjectKind.PERSON
ROLE: Final = SubjectKind.ROLE
COMPETENCY: Final = SubjectKind.COMPETENCY
COURSE: Final = SubjectKind.COURSE
SESSION: Final = SubjectKind.SESSION
TEAM: Final = SubjectKind.TEAM
PLACE: Final = SubjectKind.PLACE
DRAFT: Final = SubjectKind.DRAFT
COMPANY: Final = SubjectKind.COMPANY


@dataclass(frozen=True, slots=True)
class Subject:
    """Of what a question is asked; `id` is "" for the company."""

    kind: SubjectKind
    id: str = ""

    @property
    def person_id(self) -> str | None:
        """The person's id, where it is one."""
        return self.id if self.kind is PERSON else None

    @property
    def role_id(self) -> str | None:
        """The role's id, where it is one."""
        return self.id if self.kind is ROLE else None


#: A member that stands in an answer before those of its result: whose levels are the start, the role, the day.
Opening = Literal["profile", "role", "on"]


#: (result, what tells the names of who leads a team) -> the result with them.
NameLeads = Callable[[Any, Callable[[str], tuple[str, ...]]], Any]


@dataclass(frozen=True, slots=True)
class FileForm:
    """Another form of an answer: its media type, and what makes its bytes of the answer (a `desk.Answer`)."""

    media_type: str
    build: Callable[[Any], bytes]


@dataclass(frozen=True, slots=True)
class InFigures:
    """How an answer is told to who may see figures and nobody's name.

    `show` makes the sheet of a result without persons, `prepare` what is told of the whole result where nobody is
    named, `refuses` names what may not be asked besides days and people. With `keep_named` those are named whom who
    asks may see all the same: of the whole result, what they see, the least size and whether no figure is told, it
    makes what is told. `is_of_all`: it counts the people of all teams and names nobody, so that who leads some teams is
    told it in figures, too.
    """

    show: Callable[[Any, Subject, Any, Names], Sheet]
    prepare: Callable[[Any, int], Any] = lambda result, least: result
    refuses: frozenset[str] = frozenset()
    keep_named: Callable[[Any, Sight | None, int, bool], Any] | None = None
    is_of_all: bool = False


@dataclass(frozen=True, slots=True)
class Act:
    """What an answer can be carried out as: one change of the store, made for the very state that was asked.

    `about` is a sentence, `why` what the store's history says, `done` what is said afterwards of so many records.
    `build` makes the records of the answer (a `desk.Answer`) and what is said with the act, each with the name of its
    table. `button` is what a person presses; `says` are the texts that may be said with it, by name; `is_offered` tells
    whether this answer has anything to carry out, `leads_to` where one sees what was done. `makes` is of which kind its
    records are in the table of rights: who carries it out must be allowed to change these.
    """

    about: str
    why: str
    done: Callable[[int], str]
    build: Callable[[Any, Mapping[str, str]], Sequence[tuple[str, Any]]]
    button: str
    is_offered: Callable[[Any], bool]
    leads_to: Callable[[Any], Next]
    makes: Kind
    says: Mapping[str, str] = field(default_factory=dict)


def _get_itself(result: Any) -> Any:
    return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Question:
    """What can be asked.

    Attributes
    ----------
    asks : Mapping of SubjectKind to type of Asks
        Of what it can be asked, and what may be said with it.
    answers : type
        The record that the answer holds.
    compute : callable
        (Snapshot, Subject, asked) -> result; pure. Where parameters name states, these come last, by field; of a draft
        it is the state "draft".
    tell : callable
        result -> the record of type `answers`; left out where the result is that record.
    cautions : tuple of str
        What the answer must not be taken for.
    needs : Kind
        Of which kind it is in the table of rights; asked of a role it is about the framework alone.
    is_standing_for_own_role : bool
        Whether it tells where a person stands, and no exploration, for the role they hold or one of their team's.
    is_of_seen : bool
        Whether it is answered from what the actor may see alone: what is found tells by its number what there is.
    is_in_main : bool
        Whether it judges texts, or compares states: it is worked out in the main language, whichever is read.
    show : callable
        (result, Subject, asked, Names) -> Sheet, without the cautions, which the desk adds.
    is_slow : bool
        Whether it waits its turn among the slow ones; then its asks have a time limit.
    is_private : bool
        Whether it belongs to one person: never kept, never shared.
    opening : tuple of str
        What stands before the result's members.
    draw : callable or None
        (Snapshot, Subject, asked, result, layout=, page=) -> DOT text.
    files : Mapping of form name to FileForm
    acts : Mapping of option to Act
    figures : InFigures or None
        How it is told in figures alone; None: not at all.
    no_figures : str
        What who may see figures alone is told instead of an answer that has none: why, and who is told.
    name_leads : callable or None
        Where it says whom to ask for people of other teams.
    segment : str
        The last part of its addresses; left out: its name. Questions of different kinds of subjects can share one.
    name, title : str
        As in commands, and in addresses unless `segment` says otherwise, and one sentence. Its file says both, by what
        it is called and by the first line of its docstring: whoever loads it fills them in.
    """

    asks: Mapping[SubjectKind, type[Any]]
    answers: type[Any]
    compute: Callable[..., Any]
    cautions: tuple[str, ...]
    needs: Kind
    show: Callable[[Any, Subject, Any, Names], Sheet]
    is_standing_for_own_role: bool = False
    is_of_seen: bool = False
    is_in_main: bool = False
    tell: Callable[[Any], Any] = _get_itself
    is_slow: bool = False
    is_private: bool = False
    opening: tuple[Opening, ...] = ()
    draw: Callable[..., str] | None = None
    files: Mapping[str, FileForm] = field(default_factory=dict)
    acts: Mapping[str, Act] = field(default_factory=dict)
    figures: InFigures | None = None
    no_figures: str = ""
    name_leads: NameLeads | None = None
    segment: str = ""
    name: str = ""
    title: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "segment", self.segment or self.name)

    @property
    def is_about_people(self) -> bool:
        """Whether an answer may tell of people."""
        return self.needs not in (Kind.FRAMEWORK, Kind.HISTORY_FRAMEWORK) or self.is_of_seen

    def get_kind(self, subject: SubjectKind, *, is_of_standing: bool = False) -> Kind:
        """Return of which kind it is, of a kind of subject; `is_of_standing`: for the role that a person holds."""
        if subject is ROLE:
            return Kind.FRAMEWORK
        return Kind.STANDING if is_of_standing and self.is_standing_for_own_role else self.needs

    def get_path(self, kind: SubjectKind, subject: str) -> str:
        """Return the path of its page, of a subject's id or what stands for it; with /api before it its answer's."""
        return f"/{self.segment}" if kind is COMPANY else f"/{kind.value}/{subject}/{self.segment}"

    def open_answer(self, subject: Subject, asked: Asks) -> dict[str, Any]:
        """Return the members that stand before those of the result."""
        members: dict[str, Any] = {}
        for name in self.opening:
            if name == "profile":
                # a role asked about "from" another starts at that one
                start = getattr(asked, "from_role", None) or subject.id
                members["person" if subject.kind is PERSON else "from_role"] = start
            elif name == "role":
                members["role"] = subject.id
            else:
                members["on"] = getattr(asked, "on")  # noqa: B009 - only some questions have a day
        return members


def by_names(analysis: Callable[..., Any], **renamed: str) -> Callable[[Snapshot, Subject, Any], Any]:
    """Return the `compute` of a question whose parameters are those of its analysis, by the same names.

    The analysis is given the Snapshot, the id of the subject unless that is the company, and every parameter; `renamed`
    says what it calls those that have another name there.
    """

    def compute(snapshot: Snapshot, subject: Subject, asked: Any) -> Any:
        about = () if subject.kind is COMPANY else (subject.id,)
        return analysis(snapshot, *about, **get_by_names(asked, renamed))

    return compute


def get_by_names(asked: Any, renamed: Mapping[str, str], of: Any = None) -> dict[str, Any]:
    """Return what is asked by the names that an analysis has for it; with `of` the parameters of that class alone."""
    return {renamed.get(field.name, field.name): getattr(asked, field.name) for field in fields(of or asked)}
