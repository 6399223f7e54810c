"""A question as it is put to the desk, and what the desk says to it."""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from api.access.actor import Actor
from api.access.check import could, decide
from api.access.figures import tell_plainly
from api.access.rights import Verb
from api.desk.named_states import NamedStates
from api.desk.names import Names, count
from api.desk.question import Act, Question, Subject
from api.desk.sheet import Sheet
from api.desk.states import State
from api.errors import FiguresAloneError
from api.json_text import get_members

#: What a time limit cut short.
_UNFINISHED: Final = ("feasible", "cut-short")


@dataclass(frozen=True, slots=True)
class Enquiry:
    """A question put to the desk: checked, and with nothing left open."""

    actor: Actor
    state: State
    question: Question
    subject: Subject
    asked: Any
    is_in_figures: bool = False
    #: Those that parameters name.
    states: NamedStates = field(default_factory=dict)
    #: By form, as the desk makes them.
    tags: dict[str, str] = field(init=False, default_factory=dict, compare=False, repr=False)

    @property
    def texts(self) -> dict[str, str]:
        """What is asked, as in an address, defaults left out."""
        texts: dict[str, str] = self.asked.texts
        return texts

    @property
    def all_states(self) -> tuple[State, ...]:
        """The state that is asked, and those that parameters name."""
        return (self.state, *(named.state for named in self.states.values()))

    @property
    def leads(self) -> str:
        """Who leads which team, where the answer names them."""
        sight = self.state.sight
        return repr(sorted(sight.leads.items())) if sight and self.question.name_leads is not None else ""

    @property
    def key(self) -> Hashable:
        """What tells the answer from all others while a program runs: all that its tags hang on, none of it a text."""
        states = tuple([state.parts for state in self.all_states])
        return self.question.name, self.subject, self.asked, states, self.actor.key, self.leads


def require_people(enquiry: Enquiry) -> None:
    """Raise FiguresAloneError where a picture or file of people is wanted and figures alone are told."""
    if enquiry.is_in_figures:
        path = enquiry.question.get_path(enquiry.subject.kind, enquiry.subject.id)
        raise FiguresAloneError(f"It would show people, whom you may not see: /api{path} tells the figures.")


@dataclass(frozen=True, slots=True)
class Answer:
    """What the desk says.

    `hidden`: of how many people of which team it does not tell, `told` whom it does; `remarks` are of all of it.
    """

    enquiry: Enquiry
    result: Any
    hidden: Mapping[str, int] = field(default_factory=dict)
    told: frozenset[str] = frozenset()
    remarks: tuple[str, ...] = ()

    @property
    def record(self) -> Any:
        """What of the result the answer holds."""
        return self.enquiry.question.tell(self.result)

    @property
    def members(self) -> dict[str, Any]:
        """The answer as the JSON object has it: opening, result, revision, cautions; rows stay records."""
        enquiry = self.enquiry
        opening = enquiry.question.open_answer(enquiry.subject, enquiry.asked)
        members = opening | get_members(self.record) | {"revision": enquiry.state.snapshot.revision}
        state = enquiry.state
        remarks = (*state.remarks, *self.remarks)
        if remarks:
            members["remarks"] = [*remarks, *members.get("remarks", ())]
        if state.told is not None:
            members["state"] = state.told
        if self.hidden:
            members["hidden"] = dict(self.hidden)
        members["cautions"] = list(self.cautions)
        return tell_plainly(members) if enquiry.is_in_figures else members

    @property
    def cautions(self) -> tuple[str, ...]:
        """What it must not be taken for; first, that it is of another state than the present one."""
        return (*self.enquiry.state.cautions, *self.enquiry.question.cautions)

    @property
    def is_final(self) -> bool:
        """Whether asking again says the same; what a time limit cut short may come out better next time."""
        return getattr(self.record, "status", "") not in _UNFINISHED

    @property
    def names(self) -> Names:
        """The names of the records it speaks of."""
        return Names(self.enquiry.state.snapshot)

    def may_carry_out(self, act: Act) -> bool:
        """Whether who asked may change what an act makes; of each record it is asked again when it is written."""
        actor, sight, person = self.enquiry.actor, self.enquiry.state.sight, self.enquiry.subject.person_id
        if sight is None:
            return True
        if person is None:
            return could(actor, act.makes, Verb.CHANGE)
        return decide(actor, sight.build_right(act.makes, Verb.CHANGE, person=person)) == "rows"

    def build_sheet(self) -> Sheet:
        """Return what a person sees of it."""
        enquiry = self.enquiry
        figures = enquiry.question.figures if enquiry.is_in_figures else None
        show = enquiry.question.show if figures is None else figures.show
        sheet = show(self.result, enquiry.subject, enquiry.asked, self.names)
        state = enquiry.state
        own = sheet.remarks or map(self.names.put_in, getattr(self.record, "remarks", ()))
        remarks = (*state.remarks, *self.remarks, *own, *self._tell_hidden())
        asked_next = sheet.next
        if state.told is not None:
            asked_next = tuple(dataclasses.replace(ask, asked={**ask.asked, **state.asked.texts}) for ask in sheet.next)
        title, lead = (text[:1].upper() + text[1:] for text in (sheet.title, sheet.lead))
        told: dict[str, Any] = {"title": title, "lead": lead, "next": asked_next}
        return dataclasses.replace(sheet, remarks=remarks, cautions=self.cautions, **told)

    def _tell_hidden(self) -> Iterator[str]:
        """Yield how many people it does not tell of, team by team."""
        for team, n in self.hidden.items():
            of = self.names.team(team) if team in self.enquiry.state.snapshot.teams else "other teams"
            yield f"{count(n, 'person', 'people')} of {of} {'is' if n == 1 else 'are'} not told: you may not see them."
