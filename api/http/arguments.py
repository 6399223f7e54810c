"""Strict reading of the arguments of an address, as the parameters of questions and lists describe them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Any, Final, TypeVar, cast

from flask import Request
from werkzeug.datastructures import MultiDict

from api.desk.parameters import Asks, Parameter, list_parameters, parse_values
from api.desk.states import LANGUAGE, READ_ASIDE
from api.errors import ParameterError, WrongParameter
from api.http.context import get_request
from api.http.negotiation import ANSWER_FORMS, choose_form

_A = TypeVar("_A", bound=Asks)
#: Texts of addresses kept: so many, none longer than so many bytes.
_KEPT: Final = 2_000
LONGEST_KEPT: Final = 500
#: What is said of every question alike: in which form, on which state, in which language.
_STRIPPED: Final = frozenset({"format", *READ_ASIDE})


def read_asked(asks: type[_A], arguments: MultiDict[str, str]) -> _A:
    """Return what an address asks; ``format``, the state asked and the language are read elsewhere.

    Raises
    ------
    ParameterError
        Every parameter that is wrong, unknown, given twice or missing.
    """
    return asks(**read_values(list_parameters(asks), arguments))


def read_query(asks: type[_A], request: Request) -> _A:
    """Return what the address of a request asks, as `read_asked`.

    The same text asks the same, so it is read once, and its canonical form made once: a fifth of the time of an answer
    that is kept.
    """
    if len(request.query_string) > LONGEST_KEPT:
        return read_asked(asks, request.args)
    return cast(_A, _read_text(cast(Any, asks), request.query_string))


@lru_cache(maxsize=_KEPT)
def _read_text(asks: Any, query: bytes) -> Asks:
    return read_asked(cast("type[Asks]", asks), get_request().args)


def require_no_wishes(request: Request) -> None:
    """Refuse another form than JSON, and every parameter: where an address has nothing to ask.

    Raises
    ------
    NotAcceptableError, ParameterError
        There is a wish.
    """
    choose_form(request, ANSWER_FORMS)
    read_values((), request.args)


def read_values(parameters: Iterable[Parameter], arguments: MultiDict[str, str]) -> dict[str, Any]:
    """Return the values of the parameters that an address gives, by field; errors as `read_asked`."""
    given: dict[str, str] = {}
    twice = []
    parameters = tuple(parameters)
    is_about_languages = any(parameter.name == LANGUAGE for parameter in parameters)
    for name, values in arguments.lists():
        if name not in _STRIPPED or (is_about_languages and name == LANGUAGE):
            given[name] = values[0]
        if len(values) > 1:
            twice.append(WrongParameter(name, ", ".join(values), "is given twice"))
    if twice:
        raise ParameterError(*twice)
    return parse_values(parameters, given)
