"""The page of a slow answer under way, and the one way by which pages ask what may take long."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any, Final, cast

from flask import Blueprint, Response, current_app, redirect
from werkzeug.exceptions import BadRequest, HTTPException

from api.desk.computations import Computations, StillComputing
from api.desk.desk import Answer, Enquiry
from api.errors import BusyError
from api.http.actors import get_actor
from api.http.context import get_desk, get_request
from api.pages.computing import build_view, describe_computing, get_address
from api.site.sending import send_page

__all__ = ["ask_if_quick", "ask_or_compute", "build_blueprint", "get_computations"]

#: Under which name an application keeps its computations among its extensions.
_EXTENSION: Final = "newel computations"


class _ComputedElsewhere(HTTPException):
    """Ends a view: its answer takes longer than a page waits, and the browser is sent to where that is told."""

    code = HTTPStatus.SEE_OTHER

    def __init__(self, number: int) -> None:
        super().__init__("The answer is still being computed.")
        self._address = get_address(number)

    def get_headers(self, *_: Any, **__: Any) -> list[tuple[str, str]]:
        """Return where it is told how far it is."""
        return [("Location", self._address), ("Cache-Control", "no-store"), ("Content-Type", "text/html")]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("computing", __name__)
    blueprint.add_url_rule("/computing/<int:number>", "look", _show)
    blueprint.add_url_rule("/computing/<int:number>", "act", _act, methods=["POST"])
    return blueprint


def ask_or_compute(enquiry: Enquiry) -> Answer:
    """Return the answer to a question, for a page: the one way to ask what may take long.

    A quick question is answered at once. A slow one is computed in the background: what is there within a second is
    returned; for the rest the view ends here (an exception that Flask answers), and the browser goes on to the page
    that tells how far it is. From there it comes back to this very address, where the same call returns at once what
    was kept. So a view calls it before it does anything that costs, and may call it for several questions in a row::

        answer = ask_or_compute(receive(question, PERSON, person_id))

    Only a view that answers GET may ask so: the address is asked again.

    Raises
    ------
    BusyError
        Too many wait already.
    InputError
        The question cannot be answered as asked.
    """
    if not enquiry.question.is_slow:
        return get_desk().answer(enquiry)
    request = get_request()
    address = request.full_path if request.query_string else request.path
    try:
        return get_computations().ask(enquiry, address)
    except StillComputing as still:
        raise _ComputedElsewhere(still.number) from None


def ask_if_quick(enquiry: Enquiry) -> Answer | None:
    """Return the answer to a question where it is there within a second; None where it is computed on.

    For what stands beside the answer of a page: the page does without it, and has it when it is asked for again.
    """
    request = get_request()
    try:
        return get_computations().ask(enquiry, request.full_path if request.query_string else request.path)
    except (StillComputing, BusyError):
        return None


def get_computations() -> Computations:
    """Return the computations of this application."""
    extensions = current_app.extensions
    if _EXTENSION not in extensions:
        extensions.setdefault(_EXTENSION, Computations(get_desk()))
    return cast(Computations, extensions[_EXTENSION])


def _show(number: int) -> Response:
    """Show how far it is; lead on where it is done."""
    progress = get_computations().get_progress(number, get_actor())
    if progress.phase == "done" or progress.enquiry is None:
        return _lead_to(progress.address)
    view = build_view(progress, get_desk().settings.time_limit_max_s)
    page = describe_computing(view, progress.enquiry)
    return send_page(page, status=HTTPStatus.ACCEPTED if view.is_under_way else HTTPStatus.OK)


def _act(number: int) -> Response:
    """Cancel it, or compute it again."""
    act = get_request().form.get("act")
    if act == "cancel":
        get_computations().cancel(number, get_actor())
        return _lead_to(get_address(number))
    if act == "again":
        return _lead_to(get_computations().forget(number, get_actor()))
    raise BadRequest("Press Cancel, or Compute it again.")


def _lead_to(address: str) -> Response:
    response = cast(Response, redirect(address, HTTPStatus.SEE_OTHER))
    response.headers["Cache-Control"] = "no-store"
    return response
