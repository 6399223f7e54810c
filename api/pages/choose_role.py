"""Which role to look at: those within reach, those like one's own, all of them; out of reach says which limit."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.desk.desk import Answer
from api.desk.names import Names, amount, count
from api.desk.sheet import Ref
from api.pages.addresses import build_address
from api.pages.page import Link, Page
from api.pages.way_words import tell_limits, tell_months
from ontology.analysis.profiles.similarity import SimilarRolesResult
from ontology.analysis.routes.moves import ReachableRole, ReachableRolesResult

__all__ = ["SHOWN", "ChoiceRow", "ChoiceView", "build_view", "describe_choice"]

#: The three lists, and what stands on their links.
SHOWN: Final[Mapping[str, str]] = {"reach": "Within reach", "like": "Like my role", "all": "All"}
_MOST: Final = 200


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """A role: what its move takes, or how alike it is, or what stands in the way; and where to go on."""

    role: Ref
    hours: str
    months: str
    alike: str
    limit: str
    gap: str
    ways: str


@dataclass(frozen=True, slots=True)
class ChoiceView:
    """All that stands on the page."""

    title: str
    lead: str
    show: str
    q: str
    rows: tuple[ChoiceRow, ...]
    left_out: int
    empty: str
    own: str


def build_view(
    reach: ReachableRolesResult,
    similar: SimilarRolesResult | None,
    names: Names,
    person: str,
    *,
    show: str,
    q: str = "",
    found: Collection[str] | None = None,
    own: str = "",
) -> ChoiceView:
    """Return what stands on the page.

    Parameters
    ----------
    reach : ReachableRolesResult
        Every other role that asks for something.
    similar : SimilarRolesResult or None
        Those like the person's own; None where they have none.
    names : Names
    person : str
    show : str
        Which list: reach, like or all.
    q : str
        The words looked for.
    found : collection of str or None
        The roles in whose names they stand; None without words.
    own : str
        Id of the person's own role, "" for none.
    """
    moves = {role.id: role for role in reach.roles}
    alike = {row.id: row.similarity for row in similar.roles} if similar else {}
    if show == "like":
        ids = [row.id for row in similar.roles if row.id in moves] if similar else []
    else:
        ids = [role.id for role in reach.roles if show == "all" or role.within_reach]
    kept = [i for i in ids if found is None or i in found]
    if show == "all":
        kept.sort(key=lambda i: (moves[i].label.casefold(), i))
    rows = tuple(_build_row(moves[i], alike.get(i), names, person) for i in kept[:_MOST])
    lead = _tell_lead(len(kept), show, q, names.role(own) if own else "")
    return ChoiceView(
        title=f"{count(len(kept), 'role')} to look at",
        lead=lead,
        show=show,
        q=q,
        rows=rows,
        left_out=len(kept) - len(rows),
        empty=_tell_empty(show, q, own),
        own=names.role(own) if own else "",
    )


def describe_choice(view: ChoiceView, answer: Answer, cautions: tuple[str, ...], *, is_self: bool) -> Page:
    """Return the page; `answer` is that of the question "reachable-roles"."""
    person = answer.enquiry.subject.id
    here = build_address("people", person, "roles")
    values: dict[str, Any] = {
        "view": view,
        "here": here,
        "lists": [(key, words, _build_list_address(person, key, view.q)) for key, words in SHOWN.items()],
        "cautions": cautions,
        "remarks": tuple(map(answer.names.put_in, answer.result.remarks)),
        "revision": answer.enquiry.state.snapshot.revision,
    }
    name = "Where I stand" if is_self else answer.names.person(person)
    return Page("choose_role.html", values, way="stand", trail=(Link(name, build_address("people", person, "")),))


def _build_list_address(person: str, show: str, q: str) -> str:
    asked = {"show": show if show != "reach" else "", "q": q}
    return build_address("people", person, "roles", {name: text for name, text in asked.items() if text})


def _build_row(role: ReachableRole, alike: float | None, names: Names, person: str) -> ChoiceRow:
    limit = ""
    if role.study_hours is None:
        limit = "no courses lead to its first day"
    elif role.broken_limits:
        limit = tell_limits(role.broken_limits, names)
    return ChoiceRow(
        role=Ref("roles", role.id, role.label),
        hours="–" if role.study_hours is None else amount(role.study_hours),
        months=tell_months(role.months),
        alike="–" if alike is None else f"{alike:.2f}",
        limit=limit,
        gap=build_address("people", person, "gap", {"role": role.id}),
        ways=build_address("people", person, "routes", {"to": role.id}),
    )


def _tell_lead(number: int, show: str, q: str, own: str) -> str:
    words = f" with the words “{q}”" if q else ""
    if show == "like":
        return f"{count(number, 'role')}{words} {_ask(number)} for what is like {own}, the most alike first."
    if show == "all":
        return f"{count(number, 'role')}{words} to look at, within reach or not."
    if not number:
        return f"No role{words} is one step away."
    return f"{count(number, 'role')}{words} {'is' if number == 1 else 'are'} one step away, by hours of study."


def _ask(number: int) -> str:
    return "asks" if number == 1 else "ask"


def _tell_empty(show: str, q: str, own: str) -> str:
    if q:
        return f"No role here has the words “{q}”. Look among all roles, or with other words."
    if show == "like":
        return "No role is recorded, so none can be like it." if not own else "No other role asks for the same."
    if show == "reach":
        return "No role is within one step. Look at all roles: each says what stands in the way."
    return "There is no other role that asks for anything."
