"""From an account to who asks, anew at each request: a right that was taken away is gone at once (ASVS V8.3.2)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator

from api.access.accounts import Account
from api.access.actor import Actor, Assessing, Purpose, Role, Scope, Share
from api.access.sight import find_teams_below
from ontology.analysis.profiles.belonging import get_person_on
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_actor"]


def build_actor(
    account: Account,
    snapshot: Snapshot,
    today: dt.date,
    purposes: tuple[Purpose, ...] = (),
    scope: Scope | None = None,
    list_shown: Callable[[dt.date], tuple[Share, ...]] = lambda today: (),
) -> Actor:
    """Return who asks.

    Parameters
    ----------
    account : Account
        One that has ended may nothing.
    snapshot : Snapshot
        Teams and people as they are now: who is in no record any more is nobody.
    today : date
    purposes : tuple of Purpose
        Those that have not ended; they count for an architect alone.
    scope : Scope, optional
        Of the token, where one is used.
    list_shown : callable
        What anybody shows on a day: asked where the account leads a team.
    """
    if account.is_ended:
        return Actor()
    person = account.person if account.person in snapshot.people else ""
    roles = frozenset(grant.role for grant in account.grants) | ({Role.EMPLOYEE} if person else frozenset())
    belongs_to: frozenset[str] = frozenset()
    if person:
        teams = (snapshot.people[person].team, get_person_on(snapshot, person, today).team)
        belongs_to = frozenset(filter(None, teams))
    leads = frozenset(_iterate_led(account, snapshot))
    return Actor(
        account=account.number,
        name=account.name,
        roles=roles,
        person=person,
        belongs_to=belongs_to,
        leads=leads,
        assesses=tuple(_iterate_assessing(account)),
        purposes=purposes if Role.ARCHITECT in roles else (),
        shown=_find_shown(list_shown(today), snapshot, leads, today) if leads else (),
        scope=scope,
    )


def _iterate_led(account: Account, snapshot: Snapshot) -> Iterator[str]:
    for grant in account.grants:
        if grant.role is Role.LEAD and grant.team in snapshot.teams:
            yield from find_teams_below(snapshot, [grant.team]) if grant.with_below else (grant.team,)


def _find_shown(
    shares: tuple[Share, ...], snapshot: Snapshot, leads: frozenset[str], today: dt.date
) -> tuple[Share, ...]:
    """Return what is shown by people who are in these teams today."""
    return tuple(
        share
        for share in shares
        if share.person in snapshot.people and get_person_on(snapshot, share.person, today).team in leads
    )


def _iterate_assessing(account: Account) -> Iterator[Assessing]:
    for grant in account.grants:
        if grant.role is Role.ASSESSOR and grant.team and grant.competency:
            yield Assessing(frozenset({grant.competency}), frozenset({grant.team}))
