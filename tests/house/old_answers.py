"""All that commit 0b35e88 could do, asked of this tree once more: answers, records, files, pictures and commands.

A small company is asked each parameter, at some values that are right and one that is wrong; the demonstration is
asked by commands and drawn.
"""

from __future__ import annotations

import os
import signal
import socket
import tempfile
import threading
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Final
from unittest.mock import patch
from urllib.parse import urlencode

from click.testing import CliRunner
from flask.testing import FlaskClient
from picture_cases import (
    SCENARIO,
    ask_framework_pictures,
    ask_large_framework_pictures,
    ask_large_pictures,
    ask_team_pictures,
    iterate_pages,
    load_awkward_scenario,
    load_scenario,
)
from record_cases import CASES
from recorded_answers import TABLES_THEN
from rest_company import build_company
from scenario_questions import DAY, WORDS

from api.app import create_app
from api.desk.parameters import Parameter, list_parameters
from api.questions import load_question
from api.settings import Settings
from api.terminal.program import program

#: What could be asked then.
QUESTIONS: Final = (
    *("gap", "learning-path", "schedule", "development-plan", "similar", "routes", "reachable-roles", "reach-gains"),
    *("coverage", "single-points-of-failure", "staffing", "cross-training", "training-timetable", "coverage-timeline"),
    *("stand-ins", "fragile-needs", "headcount", "rotation", "company-cover", "framework-review", "find"),
)
#: Pictures that came since.
_NEW_PICTURES: Final = ("dues", "session-weeks", "comparison")
#: Of the small company: by table some ids, by parameter a value that is right.
_IDS: Final = {
    "people": ("p1", "p2"),
    "roles": ("operator", "senior"),
    "teams": ("works",),
    "competencies": ("pump", "licence"),
    "courses": ("valve-2", "combined"),
    "places": ("desk",),
    "": ("",),
}
_USUAL: Final = {"role": "operator", "from": "helper", "to": "chief", "text": "works"} | {
    "net_hours": "1600",
    "purpose": "learn",
    "on": "2026-11-24",
}
_VALUES: Final = {"flag": ("yes",), "date": ("2026-12-01", "2027-03-31"), "dates": ("2026-12-24,2026-12-25",)}
_WORD: Final = "?!"


def ask_everything() -> None:
    """Ask it all."""
    small = build_company()
    client = create_app(small).test_client()
    writer = create_app(small, Settings(max_body_bytes=20_000, page_size_default=2, page_size_max=5)).test_client()
    for address in list_addresses():
        client.get(f"/api{address}")
    for address in ("/api", "/api/", "/api/openapi.json", "/health", "/api/nowhere", "/api/browse/", "/problems"):
        client.get(address)
    ask_tags(client)
    for case in CASES:
        if case.path.replace("-", "_") in TABLES_THEN:
            change_records(writer, case.path, case)
    writer.post("/api/roles", data=b"x" * 10, content_type="text/plain")
    writer.post("/api/roles", data=b"{" + b" " * 30_000, content_type="application/json")
    writer.post("/api/roles", data=b"{", content_type="application/json")
    writer.post("/api/roles", json={"id": "x", "label": "X"}, headers={"Origin": "http://elsewhere.example"})
    draw_pictures()
    with tempfile.TemporaryDirectory() as folder:
        run_commands(Path(folder))
    small.close()


def list_addresses() -> Iterator[str]:
    """Yield the addresses of all answers, pictures and lists, right and wrong."""
    for name in QUESTIONS:
        question = load_question(name)
        for kind, asks in question.asks.items():
            parameters = list_parameters(asks)
            given = {p.name: _USUAL[p.name] for p in parameters if p.is_required or p.name == "on"}
            for subject in (*_IDS[kind.value], *(("nowhere", "%21") if kind.value else ())):
                yield from _ask(question.get_path(kind, subject), given, parameters, [*question.files, "html", "xlsx"])
                if question.draw:
                    for more in ("", "layout=paper", "layout=paper&page=99", "format=png", "format=dot", "layout=x"):
                        yield f"{question.get_path(kind, subject)}/diagram?{urlencode(given)}&{more}"
    for table in ("roles", "competencies"):
        yield from (f"/{table}/{_IDS[table][0]}/diagram{more}" for more in ("", "?layout=paper", "?format=png"))
    for table in TABLES_THEN:
        path = table.replace("_", "-")
        yield from (f"/{path}{more}" for more in ("", "?page_size=3", "?page=0", "?label=x", "?format=turtle", "?z=1"))
    for form in ("json-ld", "turtle", "json", "nothing"):
        yield from (f"/roles/operator?format={form}", f"/roles?format={form}")
    yield from ("/people/p1/assessments", "/teams/works/people", "/roles/operator/requirements", "/people?team=x")


def _ask(path: str, given: dict[str, str], parameters: tuple[Parameter, ...], forms: list[str]) -> Iterator[str]:
    yield f"{path}?{urlencode(given)}"
    yield from (f"{path}?{urlencode(given | {'format': form})}" for form in forms)
    yield from (path, f"{path}?{urlencode(given)}&nonsense=1&on=x&on=y")
    for one in parameters:
        for value in (*_find_values(one), _WORD):
            yield f"{path}?{urlencode(given | {one.name: value})}"


def _find_values(parameter: Parameter) -> tuple[str, ...]:
    """Return some values that are right: every word of a choice, the limits of a number, ids of its table."""
    kind = parameter.kind
    if kind.choices:
        return kind.choices
    if kind.name in ("whole", "number"):
        low = max(parameter.minimum, 0)
        return tuple(f"{value:.12g}" for value in (low, low + 1, min(parameter.maximum, 40)))
    if kind.name in ("id", "ids"):
        ids = _IDS[kind.table]
        return (*ids, ",".join(ids), "nowhere")
    if kind.name == "pairs":
        return ("p1,p2:desk",)
    return _VALUES.get(kind.name, ("treatment",))


def ask_tags(client: FlaskClient) -> None:
    """Ask again with the tag of what was told, and with forms by Accept."""
    for address in ("/api/teams/works/coverage", "/api/roles/chief", "/api/teams/works/coverage/diagram"):
        tag = client.get(address).headers["ETag"]
        for headers in ({"If-None-Match": tag}, {"If-None-Match": "*"}, {"Accept": "text/nothing"}, {"Accept": "*/*"}):
            client.get(address, headers=headers)
        client.head(address)
        client.delete(address)


def change_records(writer: FlaskClient, path: str, case: object) -> None:
    """Make, read, replace and remove a record, and send what is refused."""
    new, replaced, wrong = (getattr(case, name) for name in ("new", "replaced", "wrong"))
    item = f"/api/{path}/{getattr(case, 'new_id')}"  # noqa: B009 - a case is what it is there
    for body in ({}, {**new, **wrong}, {**new, "colour": "red", "Birth-Date": "1990"}, [1]):
        writer.post(f"/api/{path}", json=body)
    tag = writer.post(f"/api/{path}", json=new).headers.get("ETag", "")
    writer.post(f"/api/{path}", json=new)
    for headers in ({}, {"If-Match": '"x"'}, {"If-Match": f"W/{tag}"}, {"If-None-Match": "*"}, {"If-Match": tag}):
        writer.put(item, json=replaced, headers=headers)
    for form in ("json-ld", "turtle"):
        writer.get(f"{item}?format={form}")
    for headers in ({}, {"If-Match": tag}, {"If-Match": "*"}):
        writer.delete(item, headers=headers)
    writer.put(item, json=new, headers={"If-None-Match": "*"})
    writer.get(f"/api/{path}?page=2&page_size=2")


def draw_pictures() -> None:
    """Draw every kind of picture of that time, on screen and on paper."""
    shown = load_scenario()
    every = ask_team_pictures(shown) | ask_framework_pictures(shown)
    every |= ask_large_framework_pictures() | ask_large_pictures()
    awkward = load_awkward_scenario()
    for name, draw in (*every.items(), *(ask_team_pictures(awkward) | ask_framework_pictures(awkward)).items()):
        if not name.startswith(_NEW_PICTURES):
            draw()
            list(iterate_pages(draw))


def run_commands(folder: Path) -> None:
    """Run the commands of that time, right and wrong, and serve a store."""
    store = folder / "store"

    def run(*words: str) -> None:
        CliRunner().invoke(program, list(words), env={"NEWEL_STORE": str(store)}, prog_name="newel")

    (folder / "roles.csv").write_text("id,label\nr,R\nr,R\n!,X\n")
    for more in (("--dry-run",), ("--skip-faulty",), ("--as", "csv"), ()):
        run("load", str(folder / "roles.csv"), *more)
    for words in (("load", str(SCENARIO)), ("check",), ("check", "--full", "--json"), ("--help",), ("--version",), ()):
        run(*words)
    for name in ("out.xlsx", "out", "out.ttl", "out.jsonld", "out.rdf", "out.nq", "out.wrong"):
        run("export", str(folder / name))
        run("load", str(folder / name), "--dry-run", "--json")
    for words in (
        ("template", "t.xlsx"),
        ("template", "t"),
        ("backup", "copy"),
        ("backup", "copy"),
        ("restore", "copy"),
    ):
        run(words[0], str(folder / words[1]))
    run("restore", str(folder / "copy"), "--store", str(folder / "other"))
    for name in QUESTIONS:
        for more in ((), ("--json",), ("--help",), ("--to", str(folder / "a.xlsx")), ("--to", str(folder / "a.html"))):
            run(name, *WORDS[name], *more)
        run(name, "no such name", "--json")
        run(name)
    for words in (
        ("gap", "p063", "nowhere"),
        ("gap", "p063", "sampler", "x"),
        ("coverage", "treatment", "--on", "1.1.26"),
    ):
        run(*words, *DAY)
    run("gap", "--from", "sampler", "--role", "laboratory-analyst", *DAY)
    run("coverage", "t", "--store", str(folder / "none"))
    run("demo", "--where")
    run("serve", "--open", "--host", "0.0.0.0")
    serve("serve", "--open", "--store", str(store))
    serve("demo")


def serve(*words: str) -> None:
    """Serve a store, ask it by its real address, and stop it."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]

    def ask() -> None:
        while True:
            time.sleep(0.2)
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/api/roles/sampler").close()
                break
            except OSError:
                continue
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=ask, daemon=True).start()
    # a server ends its process where something hangs: here that is this one, which has more to ask
    with patch("os._exit"):
        CliRunner().invoke(program, [*words, "--port", str(port)], prog_name="newel")
