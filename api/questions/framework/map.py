"""Which concepts of an outside framework competencies may be mapped to, and as what."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter
from typing import Annotated, Final
from urllib.parse import urlencode

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.kinds import CompetencyId, OutsideId
from api.desk.named_states import NamedStates
from api.desk.names import Names, count
from api.desk.parameters import Asks, param
from api.desk.question import COMPANY, Question, Subject
from api.desk.sheet import ActLink, Cell, Next, Sheet
from ontology.analysis.likeness.proposals import LEAST, LIMIT, Proposal, find_proposals
from ontology.snapshot.names import get_framework_name
from ontology.snapshot.snapshot import Snapshot

_LOOK: Final = (
    "A proposal rests on names, on what they stand below and on definitions, and many are wrong: read both definitions "
    "before you take one."
)
_NO_PROOF: Final = "A mapping says nothing of people: who can do theirs has not been seen to do ours."
#: Rows on a sheet; all stand in the JSON and the workbook.
_SHOWN: Final = 200
_RELATIONS: Final = {
    "exact": "the same",
    "close": "nearly the same",
    "broad": "theirs is wider",
    "narrow": "theirs is narrower",
}


@dataclass(frozen=True, kw_only=True)
class AskMap(Asks):
    """Of which outside framework, for which competency, and how many."""

    framework: OutsideId = param("The id of the outside framework.", is_word=True)
    competency: CompetencyId | None = param("For this competency alone; left out: for each.", default=None)
    limit: int = param("Most proposals for one competency.", default=LIMIT, minimum=1, maximum=50)
    least: float = param("Least score, 0 to 1.", default=LEAST, minimum=0, maximum=1)


@dataclass(frozen=True, slots=True)
class MapResult:
    """What is proposed."""

    framework: Annotated[str, "The id of the outside framework."]
    concepts: Annotated[int, "How many competencies it has."]
    competencies: Annotated[int, "For how many of ours proposals were looked for."]
    proposed: Annotated[int, "For how many of them there is a proposal."]
    proposals: Annotated[tuple[Proposal, ...], "By competency, the best of each first."]


@dataclass(frozen=True, slots=True)
class Proposed:
    """The answer's record, and what the outside framework is called."""

    record: MapResult
    called: str


def compute(snapshot: Snapshot, company: Subject, asked: AskMap, states: NamedStates) -> Proposed:
    """Return the proposals."""
    outside = states["framework"].state.snapshot
    wanted = list(snapshot.competencies) if asked.competency is None else [asked.competency]
    found = find_proposals(snapshot, outside, asked.framework, wanted, limit=asked.limit, least=asked.least)
    record = MapResult(
        framework=asked.framework,
        concepts=len(outside.competencies),
        competencies=len(wanted),
        proposed=len({one.competency for one in found}),
        proposals=tuple(found),
    )
    return Proposed(record, get_framework_name(outside, asked.framework))


def show(answer: Proposed, company: Subject, asked: AskMap, names: Names) -> Sheet:
    """Return the proposals, each with what speaks for it and the form that takes or refuses it."""
    result, called = answer.record, answer.called
    shown = result.proposals[:_SHOWN]
    left = len(result.proposals) - len(shown)
    states = {"from": f"outside:{result.framework}", "to": "now"}
    return Sheet(
        title=f"What may be mapped to {called}",
        lead=_tell(result, called),
        parts=(
            build_table(
                "Proposed",
                shown,
                (
                    words("ours", lambda one: names.ref("competencies", one.competency)),
                    words("theirs", lambda one: one.label),
                    words("proposed as", lambda one: _RELATIONS[one.relation]),
                    number("how much speaks for it", lambda one: one.score, "0 to 1", decimals=2),
                    number("names", lambda one: one.text, "0 to 1", decimals=2),
                    number("what they stand below", lambda one: one.place, "0 to 1", decimals=2),
                    number("definitions", lambda one: one.meaning, "0 to 1", decimals=2),
                    words("what to do", lambda one: _link(result, one)),
                ),
                f"Nothing in {called} is much like it.",
                f"{count(left, 'more proposal')}: ask for one competency, or for a higher least score." if left else "",
            ),
        ),
        next=(Next(f"How {called} and ours differ", "compare", "", states),),
    )


def _tell(result: MapResult, called: str) -> str:
    """Return how much is proposed."""
    among = f"of {count(result.concepts, 'competency', 'competencies')} of {called}"
    if not result.proposals:
        return f"None {among} is proposed."
    best = max(result.proposals, key=lambda one: one.score)
    ours = "1 competency" if result.proposed == 1 else f"{result.proposed:,} of {result.competencies:,} competencies"
    return f"{count(len(result.proposals), 'proposal')} for {ours}, {among}. Most like: {best.label}."


def _link(result: MapResult, one: Proposal) -> Cell:
    """Return the way to the form that maps it, or says that it is not to be, filled in."""
    filled = {
        "competency": one.competency,
        "target": one.target,
        "relation": one.relation,
        "framework": result.framework,
        "score": f"{one.score:g}",
    }
    return ActLink("Map or refuse", f"/new/mappings?{urlencode(filled)}")


QUESTION = Question(
    segment="mappings/proposals",
    asks={COMPANY: AskMap},
    answers=MapResult,
    compute=compute,
    tell=attrgetter("record"),
    cautions=(_LOOK, _NO_PROOF),
    needs=Kind.FRAMEWORK,
    is_slow=True,
    is_in_main=True,
    show=show,
)
