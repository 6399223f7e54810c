"""What is kept about the person one looks as: as a page, and to take away in three forms. Imports Flask."""

from __future__ import annotations

from typing import Any, Final

from flask import Blueprint, Response

from api.access.actor import Actor
from api.errors import ParameterError, WrongParameter
from api.http.actors import get_actor
from api.http.collection import COLLECTIONS
from api.http.context import get_desk, get_graph, get_request
from api.http.linked_data import dump_json_ld
from api.http.load_desk import get_load_desk
from api.json_text import dump_json
from api.pages.my_data import build_my_data, describe_my_data, list_subjects
from api.site.kept import get_kept
from api.site.loads import get_sender
from api.site.sending import send_page
from loaders.tables.sheets_of_rows import Sheet, build_book
from loaders.tables.table_writers import format_value
from ontology.about_person import AboutPerson, collect_about
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
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
    snapshot = get_desk().get_state().snapshot
    about = collect_about(snapshot, actor.person)
    if form:
        return _send(form, actor, snapshot, about)
    lives = find_personal_lives(get_graph().store, list(list_subjects(about)))
    n_kept = len(get_kept().list(actor.person))
    n_loads = len(get_load_desk().kept.list_of(get_sender(actor)))
    return send_page(describe_my_data(build_my_data(snapshot, actor.person, about, lives, n_kept, n_loads)))


def _send(form: str, actor: Actor, snapshot: Snapshot, about: AboutPerson) -> Response:
    media_type, suffix = _FORMS[form]
    content = _BUILDERS[form](actor, snapshot, about)
    headers = {
        "Content-Disposition": f'attachment; filename="my-data.{suffix}"',
        "Cache-Control": "private, no-store",
        "Vary": "Cookie",
    }
    return Response(content, content_type=media_type, headers=headers)


def _build_json_ld(actor: Actor, snapshot: Snapshot, about: AboutPerson) -> bytes:
    quads = [
        quad
        for name, records in about.own.items()
        for record in records
        for quad in COLLECTIONS[name].build_quads(record)
    ]
    return dump_json_ld(quads)


def _build_json(actor: Actor, snapshot: Snapshot, about: AboutPerson) -> bytes:
    kept = [
        {"address": one.address, "words": one.words, "day": one.day.isoformat()}
        for one in get_kept().list(actor.person)
    ]
    told: dict[str, Any] = {
        "person": actor.person,
        "revision": snapshot.revision,
        "records": {
            name: [COLLECTIONS[name].dump_item(record) for record in records] for name, records in about.own.items()
        },
        "named": [
            {"table": name, "column": column, "day": day, "competency": competency}
            for name, column, day, competency in _list_named(about)
        ],
        "kept": kept,
    }
    return dump_json(told)


def _list_named(about: AboutPerson) -> list[tuple[str, str, str, str]]:
    """Return where the person is named for others: table, column, day and competency, of others nothing more."""
    return [
        (one.table, one.column, str(one.day or ""), str(getattr(one.record, "competency", ""))) for one in about.named
    ]


def _build_workbook(actor: Actor, snapshot: Snapshot, about: AboutPerson) -> bytes:
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
    named = Sheet("named for others", ("table", "column", "day", "competency"), _list_named(about))
    kept = [(one.address, one.words, one.day) for one in get_kept().list(actor.person)]
    return build_book([*sheets, named, Sheet("kept ways and plans", ("address", "words", "day"), kept)])


_BUILDERS: Final = {"json-ld": _build_json_ld, "json": _build_json, "xlsx": _build_workbook}
