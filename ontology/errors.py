"""The errors of the project: what went wrong in the words of the trade; no HTTP, no formatting.

"No path", "cannot be reached" and "time limit, best so far" are answers with a status, not errors.
One table in `api.errors` maps these classes to a status and an exit code.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

Severity = Literal["error", "remark"]

#: The source of a finding that no file can be named for begins so; the rule's name follows.
RULE_SOURCE: Final = "Rule "


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """One thing found in data, with its address.

    Parameters
    ----------
    severity : {"error", "remark"}
        One error and nothing is stored; a remark is printed and stored past.
    source : str
        File (or table, or graph) the finding is about.
    row : int
        1-based row as a spreadsheet shows it (the header is row 1); 0 where there is none.
    column : str
        Column, property or clause ("S14"); empty where there is none.
    value : str
        The offending value, shortened.
    reason : str
        What is wrong, as a sentence that says what would be right.
    about : tuple of str
        Table name, then the parts of the record's key as text; () where no single record is meant. A loader
        turns it into file and row.
    """

    severity: Severity
    source: str
    row: int
    column: str
    value: str
    reason: str
    about: tuple[str, ...] = ()

    def format(self) -> str:
        """Return the finding on one line, address first."""
        row = f", row {self.row}" if self.row else ""
        shown = f" ({shorten(self.value)!r})" if self.value else ""
        return f"{self.severity}: {self.source}{row}{self.format_column()}: {self.reason}{shown}"

    def format_column(self) -> str:
        """Return the column as it stands in the address; a rule's reason names what it is about itself."""
        return f", {self.column}" if self.column and not self.source.startswith(RULE_SOURCE) else ""


def shorten(value: str, limit: int = 80) -> str:
    """Return `value` cut to `limit` characters, with an ellipsis where it was cut."""
    return value if len(value) <= limit else value[: limit - 1] + "…"


class NewelError(Exception):
    """Base class. `detail` is a sentence for the user; `context` holds the facts behind it.

    `also` are further errors of what was asked, found with it: whoever mends it mends all at once.
    """

    def __init__(self, detail: str, **context: Any) -> None:
        super().__init__(detail)
        self.detail = detail
        self.context = context
        self.also: tuple[NewelError, ...] = ()

    def list_all(self) -> tuple[NewelError, ...]:
        """Return the error and those found with it."""
        return (self, *self.also)


def raise_together(found: Sequence[NewelError]) -> None:
    """Raise the first of some errors, which says how they are told, with the others; nothing where there is none."""
    if found:
        first, *others = found
        first.also = tuple(others)
        raise first


class InputError(NewelError):
    """What was asked or sent is wrong; `parameter` and `value` in its context name what of the question it was."""


def refuse(parameter: str, value: str, reason: str) -> InputError:
    """Return the error of a value that is wrong; `reason` says what would be right."""
    return InputError(f"{parameter} {reason} (given: {value!r}).", parameter=parameter, value=value, reason=reason)


class FileFormatError(InputError):
    """A file is not of a kind that can be read, or is damaged."""


class LimitError(InputError):
    """A file or request is larger than allowed."""


class MalformedQueryError(InputError):
    """A query cannot be read, or holds what is not allowed in one."""


class QueryFormError(InputError):
    """The answer to a query has none of the forms that are taken."""


class QueryLimitError(InputError):
    """A query has spent its time, its memory or the bytes of its answer."""


class FindingsError(InputError):
    """Data with at least one error finding; nothing was stored."""

    def __init__(self, detail: str, findings: Sequence[Finding], **context: Any) -> None:
        super().__init__(detail, **context)
        self.findings = tuple(findings)


class NotFoundError(NewelError):
    """What was asked for does not exist."""


class UnknownIdError(NotFoundError):
    """No record of this table has this id; `near` holds ids and labels that are spelt nearly so."""

    def __init__(self, table: str, record_id: str, near: Sequence[tuple[str, str]] = ()) -> None:
        detail = f"There is no {record_id!r} in {table}."
        if near:
            detail += f" Did you mean {' or '.join(f'{i} ({label})' for i, label in near)}?"
        super().__init__(detail, table=table, id=record_id, near=[i for i, _ in near] or None)
        self.table = table
        self.record_id = record_id


class GoneError(NotFoundError):
    """What was asked for is not in use any more; `links` are the values of the header that leads to what is."""

    def __init__(self, detail: str, links: Sequence[str], **context: Any) -> None:
        super().__init__(detail, **context)
        self.links = tuple(links)


class ConflictError(NewelError):
    """The request does not fit the present state (a record exists already, or is referred to)."""


class InUseError(ConflictError):
    """What is to go, or to mean something else, is used by others.

    Parameters
    ----------
    sentence : str
        What cannot be done; the users follow it.
    record : (table, id)
    users : (table, key as text) of each
    more : how many further ones are not named
    """

    def __init__(self, sentence: str, record: Sequence[str], users: Sequence[tuple[str, str]], more: int = 0) -> None:
        self.sentence, self.record, self.users = sentence, tuple(record), tuple(users)
        shown = [", ".join(f"{table} {key}" for table, key in users[:5])] if users else []
        left = len(users) - len(users[:5]) + more
        rest = [f"{left:,} more" if shown else f"{left:,} of what you may not see"] if left else []
        told = " and ".join((*shown, *rest))
        referrers = [f"{table}/{key}" for table, key in users]
        super().__init__(f"{sentence} {told}.", table=record[0], id=record[1], referrers=referrers)


class DraftConflictsError(ConflictError):
    """A draft and what was published meanwhile disagree; `conflicts` are those that nobody decided."""

    def __init__(self, detail: str, conflicts: Sequence[Any], **context: Any) -> None:
        super().__init__(detail, **context)
        self.conflicts = tuple(conflicts)


class DraftFaultsError(ConflictError):
    """A draft with errors was asked something that needs a sound framework; `findings` are the errors."""

    def __init__(self, detail: str, findings: Sequence[Finding], **context: Any) -> None:
        super().__init__(detail, **context)
        self.findings = tuple(findings)


class StaleError(ConflictError):
    """The record or the store has changed since it was read."""


class PreconditionMissingError(ConflictError):
    """A write came without saying which state it was made for."""


class ForbiddenError(NewelError):
    """The caller may not do this."""


class UnavailableError(NewelError):
    """Something outside this program is missing or does not answer."""


class QueryProcessesBusyError(UnavailableError):
    """As many queries as may are being answered."""


class StoreLockedError(UnavailableError):
    """Another process has the store open."""


class StorageFullError(UnavailableError):
    """The disk has no room for a change; nothing of it was stored."""


class ProgramMissingError(UnavailableError):
    """An outside program (Graphviz `dot`) is not installed."""


class SolverError(NewelError):
    """The solver returned an answer that breaks its own constraints."""
