"""What is kept about the person one looks as: as a page, and to take away in three forms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from flask import Blueprint, Response

from api.access.actor import Actor
from api.access.looks import Looks
from api.desk.desk import get_utc_day
from api.errors import ParameterError, WrongParameter
from api.http.access_context import get_access
from api.http.actors import get_actor
from api.http.collection import COLLECTIONS
from api.http.context import get_desk, get_graph, get_request
from api.http.linked_data import dump_json_ld
from api.http.load_desk import get_load_desk
from api.json_text import dump_json
from api.pages.about_me import Beside, Part, build_parts, build_quads
from api.pages.my_data import build_my_data, describe_my_data, list_subjects
from api.site.kept import get_kept
from api.site.loads import get_sender
from api.site.sending import send_page
from loaders.tables.sheets_of_rows import Sheet, build_book
from loaders.tables.table_writers import format_value
from ontology.about_person import AboutPerson, collect_about
from ontology.model.tables import TABLES
from ontology.store.lives import find_personal_lives

__all__ = ["build_blueprint"]

_FORMS: Final = {
    "json-ld": ("application/ld+json", "jsonld"),
    "json": ("application/json", "json"),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "xlsx"),
}


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("my_data", __name__)
    blueprint.add_url_rule("/my-data", "show", show_my_data)
    return blueprint


def show_my_data() -> Response:
    """Show what is kept about who looks, or send it in the form asked for."""
    actor, form = get_actor(), get_request().args.get("format", "")
    if form and form not in _FORMS:
        raise ParameterError(WrongParameter("format", form, f"must be one of {', '.join(_FORMS)}"))
    if not actor.person:
        return send_page(describe_my_data(None))
    state = get_desk().get_state()
    snapshot, person = state.snapshot, actor.person
    # where they are named for others stands in records that they may not see; of these the day alone is told
    about = collect_about(state.get_whole(), person)
    past = get_desk().graph.past
    found = find_personal_lives(get_graph().store, list(list_subjects(about)))
    lives = {subject: past.name_authors(commits) for subject, commits in found.items()}
    parts = build_parts(snapshot, about, lives, _find_beside(actor))
    if form:
        return _send(form, person, about, parts)
    view = build_my_data(snapshot, person, about, lives, parts, is_open=get_access() is None)
    return send_page(describe_my_data(view))


def _find_beside(actor: Actor) -> Beside:
    """Return what is kept about who looks beside the store."""
    access, kept, today = get_access(), get_kept(), get_utc_day()
    files = [(file, load.ends_at) for load in get_load_desk().kept.list_of(get_sender(actor)) for file in load.files]
    database = kept.database if access is None else access.database
    looks = Looks(database).list(actor.person)
    beside = Beside(looks, kept=kept.list(actor.person), files=files)
    if access is None:
        return beside
    return replace(
        beside,
        shown=[one.share for one in access.shares.list(actor.person, today)],
        account=access.accounts.get(actor.account),
        sessions=access.sessions.list(actor.account),
        tokens=access.tokens.list(actor.account),
    )


def _send(form: str, person: str, about: AboutPerson, parts: Sequence[Part]) -> Response:
    media_type, suffix = _FORMS[form]
    content = _BUILDERS[form](person, about, parts)
    headers = {
        "Content-Disposition": f'attachment; filename="my-data.{suffix}"',
        "Cache-Control": "private, no-store",
        "Vary": "Cookie",
    }
    return Response(content, content_type=media_type, headers=headers)


def _build_json_ld(person: str, about: AboutPerson, parts: Sequence[Part]) -> bytes:
    quads = [
        quad
        for name, records in about.own.items()
        for record in records
        for quad in COLLECTIONS[name].build_quads(record)
    ]
    return dump_json_ld([*quads, *build_quads(person, parts)])


def _build_json(person: str, about: AboutPerson, parts: Sequence[Part]) -> bytes:
    told: dict[str, Any] = {
        "person": person,
        "records": {
            name: [COLLECTIONS[name].dump_item(record) for record in records] for name, records in about.own.items()
        },
    }
    for part in parts:
        names = [name.replace(" ", "_") for name in part.columns]
        told[part.name] = [dict(zip(names, row, strict=True)) for row in part.rows]
    return dump_json(told)


def _build_workbook(person: str, about: AboutPerson, parts: Sequence[Part]) -> bytes:
    sheets = [
        Sheet(
            name,
            tuple(column.name for column in TABLES[name].columns),
            [
                tuple(format_value(column, getattr(record, column.attribute)) for column in TABLES[name].columns)
                for record in records
            ],
        )
        for name, records in about.own.items()
    ]
    return build_book([*sheets, *(Sheet(f"about {part.name}", part.columns, list(part.rows)) for part in parts)])


_BUILDERS: Final = {"json-ld": _build_json_ld, "json": _build_json, "xlsx": _build_workbook}
