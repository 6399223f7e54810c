"""Accounts for who administers them: list, invite, tie, give rights, free, end, what happened."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import wraps
from typing import Final

from flask import Blueprint, Response

from api.access.accounts import Account, Grant
from api.access.actor import Role
from api.desk.names import Names
from api.http.access_context import forget_short, keep_short, read_short, require_access
from api.http.context import get_desk, get_request, get_settings
from api.http.signed_in import require_session
from api.pages.accounts import (
    RightsForm,
    build_list,
    build_one,
    describe_accounts,
    describe_events,
    describe_one,
)
from api.site.confirm import require_confirmed
from api.site.sending import send_page
from api.site.stand import go
from ontology.errors import ConflictError, ForbiddenError, InputError, NotFoundError

__all__ = ["build_blueprint"]

NEEDS_ACCOUNTS: Final = True
_LINK: Final = "invited"
_EVENTS_SHOWN: Final = 200
#: As many rows as a form of rights is read for.
_MOST_ROWS: Final = 200
_DONE: Final = {
    "tied": "It is tied to this person from now on.",
    "rights": "The rights hold from now on.",
    "freed": "It may try again.",
    "sessions": "Its sessions have ended.",
    "ended": "The account has ended.",
}


def build_blueprint() -> Blueprint:
    """Return the blueprint of these pages."""
    blueprint = Blueprint("accounts", __name__)
    add = blueprint.add_url_rule
    add("/accounts", "list", show_accounts)
    add("/accounts", "make", make_account, methods=["POST"])
    add("/accounts/events", "events", show_events)
    add("/accounts/<int:number>", "one", show_account)
    acts = {"invite": invite, "tie": tie, "rights": give_rights, "free": free, "sign-out": end_sessions, "end": end}
    for name, act in acts.items():
        add(f"/accounts/<int:number>/{name}", name, _on_others(act), methods=["POST"])
    return blueprint


def _on_others(act: Callable[[Account, int], Response]) -> Callable[[int], Response]:
    """Return an act as a view: the password again, and nobody does it to themselves."""

    @wraps(act)
    def view(number: int) -> Response:
        by = require_session().account
        if number == by:
            raise ForbiddenError("Nobody changes their own rights or ends their own account.")
        return require_confirmed() or act(require_access().accounts.get(number), by)

    return view


def show_accounts() -> Response:
    """Show every account."""
    return _list()


def _list(name: str = "", wrong: str = "", status: int = 200) -> Response:
    rows = build_list(require_access().accounts.list(), Names(get_desk().get_state().snapshot))
    return send_page(describe_accounts(rows, name, wrong), status=status)


def make_account() -> Response:
    """Make an account and an invitation to it."""
    asked = require_confirmed()
    if asked is not None:
        return asked
    access, name, by = require_access(), get_request().form.get("name", ""), require_session().account
    try:
        account = access.accounts.make(name, by=by)
    except (InputError, ConflictError) as error:
        return _list(name, error.detail, 422)
    return invite(account, by)


def show_events() -> Response:
    """Show what happened to accounts."""
    return send_page(describe_events(require_access().events.list(_EVENTS_SHOWN)))


def show_account(number: int) -> Response:
    """Show one account; an invitation that was just made is shown this once."""
    account = require_access().accounts.get(number)
    done = _DONE.get(get_request().args.get("done", ""), "")
    return forget_short(_show(account, link=_read_link(number), done=done), _LINK)


def _read_link(number: int) -> str:
    whose, _, secret = read_short(_LINK).partition(" ")
    base = get_settings().public_url or get_request().host_url.rstrip("/")
    return f"{base}/invitations/{secret}" if whose == str(number) and secret else ""


def _show(
    account: Account,
    *,
    form: RightsForm | None = None,
    link: str = "",
    done: str = "",
    wrong: Mapping[str, str] | None = None,
) -> Response:
    view = build_one(
        account,
        Names(get_desk().get_state().snapshot),
        is_own=account.number == require_session().account,
        n_sessions=len(require_access().sessions.list(account.number)),
        form=form,
        link=link,
        done=done,
        wrong=wrong,
    )
    return send_page(describe_one(view), status=422 if wrong else 200)


def invite(account: Account, by: int) -> Response:
    """Make an invitation; those before of the same account end."""
    try:
        secret = require_access().invitations.make(account.number, by=by)
    except NotFoundError as error:
        return _show(account, wrong={"all": error.detail})
    return keep_short(go(f"/accounts/{account.number}"), _LINK, f"{account.number} {secret}")


def tie(account: Account, by: int) -> Response:
    """Tie an account to a person, or to nobody."""
    person = get_request().form.get("person", "").strip()
    if person and person not in get_desk().get_state().snapshot.people:
        return _show(account, wrong={"person": "There is no such person."})
    require_access().accounts.tie(account.number, person, by=by)
    return go(f"/accounts/{account.number}?done=tied")


def give_rights(account: Account, by: int) -> Response:
    """Make an account exactly what the form says."""
    form = _read_rights()
    unknown = sorted(_find_unknown(form))
    if unknown:
        return _show(account, form=form, wrong={"rights": f"Nothing was changed: there is no {', no '.join(unknown)}."})
    require_access().accounts.grant(account.number, _build_grants(form), by=by)
    return go(f"/accounts/{account.number}?done=rights")


def _read_rights() -> RightsForm:
    form = get_request().form
    leads = ((form.get(f"team-{i}", "").strip(), f"below-{i}" in form) for i in range(_MOST_ROWS))
    assesses = ((form.get(f"competency-{i}", "").strip(), form.get(f"in-{i}", "").strip()) for i in range(_MOST_ROWS))
    return RightsForm(
        is_architect="architect" in form,
        is_administrator="administrator" in form,
        leads=tuple(row for row in leads if row[0]),
        assesses=tuple(row for row in assesses if any(row)),
    )


def _find_unknown(form: RightsForm) -> set[str]:
    snapshot = get_desk().get_state().snapshot
    teams = {team for team, _ in form.leads} | {team for _, team in form.assesses}
    unknown = {f"team “{team}”" for team in teams - snapshot.teams.keys()}
    competencies = {competency for competency, _ in form.assesses} - snapshot.competencies.keys()
    return unknown | {f"competency “{competency}”" for competency in competencies}


def _build_grants(form: RightsForm) -> Iterator[Grant]:
    if form.is_architect:
        yield Grant(Role.ARCHITECT)
    if form.is_administrator:
        yield Grant(Role.ADMINISTRATOR)
    # a team that stands there twice is led once, with what is below it where either says so
    for team in dict(form.leads):
        yield Grant(Role.LEAD, team, with_below=(team, True) in form.leads)
    for competency, team in set(form.assesses):
        yield Grant(Role.ASSESSOR, team, competency)


def free(account: Account, by: int) -> Response:
    """Let an account try passwords again."""
    require_access().accounts.free(account.number, by=by)
    return go(f"/accounts/{account.number}?done=freed")


def end_sessions(account: Account, by: int) -> Response:
    """End the sessions of an account (ASVS V7.4.5)."""
    access = require_access()
    for session in access.sessions.list(account.number):
        access.sessions.end_number(account.number, session.number)
    access.events.tell("sessions ended", account.number, by)
    return go(f"/accounts/{account.number}?done=sessions")


def end(account: Account, by: int) -> Response:
    """End an account."""
    require_access().accounts.end(account.number, by=by)
    return go(f"/accounts/{account.number}?done=ended")
