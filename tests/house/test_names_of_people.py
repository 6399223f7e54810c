"""The name of a person is read in one room, where it can be decided who may read it: seen while all is asked."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from rest_company import ANSWERS, ROWS, build_company

from api.app import create_app
from api.questions import list_questions
from ontology.model.records import Person

ROOT = Path(__file__).resolve().parents[2]
#: Modules that may read it: naming and searching, the checks of what is stored, and what writes a person's own record.
MAY_READ = re.compile(
    r"ontology\.(snapshot\.(names|search|name_index)|checks\.|mapping\.|model\.)|dataclasses|loaders\."
    r"|api\.(http\.record_schemas|pages\.record_cells)"
)
#: What reads it in the text of the program: the name of a person, under the names people are given there.
_READS = re.compile(
    r"\b(person|someone|learner|coach|member|newcomer|holder|there|snapshot\.people\[[^]]*\]|people\[[^]]*\])\.name\b"
)
#: A reference to a record has a name too, and that came from `Names`.
_REFS = re.compile(r"\b((member|row|view|one)\.)?person\.name\b")


@pytest.fixture
def readers(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """The modules that read the name of a person."""
    found: set[str] = set()
    slot = Person.name

    def read(person: Person) -> str:
        module = sys._getframe(1).f_globals.get("__name__", "?")
        if not MAY_READ.match(module):
            found.add(f"{module}:{sys._getframe(1).f_lineno}")
        return str(slot.__get__(person, Person))

    monkeypatch.setattr(Person, "name", property(read, slot.__set__))
    return found


def list_addresses() -> list[str]:
    """Return every answer in every form, and every page of the site."""
    addresses = []
    for address in ANSWERS:
        name = address.partition("?")[0].rsplit("/", 1)[1]
        mark = "&" if "?" in address else "?"
        files = next(one.files for one in list_questions() if one.segment.rpartition("/")[2] == name)
        forms = ("json", "html", "xlsx", *files)
        addresses += [f"{address}{mark}format={form}" for form in forms]
        addresses += [address.removeprefix("/api")]
        path, _, asked = address.partition("?")
        addresses += [f"{path}/diagram?{asked}{'&' if asked else ''}format=dot"]
    app = create_app(build_company())
    for rule in app.url_map.iter_rules():
        if "GET" in (rule.methods or ()) and not rule.rule.startswith(("/api/browse", "/static")):
            table = rule.rule.split("/")[2 if rule.rule.startswith("/api/") else 1].replace("-", "_")
            known = ROWS.get(table, [{}])[0].get("id", "p1")
            addresses.append(re.sub(r"<[^>]+>", str(known), rule.rule))
    return addresses


def test_a_name_is_read_in_its_room_alone(readers: set[str]) -> None:
    client = create_app(build_company()).test_client()
    told = [client.get(address, buffered=True).status_code for address in list_addresses()]
    assert told.count(200) > len(told) / 2
    assert readers == set()


def test_nothing_else_in_the_program_reads_one() -> None:
    found = []
    for room in ("api", "loaders", "ontology"):
        for path in sorted((ROOT / room).rglob("*")):
            module = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            if path.suffix not in (".py", ".html") or MAY_READ.match(module):
                continue
            text = path.read_text("utf-8")
            text = _REFS.sub("", text) if path.suffix == ".html" else text
            found += [f"{module}: {match.group()}" for match in _READS.finditer(text)]
    assert found == []
