"""Passwords: which are taken, how they are kept, how they are compared. The one door to argon2 and zxcvbn.

NIST SP 800-63B-4, section 3.1.1.2: at least 15 characters where a password is all there is, no rule of composition, no
expiry, compared with lists of common ones. argon2id as RFC 9106, section 4, recommends second: t=3, m=64 MiB, p=4.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from api.errors import BusyError
from ontology.errors import InputError

__all__ = ["LEAST", "MOST", "Passwords", "require_good"]

LEAST: Final = 15
MOST: Final = 256
#: What zxcvbn looks at of a password; it takes long for longer ones.
_LOOKED_AT: Final = 72
#: Of 0 to 4: what is guessed in fewer than 10^10 tries is less (zxcvbn's scale).
_GOOD: Final = 4
_AT_ONCE: Final = 2
_WAITING: Final = 16
_PATIENCE_S: Final = 10.0


def require_good(password: str, words: Iterable[str] = ()) -> None:
    """Raise InputError unless a password may be used.

    Parameters
    ----------
    password : str
        Taken whole: any character, blanks too.
    words : iterable of str
        What it must not be guessed by: the name of its owner, of the company.
    """
    if not LEAST <= len(password) <= MOST:
        raise InputError(f"A password has {LEAST} to {MOST} characters; words in a row are easy to keep in mind.",
                         parameter="password")  # fmt: skip
    from zxcvbn import zxcvbn  # its lists take a while to read
    from zxcvbn.frequency_lists import FREQUENCY_LISTS

    known = [word for text in (*words, "newel") for word in (text, *text.split())]
    is_common = password.casefold() in _list_common(tuple(FREQUENCY_LISTS["passwords"]))
    if is_common or zxcvbn(password[:_LOOKED_AT], user_inputs=known)["score"] < _GOOD:
        raise InputError("This password is easily guessed: take other words, more of them.", parameter="password")


@cache
def _list_common(words: tuple[str, ...]) -> frozenset[str]:
    return frozenset(words)


@cache
def _hash_nobodys() -> str:
    """Return what a password is compared with where there is no account, so that it takes as long."""
    return PasswordHasher().hash("nobody has this password")


class Passwords:
    """Hashes and compares, few at once: each takes 64 MiB and much of a processor for a while."""

    def __init__(self) -> None:
        self._hasher = PasswordHasher()
        self._inside = threading.Semaphore(_AT_ONCE + _WAITING)
        self._computing = threading.Semaphore(_AT_ONCE)
        self._nobodys = _hash_nobodys()

    def hash(self, password: str) -> str:
        """Return what is kept of a password; BusyError."""
        with self._enter():
            return self._hasher.hash(password)

    def is_right(self, kept: str | None, password: str) -> bool:
        """Whether a password is the one that was kept; the same work where none was. BusyError."""
        with self._enter():
            try:
                self._hasher.verify(kept or self._nobodys, password[: MOST + 1])
            except (VerificationError, InvalidHashError):
                return False
            return kept is not None

    def is_outdated(self, kept: str) -> bool:
        """Whether a right password is to be kept anew, as one is kept now."""
        return self._hasher.check_needs_rehash(kept)

    @contextmanager
    def _enter(self) -> Iterator[None]:
        if not self._inside.acquire(blocking=False):
            raise BusyError
        try:
            if not self._computing.acquire(timeout=_PATIENCE_S):
                raise BusyError
            try:
                yield
            finally:
                self._computing.release()
        finally:
            self._inside.release()
