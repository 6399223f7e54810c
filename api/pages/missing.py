"""What is missing for a role: the figures, what to assess first, each level with what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from api.desk.desk import Answer
from api.desk.names import Names, count
from api.desk.sheet import Ref
from api.pages.addresses import build_address
from api.pages.first_words import find_first_words
from api.pages.level_table import write_level_rows
from api.pages.page import Link, Page
from ontology.analysis.profiles.gap import GapResult
from ontology.analysis.profiles.known_levels import PersonLevels
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MissingView", "build_view", "describe_missing"]


@dataclass(frozen=True, slots=True)
class MissingView:
    """All that stands on the page; `rows` are levels as they are written, `proofs` certificates to show, `assess` the
    rest never assessed.
    """

    title: str
    name: str
    role: Ref
    lead: str
    unmet: int
    rows: tuple[str, ...]
    proofs: tuple[Ref, ...]
    assess: tuple[Ref, ...]
    readiness: str


def build_view(gap: GapResult, levels: PersonLevels, snapshot: Snapshot) -> MissingView:
    """Return what stands on the page of a gap; `levels` are those beside the same role on the same day."""
    names = Names(snapshot)
    lead = tell_missing(gap, names)
    first = [Ref("competencies", i, names.competency(i)) for i in gap.assess_first]
    proofs = tuple(ref for ref in first if names.is_certificate(ref.id))
    return MissingView(
        title=find_first_words(lead),
        name=names.person(levels.person),
        role=Ref("roles", gap.role, names.role(gap.role)),
        lead=lead,
        unmet=sum(row.gap > 0 for row in gap.gaps),
        rows=write_level_rows(levels.asked, snapshot, names),
        proofs=proofs,
        assess=tuple(ref for ref in first if ref not in proofs),
        readiness="" if gap.readiness is None else f"{gap.readiness:.2f}",
    )


def tell_missing(gap: GapResult, names: Names) -> str:
    """Return what blocks, what is essential, and how much is to be assessed first."""
    role = names.role(gap.role)
    if not gap.gaps:
        return f"{role} asks for nothing, so nothing is missing."
    if not any(row.gap for row in gap.gaps):
        return f"Nothing is missing for {role}: everything it asks is held at full level."
    blocking = sum(row.necessity == "blocking" for row in gap.gaps)
    told = []
    if blocking:
        block = "blocks" if blocking == 1 else "block"
        told.append(f"{gap.blocking_unmet} of {blocking} that {block} {_be(gap.blocking_unmet)} not met")
    if gap.essential_total:
        told.append(f"{gap.essential_met} of {gap.essential_total} essential {_be(gap.essential_met)} met")
    n = len(gap.assess_first)
    first = f"; {count(n, 'competency has', 'competencies have')} to be assessed first" if n else ""
    return f"For {role} {' and '.join(told) or 'only desirable competencies are short'}{first}."


def _be(number: int) -> str:
    return "is" if number == 1 else "are"


def describe_missing(view: MissingView, answer: Answer, *, is_self: bool, has_role: bool) -> Page:
    """Return the page; `answer` is that of the question "gap", `has_role`: the person has this role already."""
    enquiry = answer.enquiry
    person = enquiry.subject.id
    aim = {"role": answer.result.role}
    values: dict[str, Any] = {
        "view": view,
        "is_self": is_self,
        "onward": "" if has_role else build_address("people", person, "routes", {"to": answer.result.role}),
        "plan": build_address("people", person, "schedule", aim),
        "same": build_address("people", person, "gap", enquiry.texts),
        "on": enquiry.asked.on,
        "cautions": enquiry.question.cautions,
        "remarks": tuple(map(answer.names.put_in, answer.result.remarks)),
        "revision": enquiry.state.snapshot.revision,
    }
    first = Link("Where I stand" if is_self else view.name, build_address("people", person, ""))
    trail = (first, Link("Choose a role", build_address("people", person, "roles")))
    return Page("missing.html", values, way="stand", trail=trail)
