"""The page of a competency: what it is, its levels, who asks it, what teaches it, how many hold it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from api.desk.columns import Filled, build_table, number, words
from api.desk.names import Names, count
from api.desk.sheet import Quantity, Ref, Refs, Table
from api.pages.addresses import build_record_address
from api.pages.figure import Figure
from api.pages.framework_parts import (
    MOST_ROWS,
    Fact,
    FrameworkView,
    Listing,
    Saying,
    build_listing,
    list_data,
    list_trail,
    narrow,
    say_level,
    tell_history,
    tell_level,
    tell_new,
)
from api.pages.page import Link, Page
from api.questions import _cautions as cautions
from ontology.analysis.cover.held import HeldCompetency
from ontology.model.records import NECESSITIES, Competency, Outcome, Requirement, ScaleLevel
from ontology.model.work_records import Equivalence
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CompetencyView", "build_view", "describe_competency", "tell_competency", "tell_holders"]

#: A figure about fewer people than this is told as "under 5" to who may see no names.
SMALL_GROUP: Final = 5
_RENEWING: Final = "A course that renews only is for those who hold it or lost it lately."
_KINDS: Final = {
    "knowledge": "Knowledge",
    "skill": "A skill",
    "behaviour": "A behaviour",
    "certificate": "A certificate",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CompetencyView(FrameworkView):
    """All that the page of a competency shows; `holders` is None for who may not see the figure."""

    levels: Table
    roles: Listing
    courses: Listing
    broader: Refs
    narrower: Refs
    narrower_rest: Link | None
    hangs_on: tuple[str, ...]
    other_names: tuple[str, ...]
    elsewhere: tuple[str, ...]
    cautions: tuple[str, ...]


def tell_holders(held: HeldCompetency, sees_names: bool) -> str:
    """Return how many hold a competency, in words; a small group is no figure for who may see no names.

    Examples
    --------
    >>> import datetime as dt
    >>> held = HeldCompetency("pump", dt.date(2026, 11, 24), 3, 0, ())
    >>> tell_holders(held, True), tell_holders(held, False)
    ('3 people', 'under 5 people')
    """
    if not sees_names and held.holders < SMALL_GROUP:
        return f"under {SMALL_GROUP} people"
    return count(held.holders, "person", "people") if held.holders else "nobody"


def tell_competency(competency: Competency, roles: int, teaching: int, renewing: int, holders: str) -> Saying:
    """Return the first sentences: what it is, by how many roles it is asked, by how many courses taught.

    Parameters
    ----------
    competency : Competency
    roles, teaching, renewing : int
        Roles that ask it, courses that reach a level of it, courses that only renew it.
    holders : str
        How many hold it, in words; "" leaves it out.
    """
    told = f"asked by {count(roles, 'role') if roles else 'no role'}"
    taught = f", taught by {count(teaching, 'course') if teaching else 'no course'}"
    renewed = f", renewed by {count(renewing, 'course')}" if renewing else ""
    held = f", held by {holders}" if holders else ""
    definition = f"{competency.definition} " if competency.definition else ""
    return Saying(f"{definition}{_KINDS[competency.kind]}, ", told, f"{taught}{renewed}{held}.")


def build_view(snapshot: Snapshot, competency_id: str, held: HeldCompetency | None, sees_names: bool) -> CompetencyView:
    """Return what the page of a competency shows.

    Parameters
    ----------
    snapshot : Snapshot
    competency_id : str
        A competency that exists.
    held : HeldCompetency or None
        How many hold it; None for who may not see that.
    sees_names : bool
        Whether who looks may see who holds it; otherwise small groups are told as such.

    Notes
    -----
    O(k log k) for k requirements and outcomes of it.
    """
    competency, names = snapshot.require_competency(competency_id), Names(snapshot)
    asked = _rank_roles(names, snapshot.get_requirements_of_competency(competency_id))
    outcomes = _rank_courses(names, snapshot.get_outcomes_of_competency(competency_id))
    renewing = sum(outcome.renews for outcome in outcomes)
    holders = "" if held is None else tell_holders(held, sees_names)
    narrower = sorted(snapshot.get_narrower(competency_id), key=lambda i: (names.competency(i), i))
    all_narrower = Link(f"All {len(narrower):,}", narrow("competencies", broader=competency_id))
    return CompetencyView(
        name=names.competency(competency_id),
        lead=tell_competency(competency, len(asked), len(outcomes) - renewing, renewing, holders),
        acts=(
            Link("Edit", f"/edit{build_record_address('competencies', competency_id)}"),
            tell_new("requirements", "Add a requirement", competency=competency_id),
            Link("Retire", f"/retire{build_record_address('competencies', competency_id)}"),
        ),
        facts=tuple(_list_facts(competency, names)),
        levels=_build_levels(snapshot, competency, asked, held if sees_names else None),
        roles=_build_roles(names, competency_id, asked),
        courses=_build_courses(snapshot, names, competency_id, outcomes),
        broader=names.refs("competencies", competency.broader),
        narrower=names.refs("competencies", narrower[:MOST_ROWS]),
        narrower_rest=all_narrower if len(narrower) > MOST_ROWS else None,
        hangs_on=tuple(_tell_what_it_hangs_on(snapshot, competency, names)),
        other_names=competency.alt_labels,
        elsewhere=competency.exact_match,
        cautions=_choose_cautions(competency, held),
        revision=snapshot.revision,
    )


def _rank_roles(names: Names, asked: Iterable[Requirement]) -> list[Requirement]:
    order = {necessity: place for place, necessity in enumerate(NECESSITIES)}
    return sorted(asked, key=lambda row: (order[row.necessity], -row.level, names.role(row.role), row.role))


def _rank_courses(names: Names, outcomes: Iterable[Outcome]) -> list[Outcome]:
    return sorted(outcomes, key=lambda row: (row.renews, row.level, names.course(row.course), row.course))


def _list_facts(competency: Competency, names: Names) -> Iterator[Fact]:
    yield Fact("Kind", ((competency.kind,),))
    yield Fact("Scale", ((Ref("scales", competency.scale, competency.scale),),))
    yield Fact("An assessment counts", ((_tell_validity(competency),),))
    if competency.safety:
        yield Fact("Safety", (("an error can hurt someone",),))
    if competency.appointment:
        yield Fact("Counts for cover", (("only with the employer's appointment",),))
    if competency.assessment_hours is not None:
        yield Fact("To assess it takes", ((Quantity(competency.assessment_hours, "h"),),))
    if competency.practices_per_year is not None:
        yield Fact("To stay current", ((f"{competency.practices_per_year:g} times a year",),))
    yield tell_history("competencies", competency.id)
    yield list_data("competencies", competency.id)


def _tell_validity(competency: Competency) -> str:
    if competency.validity_months is None:
        return "without end"
    end = ", to the end of that month" if competency.validity_rule == "end-of-month" else ""
    then = "no level any more" if competency.expiry == "hard" else "a review is due"
    return f"{count(competency.validity_months, 'month')}{end}; then {then}"


def _build_levels(
    snapshot: Snapshot, competency: Competency, asked: list[Requirement], held: HeldCompetency | None
) -> Table:
    first, alone, full = (
        Counter(getattr(row, field) for row in asked) for field in ("entry_level", "unsupervised_level", "level")
    )
    columns: list[Filled[ScaleLevel]] = [
        words("Level", lambda step: say_level(step.rank, step.label)),
        words("What is seen", lambda step: step.description or None),
        number("First day", lambda step: first[step.rank], "roles"),
        number("Alone", lambda step: alone[step.rank], "roles"),
        number("Full level", lambda step: full[step.rank], "roles"),
    ]
    if held is not None:
        people = {row.level: row.people for row in held.levels}
        columns.append(number("Held by", lambda step: people.get(step.rank), "people"))
    return build_table("Levels", snapshot.scales.get(competency.scale, ()), columns, "Its scale has no levels.")


def _build_roles(names: Names, competency_id: str, asked: list[Requirement]) -> Listing:
    table = build_table(
        "Roles that ask it",
        asked[:MOST_ROWS],
        (
            words("Role", lambda row: names.ref("roles", row.role)),
            words("Necessity", lambda row: row.necessity),
            words("First day", lambda row: row.entry_level),
            words("Alone", lambda row: row.unsupervised_level),
            words("Full level", lambda row: tell_level(names, competency_id, row.level)),
            number("Weight", lambda row: row.weight),
        ),
        "No role asks for it.",
    )
    act = tell_new("requirements", "Add a requirement", competency=competency_id)
    return build_listing(table, len(asked), narrow("requirements", competency=competency_id), act)


def _build_courses(snapshot: Snapshot, names: Names, competency_id: str, outcomes: list[Outcome]) -> Listing:
    def tell_first(row: Outcome) -> Refs:
        asked = snapshot.get_entry_conditions(row.course)
        return Refs(
            tuple(Ref("competencies", c.competency, _tell_step(names, c.competency, c.level)) for c in asked),
            "nothing",
        )

    table = build_table(
        "Courses that reach it",
        outcomes[:MOST_ROWS],
        (
            words("Course", lambda row: names.ref("courses", row.course)),
            words("Reaches", lambda row: tell_level(names, competency_id, row.level)),
            words("How", lambda row: "renews only" if row.renews else snapshot.courses[row.course].method or None),
            number("Study", lambda row: snapshot.courses[row.course].hours, "h"),
            words("Needs first", tell_first),
        ),
        "No course teaches it.",
        _RENEWING if any(row.renews for row in outcomes) else "",
    )
    act = tell_new("outcomes", "Say which course teaches it", competency=competency_id)
    return build_listing(table, len(outcomes), narrow("outcomes", competency=competency_id), act)


def _tell_what_it_hangs_on(snapshot: Snapshot, competency: Competency, names: Names) -> Iterator[str]:
    """Yield the competencies that it holds while, counts as and is counted by, a sentence each."""
    for other in competency.holds_while:
        yield f"It is suspended while {names.competency(other)} is not held."
    for row in snapshot.get_equivalences_to(competency.id):
        yield f"{_tell_step(names, row.competency, row.level)} counts as {row.as_level} of it{_tell_days(row)}."
    for row in snapshot.get_equivalences_of(competency.id):
        yield f"Level {row.level} of it counts as {_tell_step(names, row.counts_as, row.as_level)}{_tell_days(row)}."


def _tell_step(names: Names, competency_id: str, level: int) -> str:
    return f"{names.competency(competency_id)} at level {level}"


def _tell_days(row: Equivalence) -> str:
    first = f" from {row.from_date}" if row.from_date else ""
    return first + (f" until {row.to_date}" if row.to_date else "")


def _choose_cautions(competency: Competency, held: HeldCompetency | None) -> tuple[str, ...]:
    """Return the cautions: where an error can hurt someone, and where figures of people are shown."""
    is_grave = competency.safety or competency.is_certificate or competency.appointment
    return (*([cautions.NO_AUTHORISATION] if is_grave else []), *([cautions.BASIS] if held is not None else []))


def describe_competency(view: CompetencyView, figure: Figure) -> Page:
    """Return the page of a competency."""
    values = {"view": view, "figure": figure}
    return Page("competency.html", values, way="framework", trail=list_trail("competencies"))
