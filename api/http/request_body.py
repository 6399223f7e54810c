"""The JSON object a request brings."""

from __future__ import annotations

import json
from typing import Any, NoReturn

from flask import Request

from api.errors import FieldError, FieldsError, MalformedBodyError, MediaTypeError
from api.http.negotiation import JSON

_MOST_DIGITS = 1_000


def read_json_object(request: Request) -> dict[str, Any]:
    """Return the JSON object (RFC 8259) in a request's body.

    Raises
    ------
    MediaTypeError
        The body is not declared as application/json, or is compressed.
    MalformedBodyError
        It is not JSON: cut off, not UTF-8, a member twice, NaN, or nested too deep.
    FieldsError
        It is JSON, but no object.
    """
    if request.mimetype != JSON:
        raise MediaTypeError(f"Send the body as {JSON}, not {request.mimetype or 'without a Content-Type'}.")
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise MediaTypeError("Send the body without compression.")
    try:
        body = json.loads(
            request.get_data().decode("utf-8"),
            parse_constant=_refuse_constant,
            parse_int=_read_integer,
            object_pairs_hook=_build_object,
        )
    except UnicodeDecodeError:
        raise MalformedBodyError("The body is not UTF-8 text.") from None
    except RecursionError:
        raise MalformedBodyError("The body is nested too deep.") from None
    except json.JSONDecodeError as error:
        raise MalformedBodyError(
            f"The body is not JSON: {error.msg} (line {error.lineno}, column {error.colno})."
        ) from None
    except ValueError as error:
        raise MalformedBodyError(f"The body is not JSON: {error}.") from None
    if not isinstance(body, dict):
        raise FieldsError("The body must be a JSON object.", [FieldError("", None, "must be an object")])
    return body


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a JSON number")


def _read_integer(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ValueError(f"a number has {len(digits):,} digits; at most {_MOST_DIGITS:,} are read")
    return int(digits)


def _build_object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    built = dict(pairs)
    if len(built) < len(pairs):
        raise ValueError("a member is given twice")
    return built
