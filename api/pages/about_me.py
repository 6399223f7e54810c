"""What is kept about somebody besides their records, in parts that page, workbook and linked data tell alike."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from api.access.accounts import Account
from api.access.actor import Share
from api.access.kept import Kept
from api.access.looks import Look
from api.access.sessions import Session
from api.access.tokens import Token
from api.desk.names import Names
from api.desk.record_words import name_record
from api.desk.sheet import Column, Table
from api.desk.table_words import tell_label, tell_one
from api.pages.account_words import list_rights, tell_browser, tell_moment, tell_page, tell_state, to_moment
from api.questions import list_questions
from ontology.about_person import AboutPerson
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.history import Commit

__all__ = ["Beside", "Part", "build_parts", "build_quads", "build_table"]

#: Rows of a part on its page, which stays light; somebody may have assessed hundreds.
_ROWS_SHOWN: Final = 60
_ROW: Final = ns.iri_term(ns.SCHEMA + "StructuredValue")
_VALUE: Final = ns.iri_term(ns.SCHEMA + "PropertyValue")
_HAS: Final = ns.iri_term(ns.SCHEMA + "additionalProperty")
_NAME: Final = ns.iri_term(ns.SCHEMA + "name")
_IS: Final = ns.iri_term(ns.SCHEMA + "value")


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of one kind, every value a text."""

    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    empty: str


@dataclass(frozen=True, slots=True)
class Beside:
    """What is kept beside the store about somebody; `account` is None where nobody signs in."""

    looks: Sequence[Look] = ()
    shown: Sequence[Share] = ()
    kept: Sequence[Kept] = ()
    files: Sequence[tuple[str, dt.datetime]] = ()
    account: Account | None = None
    sessions: Sequence[Session] = ()
    tokens: Sequence[Token] = ()


def build_parts(
    snapshot: Snapshot, about: AboutPerson, lives: Mapping[str, Sequence[Commit]], beside: Beside
) -> tuple[Part, ...]:
    """Return the parts in the order in which they are told.

    Parameters
    ----------
    snapshot : as they see it
    about : their records, and those that name them
    lives : node of a record -> the commits that changed it, the latest first
    beside : what is kept beside the store
    """
    names = Names(snapshot)
    parts = [
        Part(
            "looks",
            "Who looked at you",
            ("when", "who", "at what", "reason"),
            tuple((tell_moment(one.when), one.by, _tell_kind(one.kind), one.reason) for one in beside.looks),
            "Nobody has looked, as far as it was written down.",
        ),
        _build_named(names, about),
        Part(
            "shown",
            "What you show to your lead",
            ("page", "address", "until"),
            tuple((tell_page(one.address, names), one.address, one.until.isoformat()) for one in beside.shown),
            "You show nothing.",
        ),
        Part(
            "kept",
            "Ways and plans you keep",
            ("words", "address", "day"),
            tuple((one.words, one.address, one.day.isoformat()) for one in beside.kept),
            "You keep none. Nobody else sees what you keep.",
        ),
        Part(
            "files",
            "Files you sent to be loaded",
            ("file", "gone by"),
            tuple((file, tell_moment(end)) for file, end in beside.files),
            "None is kept.",
        ),
        _build_changes(snapshot, about, lives),
    ]
    return (*parts, *_build_account(names, beside))


def build_table(part: Part) -> Table:
    """Return a part as the table of a page, of a long one its first rows: all of them stand in what one takes away."""
    columns = tuple(Column(name.capitalize()) for name in part.columns)
    rows = tuple(tuple(text or None for text in row) for row in part.rows[:_ROWS_SHOWN])
    left = len(part.rows) - len(rows)
    title = (
        f"{part.title}: the first {len(rows)} of {len(part.rows):,}, all of them in the files" if left else part.title
    )
    return Table(title, columns, rows, part.empty)


def build_quads(person: str, parts: Sequence[Part]) -> Iterator[Quad]:
    """Yield parts as linked data: each row a schema:StructuredValue, its values schema:PropertyValue."""
    base = ns.record_iri("person", person)
    for part in parts:
        for number, row in enumerate(part.rows, 1):
            node = ns.iri_term(f"{base}/{part.name}/{number}")
            yield ("", node, ns.RDF_TYPE, _ROW)
            yield ("", node, _NAME, ns.text_term(part.title))
            for place, (name, text) in enumerate(zip(part.columns, row, strict=True), 1):
                value = ns.iri_term(f"{base}/{part.name}/{number}/{place}")
                yield ("", node, _HAS, value)
                yield ("", value, ns.RDF_TYPE, _VALUE)
                yield ("", value, _NAME, ns.text_term(name))
                yield ("", value, _IS, ns.text_term(text))


def _build_named(names: Names, about: AboutPerson) -> Part:
    """Return where somebody is named for others: of another person neither name nor level."""
    rows = []
    for one in about.named:
        competency = str(getattr(one.record, "competency", ""))
        day = one.day.isoformat() if one.day is not None else ""
        told = names.competency(competency) if competency else ""
        rows.append((tell_one(TABLES[one.table]).capitalize(), tell_label(one.table, one.column), told, day))
    title = "Where you are named for others"
    return Part("named", title, ("what", "you are named as", "competency", "day"), tuple(rows), "Nowhere else.")


def _build_changes(snapshot: Snapshot, about: AboutPerson, lives: Mapping[str, Sequence[Commit]]) -> Part:
    """Return every change of the records, the latest first."""
    found = []
    for name, records in about.own.items():
        table = TABLES[name]
        for record in records:
            called = (tell_one(table).capitalize(), name_record(snapshot, table, record))
            found += [
                (*called, str(commit.revision), commit.when.date().isoformat(), commit.who)
                for commit in lives.get(ns.iri_term(table.get_iri(record)), ())
            ]
    found.sort(key=lambda row: (-int(row[2]), row))
    columns = ("what", "which", "revision", "day", "by")
    return Part("changes", "What changed your records", columns, tuple(found), "Nothing has changed them.")


def _build_account(names: Names, beside: Beside) -> Iterator[Part]:
    account = beside.account
    if account is None:
        return
    said = [("name", account.name), ("how it stands", tell_state(account))]
    said += [("signs in by", way) for way, has in _list_ways(account) if has]
    said += [("may", sentence) for sentence in list_rights(account, names)]
    yield Part("account", "Your account, without its secrets", ("what", "is"), tuple(said), "")
    sessions = (
        (tell_browser(one.about), tell_moment(to_moment(one.made_at)), tell_moment(to_moment(one.seen_at)))
        for one in beside.sessions
    )
    columns = ("browser", "signed in", "seen last")
    yield Part("sessions", "Where you are signed in", columns, tuple(sessions), "Nowhere.")
    tokens = (
        (
            one.name,
            ", ".join(sorted(kind.value for kind in one.scope.kinds)),
            tell_moment(to_moment(one.ends_at)),
            tell_moment(to_moment(one.used_at)) if one.used_at is not None else "",
        )
        for one in beside.tokens
    )
    yield Part("tokens", "Your tokens for programs", ("name", "for", "ends", "used last"), tuple(tokens), "None.")


def _list_ways(account: Account) -> tuple[tuple[str, Any], ...]:
    return ("a password", account.has_password), ("the company's account", account.has_provider)


def _tell_kind(kind: str) -> str:
    """Return what kind of answer was looked at, by its title where it is a question."""
    titles = {question.name: question.title.rstrip(".") for question in list_questions()}
    titles |= {"people": "your record", "history of people": "the history of your record"}
    return titles.get(kind, kind.replace("_", " ").rstrip("."))
