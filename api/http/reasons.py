"""Why a record is changed, as a program says it: one header, kept in the history beside who and when."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from api.errors import ParameterError, WrongParameter
from api.http.context import get_request
from api.reason_text import check_reason

REASON: Final = "Newel-Reason"


def read_reason() -> str:
    """Return the reason that a request gives, "" where it gives none: the history then says what was done.

    Raises
    ------
    ParameterError
        It is empty, too long, or cannot be kept.
    """
    given = get_request().headers.get(REASON)
    if given is None:
        return ""
    with suppress(UnicodeError):
        # the gateway hands on bytes as if each were a character (PEP 3333)
        given = given.encode("latin-1").decode()
    given = given.strip()
    wrong = check_reason(given)
    if wrong:
        raise ParameterError(WrongParameter(REASON, given, wrong))
    return given
