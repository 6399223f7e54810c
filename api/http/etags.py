"""Entity tags and preconditions (RFC 9110, sections 8.8.3 and 13).

A tag belongs to one resource and one media type: it is a hash over the address, the media type and the bytes.
"""

from __future__ import annotations

import hashlib

from flask import Request, Response

from ontology.errors import PreconditionMissingError, StaleError


def compute_etag(address: str, media_type: str, content: bytes) -> str:
    """Return the strong tag (without quotes) of a representation."""
    digest = hashlib.sha256()
    for part in (address.encode(), media_type.encode(), content):
        digest.update(len(part).to_bytes(8, "big"))
        digest.update(part)
    return digest.hexdigest()[:32]


def has_tag(request: Request) -> bool:
    """Whether the caller says which representation it has."""
    return "HTTP_IF_NONE_MATCH" in request.environ


def is_unchanged(request: Request, etag: str) -> bool:
    """Whether If-None-Match says that the caller has this representation already (weak comparison)."""
    if not has_tag(request):
        return False
    tags = request.if_none_match
    return bool(tags) and (tags.star_tag or tags.contains_weak(etag))


def build_not_modified(etag: str, *, is_weak: bool = False) -> Response:
    """Return the 304 response that carries the tag."""
    response = Response(status=304)
    response.set_etag(etag, weak=is_weak)
    return response


def require_match(request: Request, etag: str | None) -> None:
    """Check a PUT or DELETE against the present state of its resource.

    Parameters
    ----------
    request : Request
        An existing resource needs If-Match, a new one ``If-None-Match: *``.
    etag : str or None
        Tag of the present representation; None where there is no such resource.

    Raises
    ------
    PreconditionMissingError
        The header that is wanted is missing.
    StaleError
        It names another state.
    """
    if request.headers.get("If-Match") is not None:
        tags = request.if_match
        _require_present(etag, etag is not None and (tags.star_tag or tags.contains(etag)))
    elif request.headers.get("If-None-Match") is not None and request.if_none_match.star_tag:
        _require_absent(etag)
    elif etag is None:
        raise PreconditionMissingError("A PUT that makes a new record must say so: send If-None-Match: *.")
    else:
        raise PreconditionMissingError("Changing or deleting a record needs If-Match with the tag it was read with.")


def require_state(state: str, etag: str | None) -> None:
    """Check a form's change, by the rule of `require_match`: `state` is the tag it was read with, "" for a new record.

    Raises
    ------
    StaleError
        The record is in another state.
    """
    if state:
        _require_present(etag, state == etag)
    else:
        _require_absent(etag)


def _require_present(etag: str | None, is_same: bool) -> None:
    if etag is None:
        raise StaleError("This record does not exist (any more); to make a new one send If-None-Match: *.")
    if not is_same:
        raise StaleError("The record has changed since you read it; read it again, then repeat the change.", etag=etag)


def _require_absent(etag: str | None) -> None:
    if etag is not None:
        raise StaleError("The record exists already; to replace it send If-Match with its tag.", etag=etag)
