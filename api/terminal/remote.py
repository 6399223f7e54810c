"""Asking the server of a store in use: the call goes to it over the loopback address, and its reply is printed."""

from __future__ import annotations

import http.client
import json
from pathlib import Path
from typing import Any, Final

from api.terminal.call import Call, ToldError, write_call
from api.terminal.served_note import ADDRESS, SECRET, ServedNote, read_note
from ontology.errors import NewelError, StoreLockedError

_CONNECT_WITHIN_S: Final = 5.0
#: Longer than any answer takes with its wait for a turn.
_ANSWER_WITHIN_S: Final = 900.0


def ask_server(store: Path, call: Call, locked: StoreLockedError) -> bytes:
    """Return what the server of a store replies to a call.

    Raises
    ------
    StoreLockedError
        `locked`: there is no server, or it does not answer to the secret in the store's folder.
    ToldError
        What is asked has no answer.
    NewelError
        The server failed at it.
    """
    note = read_note(store)
    if note is None:
        raise locked
    try:
        status, content = _post(note, write_call(call))
    except (OSError, http.client.HTTPException):
        raise locked from None
    if status == http.client.OK:
        return content
    if status == http.client.INTERNAL_SERVER_ERROR:
        raise NewelError("The server of this store failed at the question; what it printed says why.")
    try:
        told: dict[str, Any] = json.loads(content)
        error = ToldError(str(told["detail"]), dict(told["problem"]), int(told["exit_code"]))
    except (ValueError, KeyError, TypeError):
        raise locked from None
    raise error


def _post(note: ServedNote, body: bytes) -> tuple[int, bytes]:
    # no proxies, no redirects: the secret goes to this machine alone
    connection = http.client.HTTPConnection(note.host, note.port, timeout=_CONNECT_WITHIN_S)
    try:
        connection.connect()
        connection.sock.settimeout(_ANSWER_WITHIN_S)
        connection.request("POST", ADDRESS, body, {"Content-Type": "application/json", SECRET: note.secret})
        response = connection.getresponse()
        return response.status, response.read()
    finally:
        connection.close()
