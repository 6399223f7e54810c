"""Where commands ask the server of a store in use: one address that answers to the secret in the store's folder. Flask.

To everyone else there is nothing at this address.
"""

from __future__ import annotations

import hmac
import json

from flask import Blueprint, Response
from werkzeug.exceptions import NotFound

from api.errors import build_problem, get_exit_code, get_kind, tell_details
from api.http.access_context import get_access
from api.http.context import get_desk, get_request
from api.terminal.answering import answer_call
from api.terminal.call import read_call
from api.terminal.command_desk import CommandDesk
from api.terminal.served_note import ADDRESS, SECRET, ServedNote
from ontology.errors import NewelError


def build_window(note: ServedNote) -> Blueprint:
    """Return the blueprint that answers the calls of commands which know the note's secret."""
    blueprint = Blueprint("command-line", __name__)
    secret = note.secret.encode()

    def view() -> Response:
        request = get_request()
        if not hmac.compare_digest(request.headers.get(SECRET, "").encode(), secret):
            raise NotFound
        try:
            content = answer_call(_build_desk(), read_call(request.get_data()))
        except NewelError as error:
            told = {"detail": tell_details(error), "problem": build_problem(error), "exit_code": get_exit_code(error)}
            return Response(json.dumps(told), get_kind(error).status, mimetype="application/json")
        return Response(content, mimetype="application/octet-stream", headers={"Cache-Control": "private, no-store"})

    blueprint.add_url_rule(ADDRESS, "answer", view, methods=["POST"])
    return blueprint


def _build_desk() -> CommandDesk:
    """Return the desk of who may read the store's folder, with the places of the server's for slow answers."""
    server, access = get_desk(), get_access()
    desk = CommandDesk(server.graph, server.settings, access.database if access is not None else None)
    desk.gate = server.gate
    return desk
