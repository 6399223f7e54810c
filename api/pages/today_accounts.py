"""What the first page says to who administers accounts: invitations that end, accounts of nobody, those that wait."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from api.access.accounts import Account
from api.desk.names import count
from api.pages.account_words import tell_moment, to_moment
from api.pages.page import Link
from api.pages.today_lists import TodayList, TodayRow, TodaySection, build_list, tell_distance

__all__ = ["build_accounts_section"]

_ALL = "/accounts"


def build_accounts_section(accounts: Iterable[Account], ends: Mapping[int, float], on: dt.date) -> TodaySection:
    """Return the section of accounts.

    Parameters
    ----------
    accounts : iterable of Account
    ends : mapping
        Account -> when its invitation ends, seconds since 1970, of those that can still be used.
    on : date
    """
    listed = [one for one in accounts if not one.is_ended]
    waiting = [one for one in listed if not (one.has_password or one.has_provider)]
    stopped = [one for one in listed if one.is_stopped]
    of_nobody = [one for one in listed if not one.person]
    told = [
        f"{count(len(waiting), 'invitation')} not used yet" if waiting else "",
        f"{count(len(stopped), 'account')} stopped after wrong passwords" if stopped else "",
        f"{count(len(of_nobody), 'account')} tied to nobody" if of_nobody else "",
    ]
    lead = ", ".join(filter(None, told))
    return TodaySection(
        way="",
        heading="Accounts",
        lead=f"{lead}." if lead else "Every account is somebody's and can sign in.",
        lists=(_list_waiting(waiting, ends, on), _list_stopped(stopped), _list_of_nobody(of_nobody)),
        acts=(Link("Accounts and rights", _ALL), Link("Security events", f"{_ALL}/events")),
    )


def _open(account: Account) -> Link:
    return Link("Open the account", f"{_ALL}/{account.number}")


def _list_waiting(waiting: Iterable[Account], ends: Mapping[int, float], on: dt.date) -> TodayList:
    rows = []
    # those whose invitation has ended first, then by when it does
    for one in sorted(waiting, key=lambda one: ends.get(one.number, 0.0)):
        end = to_moment(ends[one.number]) if one.number in ends else None
        why = f"Ends {tell_moment(end)}." if end else "The invitation has ended: make a new one."
        day = end.date() if end else None
        rows.append(TodayRow(one.name, why, day=day, aside=tell_distance(day, on) if day else "", act=_open(one)))
    return build_list("Invited, not there yet", rows, "Nobody is waited for.", _ALL)


def _list_stopped(stopped: Iterable[Account]) -> TodayList:
    why = "Too many wrong passwords. Ask its owner before you let it try again."
    rows = [TodayRow(one.name, why, act=_open(one)) for one in stopped]
    return build_list("Stopped", rows, "No account is stopped.", _ALL)


def _list_of_nobody(of_nobody: Iterable[Account]) -> TodayList:
    why = "Tied to no person, so it sees nothing of its own."
    rows = [TodayRow(one.name, why, act=_open(one)) for one in of_nobody]
    return build_list("Tied to nobody", rows, "Every account is tied to a person.", _ALL)
