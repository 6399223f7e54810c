"""The page of a role: what it asks, as a picture and as a table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from api.desk.bounded import find_kept
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.sheet import KeptRow, Ref, Table
from api.pages.addresses import build_address, build_record_address
from api.pages.figure import Figure
from api.pages.framework_parts import (
    Fact,
    FrameworkView,
    Listing,
    Saying,
    build_listing,
    list_data,
    list_trail,
    narrow,
    tell_history,
    tell_level,
    tell_new,
)
from api.pages.page import Link, Page
from api.pictures.role import rank_requirements
from api.questions import _cautions as cautions
from ontology.analysis.profiles.similarity import SimilarRole
from ontology.model.records import Place, Requirement, Role
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOST_ALIKE", "RoleView", "build_view", "describe_role", "tell_role"]

#: Roles most like it that are named, and those it can be compared with at once.
MOST_ALIKE: Final = 3
#: Rows of the table; a role that asks for more is read as a list of its own.
_MOST_ROWS: Final = 80
#: Of so many roles the table is kept with a state.
_MOST_KEPT: Final = 200
_OTHER_ROLE: Final = "Similar requirements do not make two roles equal in pay, risk or legal duties."


@dataclass(frozen=True, slots=True, kw_only=True)
class RoleView(FrameworkView):
    """All that the page of a role shows; `compare` are the roles it can be compared with, the most alike first."""

    asks: Listing
    compare: tuple[Ref, ...]
    compare_at: str
    family: str
    cautions: tuple[str, ...]


def tell_role(role: Role, asked: Sequence[Requirement]) -> Saying:
    """Return the first sentences: what it is, how much it asks, when its full levels are normally reached."""
    definition = f"{role.definition} " if role.definition else ""
    if not asked:
        return Saying(f"{definition}It asks for nothing yet.")
    counts = Counter(requirement.necessity for requirement in asked)
    parts = []
    if n := counts["blocking"]:
        parts.append(f"{n} {'blocks' if n == 1 else 'block'}")
    if n := counts["essential"]:
        parts.append(f"{n} {'is' if n == 1 else 'are'} essential")
    if n := counts["desirable"]:
        verb = "" if counts["essential"] else "is " if n == 1 else "are "
        parts.append(f"{n} {verb}desirable")
    months = count(role.months_to_full, "month")
    full = f"after {months}" if role.months_to_full else "from the first day on"
    return Saying(
        f"{definition}Asks for ",
        count(len(asked), "competency", "competencies"),
        f": {', '.join(parts)}. Its full levels are normally reached {full}.",
    )


def build_view(
    snapshot: Snapshot, role_id: str, alike: Sequence[SimilarRole], places: Sequence[Place] | None
) -> RoleView:
    """Return what the page of a role shows.

    Parameters
    ----------
    snapshot : Snapshot
    role_id : str
        A role that exists.
    alike : sequence of SimilarRole
        Roles like it, the most alike first.
    places : sequence of Place or None
        Places that are filled by it; None for who may not see them.

    Notes
    -----
    O(k log k) for k requirements.
    """
    role, names = snapshot.require_role(role_id), Names(snapshot)
    asked = rank_requirements(snapshot, role_id)
    address = build_record_address("roles", role_id)
    return RoleView(
        name=names.role(role_id),
        lead=tell_role(role, asked),
        acts=(
            Link("Edit the role", f"/edit{address}"),
            Link("Edit what it asks", f"/edit{address}/requirements"),
            Link("Retire", f"/retire{address}"),
            *([Link("Compare with another role", "#compare")] if alike else []),
        ),
        facts=tuple(_list_facts(role, alike[:MOST_ALIKE], places, names)),
        asks=_build_asks(snapshot, role_id, asked, names),
        compare=tuple(Ref("roles", other.id, names.role(other.id)) for other in alike),
        compare_at=build_address("roles", role_id, "gap"),
        family=role.family,
        cautions=_choose_cautions(asked, alike),
        revision=snapshot.revision,
    )


def _list_facts(
    role: Role, alike: Sequence[SimilarRole], places: Sequence[Place] | None, names: Names
) -> Iterator[Fact]:
    family = Link(role.family, narrow("roles", family=role.family)) if role.family else None
    yield Fact("Family", ((family,),))
    if alike:
        nearest = [(Ref("roles", o.id, names.role(o.id)), f" {o.similarity:.2f}") for o in alike]
        all_of_them = Link("All roles like it", build_address("roles", role.id, "similar"))
        yield Fact("Roles most like it", (*nearest, (all_of_them,)))
    if places is not None:
        yield Fact("Filled as", tuple(_tell_places(places, names)) or (("no place",),))
    yield tell_history("roles", role.id)
    yield list_data("roles", role.id)


def _tell_places(places: Sequence[Place], names: Names) -> Iterator[tuple[str | Ref, ...]]:
    """Yield how many people the places of each team take, with the team."""
    taken: Counter[str] = Counter()
    for place in places:
        taken[place.team] += place.count
    for team, slots in sorted(taken.items(), key=lambda entry: names.team(entry[0])):
        yield f"{count(slots, 'place')}, ", Ref("teams", team, names.team(team))


def _build_asks(snapshot: Snapshot, role_id: str, asked: Sequence[Requirement], names: Names) -> Listing:
    kept: dict[str, Table] = snapshot.keep("tables of what roles ask", dict)
    table = find_kept(kept, role_id, _MOST_KEPT, lambda: _build_table(snapshot, asked, names))
    act = tell_new("requirements", "Add a requirement", role=role_id)
    return build_listing(table, len(asked), narrow("requirements", role=role_id), act)


def _build_table(snapshot: Snapshot, asked: Sequence[Requirement], names: Names) -> Table:
    table = build_table(
        "What it asks",
        asked[:_MOST_ROWS],
        (
            words("Competency", lambda row: names.ref("competencies", row.competency)),
            words("Necessity", lambda row: row.necessity),
            words("First day", lambda row: row.entry_level),
            words("Alone", lambda row: row.unsupervised_level),
            words("Full level", lambda row: tell_level(names, row.competency, row.level)),
            number("Weight", lambda row: row.weight, decimals=2),
            words("Learned on the job", lambda row: snapshot.is_learned_on_job(row)),
        ),
        "The role asks for nothing yet.",
    )
    return replace(table, rows=tuple(map(KeptRow, table.rows)))


def _choose_cautions(asked: Sequence[Requirement], alike: Sequence[SimilarRole]) -> tuple[str, ...]:
    """Return the cautions: where something blocks, law or safety does; where roles are compared, they are not equal."""
    is_grave = any(requirement.necessity == "blocking" for requirement in asked)
    return (*([cautions.NO_AUTHORISATION] if is_grave else []), *([_OTHER_ROLE] if alike else []))


def describe_role(view: RoleView, figure: Figure) -> Page:
    """Return the page of a role."""
    family = (Link(view.family, narrow("roles", family=view.family)),) if view.family else ()
    return Page("role.html", {"view": view, "figure": figure}, way="framework", trail=list_trail("roles", *family))
