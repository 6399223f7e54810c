"""The pages on which tables are loaded: choose a file, see what was found and what it would do, store it. Flask."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Any, Final

from flask import Blueprint, Response, redirect, request
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.wrappers import Response as PlainResponse

from api.access.actor import Actor
from api.desk.names import count
from api.errors import get_kind
from api.http.actors import get_actor, get_sight, get_who
from api.http.context import get_desk, get_graph, get_settings
from api.http.kept_loads import SUFFIXES, KeptLoad
from api.http.load_desk import Seen, UnderWay, get_load_desk, open_load_desk
from api.http.load_rights import find_closed
from api.pages.loads import TRAIL, Moved, build_load_view, build_moved, describe_load
from api.pages.page import Page
from api.site.sending import send_page
from loaders.pipeline import LoadCheck
from loaders.report import LoadReport
from loaders.tables.findings_file import write_findings
from loaders.tables.template import export_template
from ontology.errors import InputError, NewelError
from ontology.store.history import read_commits

__all__ = ["build_blueprint", "get_sender"]

_BOOK: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_LONGEST_PURPOSE: Final = 300


def build_blueprint() -> Blueprint:
    """Return the blueprint of the pages on which tables are loaded."""
    blueprint = Blueprint("loads", __name__)
    blueprint.record_once(lambda state: open_load_desk(state.app))
    blueprint.add_url_rule("/loads/new", "new", show_new)
    blueprint.add_url_rule("/loads/new", "send", receive_files, methods=["POST"])
    blueprint.add_url_rule("/loads/template.xlsx", "template", send_template)
    blueprint.add_url_rule("/loads/<int:n>", "load", show_load)
    blueprint.add_url_rule("/loads/<int:n>/findings.csv", "findings", send_findings)
    blueprint.add_url_rule("/loads/<int:n>/store", "store", store_load, methods=["POST"])
    blueprint.add_url_rule("/loads/<int:n>/remove", "remove", remove_load, methods=["POST"])
    return blueprint


def get_sender(actor: Actor) -> str:
    """Return what the loads of somebody are kept under: nobody else sees them."""
    return f"person {actor.person}" if actor.person else actor.name


def _get_load(n: int) -> KeptLoad:
    return get_load_desk().kept.get(n, get_sender(get_actor()))


def _redirect(address: str) -> PlainResponse:
    return redirect(address, 303)


def show_new() -> Response:
    """Show the form on which files are chosen."""
    return _send_form(request.args.get("instead", ""))


def _send_form(instead: str, fault: str = "", status: int = 200) -> Response:
    values: dict[str, Any] = {
        "fault": fault,
        "instead": instead if instead.isdecimal() else "",
        "accept": ",".join(SUFFIXES),
        "most": f"{get_settings().max_upload_bytes / 1e6:,.0f}",
        "kept": get_load_desk().kept.list_of(get_sender(get_actor())),
    }
    return send_page(Page("load_new.html", values, way="framework", trail=TRAIL[:1]), status=status)


def receive_files() -> PlainResponse:
    """Keep what was sent and lead to what was found in it; a mended file takes the place of its earlier one."""
    most = get_settings().max_upload_bytes
    request.max_content_length = most
    try:
        files = request.files.getlist("files")
        instead = request.form.get("instead", "")
    except RequestEntityTooLarge:
        return _send_form("", f"The files have more than {most / 1e6:,.0f} MB together; send less at once.", 413)
    kept = get_load_desk().kept
    earlier = _find_earlier(instead)
    try:
        load = kept.keep(
            get_sender(get_actor()), [(file.filename or "", file.stream) for file in files if file.filename]
        )
    except NewelError as error:
        return _send_form(instead, error.detail, get_kind(error).status)
    if earlier is not None:
        get_load_desk().remove(earlier)
    return _redirect(f"/loads/{load.n}")


def _find_earlier(instead: str) -> KeptLoad | None:
    loads = get_load_desk().kept.list_of(get_sender(get_actor()))
    return next((load for load in loads if str(load.n) == instead and load.stored is None), None)


def show_load(n: int) -> Response:
    """Show what was found in a load, or what was stored of it."""
    load = _get_load(n)
    if load.stored is not None:
        return _send_stored(load)
    seen = get_load_desk().see(load)
    if isinstance(seen, UnderWay):
        return _send_waiting(load, seen)
    closed = _find_closed(seen)
    if closed:
        get_load_desk().remove(load)
        return _send_form("", closed, 403)
    then = request.args.get("seen", "")
    return _send_load(load, seen, then=int(then) if re.fullmatch("[0-9]{1,9}", then) else None)


def _find_closed(seen: Seen) -> str:
    """Return why what was found in a load may not be shown to who sent it; "" where it may."""
    check = seen.check
    reports = [] if check is None else [check.whole, *([check.rest] if check.rest is not None else [])]
    return find_closed(get_sight(), iter(reports))


def _send_load(load: KeptLoad, seen: Seen, *, then: int | None = None, purpose: str = "", fault: str = "") -> Response:
    view = build_load_view(
        get_desk().get_state().snapshot,
        n=load.n,
        files=load.files,
        ends_at=load.ends_at,
        revision=seen.revision,
        check=seen.check,
        tables=seen.tables,
        fault=seen.fault,
        moved=None if then is None or then >= seen.revision else _find_moved(load, seen, then),
    )
    return send_page(describe_load(view, purpose=purpose, fault=fault), status=422 if fault else 200)


def _find_moved(load: KeptLoad, seen: Seen, then: int) -> Moved:
    earlier = get_load_desk().get_seen(load, then)
    later = get_desk().graph.past.name_authors(read_commits(get_graph().store, then))
    commits = [one for one in later if one.revision <= seen.revision]
    snapshot = get_desk().get_state().snapshot
    return build_moved(snapshot, _get_tried(earlier.check if earlier else None), _get_tried(seen.check), commits)


def _get_tried(check: LoadCheck | None) -> LoadReport | None:
    return None if check is None else check.rest if check.whole.is_refused else check.whole


def _send_waiting(load: KeptLoad, under_way: UnderWay) -> Response:
    values = {"n": load.n, "files": load.files, "ends_at": load.ends_at}
    values |= {"what": under_way.what, "seconds": under_way.seconds}
    return send_page(Page("load_waiting.html", values, way="framework", trail=TRAIL), status=202)


def _send_stored(load: KeptLoad) -> Response:
    stored = load.stored
    assert stored is not None
    parts = [count(stored.n_new, "new row")] if stored.n_new else []
    parts += [f"{stored.n_changed:,} changed"] if stored.n_changed else []
    title = f"Stored: {', '.join(parts) or 'nothing that was not there already'}"
    values = {"title": title, "files": load.files, "stored": stored}
    return send_page(Page("load_stored.html", values, way="framework", trail=TRAIL))


def store_load(n: int) -> PlainResponse:
    """Store a load or its sound rest, against the state that was looked at; then lead to what came of it."""
    load = _get_load(n)
    if load.stored is not None:
        return _redirect(f"/loads/{n}")
    revision, what = request.form.get("revision", ""), request.form.get("what", "")
    if not re.fullmatch("[0-9]{1,9}", revision) or what not in ("all", "rest"):
        raise InputError("The page of a load says which state it was checked against; go back to it.")
    desk = get_load_desk()
    seen = desk.see(load)
    if isinstance(seen, UnderWay):
        return _redirect(f"/loads/{n}")
    if seen.revision != int(revision) or _find_closed(seen):
        return _redirect(f"/loads/{n}?seen={revision}")
    purpose = " ".join(request.form.get("purpose", "").split())[:_LONGEST_PURPOSE]
    tried = _get_tried(seen.check)
    if tried is None or (what == "all" and seen.check is not None and seen.check.whole.is_refused):
        return _redirect(f"/loads/{n}")
    if not purpose and tried.holds_people:
        return _send_load(load, seen, fault="Say what the data about people are needed for.")
    why = f"load {', '.join(load.files)}" + (f": {purpose}" if purpose else "")
    under_way = desk.store(load, int(revision), skip_faulty=what == "rest", who=get_who(), why=why)
    is_well = under_way is not None or _get_load(n).stored is not None
    return _redirect(f"/loads/{n}" if is_well else f"/loads/{n}?seen={revision}")


def remove_load(n: int) -> PlainResponse:
    """Throw a load away."""
    get_load_desk().remove(_get_load(n))
    return _redirect("/loads/new")


def send_findings(n: int) -> PlainResponse:
    """Send the whole list of findings as CSV."""
    load = _get_load(n)
    seen = get_load_desk().see(load) if load.stored is None else None
    if not isinstance(seen, Seen) or seen.check is None or _find_closed(seen):
        return _redirect(f"/loads/{n}")
    return _send_file(write_findings(seen.check.whole), "text/csv; charset=utf-8", f"findings-{n}.csv")


def send_template() -> Response:
    """Send the empty workbook to fill in."""
    with tempfile.TemporaryDirectory(prefix="newel-") as folder:
        content = export_template(Path(folder) / "template.xlsx").read_bytes()
    return _send_file(content, _BOOK, "newel-template.xlsx")


def _send_file(content: bytes, kind: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
    return Response(content, content_type=kind, headers=headers)
