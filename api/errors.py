"""One table from error class to HTTP status and exit code, and the problem document of an error.

No Flask here: the command line reads the same table. Problem documents follow RFC 9457.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from api.json_text import get_members, to_json
from ontology import errors
from ontology.errors import Finding, InputError, NewelError, UnavailableError, shorten


@dataclass(frozen=True, slots=True)
class FieldError:
    """One wrong value of a request body: JSON Pointer (RFC 6901), the value, and what would be right."""

    pointer: str
    value: Any
    reason: str


class FieldsError(InputError):
    """A request body with at least one wrong value."""

    def __init__(self, detail: str, fields: Iterable[FieldError]) -> None:
        super().__init__(detail)
        self.fields = tuple(fields)


@dataclass(frozen=True, slots=True)
class WrongParameter:
    """One wrong, unknown or missing parameter of an address: its name, the value, and what would be right."""

    parameter: str
    value: str | None
    reason: str


class ParameterError(InputError):
    """At least one parameter of the address is wrong, unknown or missing."""

    def __init__(self, *wrong: WrongParameter) -> None:
        self.wrong = wrong
        super().__init__("; ".join(_tell(entry) for entry in wrong) + ".", parameter=wrong[0].parameter)


def _tell(entry: WrongParameter) -> str:
    shown = "" if entry.value is None else f" (given: {shorten(entry.value)!r})"
    return f"The parameter {entry.parameter!r} {entry.reason}{shown}"


class MalformedBodyError(InputError):
    """A request body that is not JSON."""


class MediaTypeError(InputError):
    """A request body of a media type that is not read."""


class NotAcceptableError(NewelError):
    """The resource cannot be had in any form the caller takes."""


class MisdirectedError(NewelError):
    """A request under a name that does not always mean this machine."""

    def __init__(self, host: str) -> None:
        super().__init__(
            "Only this machine is served here, as localhost, 127.0.0.1 or [::1], and the public address where one is "
            f"set; not {shorten(host)!r}."
        )


class FiguresAloneError(errors.ForbiddenError):
    """What is asked for would show people, and who asks is told figures alone; there is no secret in why."""


class UnauthenticatedError(NewelError):
    """Nobody has signed in, or not with this name and password."""


class ThrottledError(NewelError):
    """Too many tries in a short time."""

    def __init__(self, wait_s: float, told: str = "Too many tries from this address: wait a few minutes.") -> None:
        super().__init__(told)
        #: What the response's Retry-After says.
        self.retry_after_s = max(1, math.ceil(wait_s))


class BusyError(UnavailableError):
    """Too many slow questions are being answered; asking again a little later is enough."""

    #: What the response's Retry-After says.
    retry_after_s = 5

    def __init__(
        self, detail: str = "Too many slow questions are being answered at the moment; ask again in a few seconds."
    ) -> None:
        super().__init__(detail)


@dataclass(frozen=True, slots=True)
class ErrorKind:
    """How an error class is told: HTTP status, exit code of the command line, short name and title."""

    status: int
    exit_code: int
    name: str
    title: str


#: Exit codes: 1 an error that stops the work, 2 a wrong call, 3 something outside is missing.
ERROR_TABLE: Final[dict[type[Exception], ErrorKind]] = {
    MalformedBodyError: ErrorKind(400, 2, "malformed-body", "The body is not valid JSON"),
    errors.MalformedQueryError: ErrorKind(400, 2, "malformed-query", "The query cannot be run"),
    UnauthenticatedError: ErrorKind(401, 1, "unauthenticated", "Not signed in"),
    errors.ForbiddenError: ErrorKind(403, 1, "forbidden", "Not allowed"),
    FiguresAloneError: ErrorKind(403, 1, "figures-alone", "Not told in figures"),
    errors.NotFoundError: ErrorKind(404, 1, "not-found", "Record not found"),
    errors.GoneError: ErrorKind(410, 1, "gone", "No longer in use"),
    NotAcceptableError: ErrorKind(406, 2, "not-acceptable", "Format not available"),
    errors.ConflictError: ErrorKind(409, 1, "conflict", "In conflict with what is stored"),
    errors.QueryFormError: ErrorKind(406, 2, "not-acceptable", "Format not available"),
    errors.StaleError: ErrorKind(412, 1, "stale", "Changed since it was read"),
    errors.LimitError: ErrorKind(413, 1, "too-large", "Larger than allowed"),
    MediaTypeError: ErrorKind(415, 2, "media-type", "Unsupported media type of the body"),
    errors.FileFormatError: ErrorKind(415, 1, "file-format", "Unsupported kind of file"),
    MisdirectedError: ErrorKind(421, 2, "misdirected", "Not served under this host name"),
    errors.FindingsError: ErrorKind(422, 1, "findings", "The data break a rule"),
    FieldsError: ErrorKind(422, 2, "fields", "Wrong values in the body"),
    ParameterError: ErrorKind(422, 2, "parameter", "Wrong parameter"),
    InputError: ErrorKind(422, 2, "input", "The question cannot be answered as asked"),
    errors.QueryLimitError: ErrorKind(422, 1, "query-limit", "The query takes more than it may"),
    errors.PreconditionMissingError: ErrorKind(428, 1, "precondition-missing", "If-Match header missing"),
    ThrottledError: ErrorKind(429, 1, "throttled", "Too many tries"),
    errors.UnavailableError: ErrorKind(503, 3, "unavailable", "Something needed is not available"),
    BusyError: ErrorKind(503, 3, "busy", "Too many slow questions at once"),
    errors.ProgramMissingError: ErrorKind(503, 3, "program-missing", "A program is not installed"),
    errors.StorageFullError: ErrorKind(507, 3, "storage-full", "The disk is full"),
    errors.StoreLockedError: ErrorKind(503, 3, "store-locked", "The store is open elsewhere"),
    Exception: ErrorKind(500, 1, "internal", "A fault of this program"),
}

_RESERVED: Final = frozenset({"type", "title", "status", "detail", "instance", "errors"})
#: Facts that are told where they are nothing, too: what a record is that is not there.
_TOLD_EMPTY: Final = frozenset({"sent", "present"})


def get_kind(error: BaseException) -> ErrorKind:
    """Return how an error is told: the entry of its own class, else of the nearest base class."""
    for base in type(error).__mro__:
        kind = ERROR_TABLE.get(base)
        if kind is not None:
            return kind
    return ERROR_TABLE[Exception]


def get_exit_code(error: BaseException) -> int:
    """Return the exit code of the command line for an error."""
    return get_kind(error).exit_code


def build_problem(error: NewelError, *, type_base: str = "/problems#", instance: str = "") -> dict[str, Any]:
    """Return the RFC 9457 problem document of one of our errors.

    The facts behind the error (its `context`) become members; wrong values stand in `errors`, so does the parameter
    that an analysis names as the wrong one.
    """
    kind = get_kind(error)
    problem: dict[str, Any] = {
        "type": type_base + kind.name,
        "title": kind.title,
        "status": kind.status,
        "detail": tell_details(error),
    }
    if instance:
        problem["instance"] = instance
    entries = list(_iterate_entries(error))
    for other in error.also:
        # of several each has its entry
        entries = entries or [_tell_plainly(error)]
        entries += list(_iterate_entries(other)) or [_tell_plainly(other)]
    if entries:
        problem["errors"] = entries
    for one in error.list_all():
        for name, value in one.context.items():
            if name not in _RESERVED and (value is not None or name in _TOLD_EMPTY):
                problem.setdefault(name, to_json(value))
    return problem


def tell_details(error: NewelError) -> str:
    """Return what an error says, and what those say that were found with it."""
    return " ".join(one.detail for one in error.list_all())


def _tell_plainly(error: NewelError) -> dict[str, Any]:
    return {"pointer": "", "value": None, "reason": error.detail}


def _iterate_entries(error: NewelError) -> Iterable[dict[str, Any]]:
    if isinstance(error, FieldsError):
        yield from map(get_members, error.fields)
    elif isinstance(error, errors.FindingsError | errors.DraftFaultsError):
        for finding in error.findings:
            if finding.severity == "error":
                yield build_finding(finding)
    elif isinstance(error, ParameterError):
        yield from map(get_members, error.wrong)
    elif "parameter" in error.context:
        value = error.context.get("value")
        yield {
            "parameter": error.context["parameter"],
            "value": None if value is None else str(value),
            "reason": error.detail,
        }


def build_finding(finding: Finding) -> dict[str, Any]:
    """Return the JSON form of a finding; `pointer` names the member of the body where it is about one."""
    entry: dict[str, Any] = {
        "pointer": f"/{finding.column}" if finding.column else "",
        "value": shorten(finding.value),
        "reason": finding.reason,
        "source": finding.source,
    }
    if finding.row:
        entry["row"] = finding.row
    if finding.about:
        entry["table"], *key = finding.about
        entry["id"] = "~".join(key)
    return entry
