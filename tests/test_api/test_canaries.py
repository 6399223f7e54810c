"""No byte of anyone unseen: every output of every actor is searched for names and ids that stand in no other text.

No page offers its reader what they may not open: what its links lead to answers.

Who may see whom is worked out of the tables beside the company, with nothing of the program that hides them.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from functools import cache, lru_cache

import pytest
from canary_company import ACTORS, EMPLOYEE, OTHER, OTHER_TEAM, TEAM, find_seen, open_canaries, rename
from demonstration_pages import QUESTIONS, list_pages, list_tables
from followed_links import find_closed
from werkzeug.test import TestResponse

from api.access.rights import Kind
from api.http.questions import get_forms
from api.questions import load_question

#: With this begin all words that are looked for.
MARK = "zq"
#: Answers and pictures that are kept, and pages made of them.
KEPT = re.compile(r"/(coverage(-timeline)?|staffing)(/|\?(?!format=(xlsx|ics))|$)")
#: What is told of the framework to whoever asks, and who asks it: one who sees nobody, one who sees many.
ALIKE = re.compile(r"/(mappings/proposals|translations/missing|similar|openapi.json)(\?|$)")
ASK_ALIKE = ("nobody", "reader", "lead", "architect")
#: Pages that answer an actor who has signed in, at the least.
FEWEST_PAGES = 200
#: What is not of the state of the store, asked with somebody's id or words.
_MORE = (
    *("/api/", "/api/openapi.json", "/api/history", "/api/browse/", "/problems", "/words", "/search?q=zq"),
    *(f"/search?q={EMPLOYEE}", f"/search?q={OTHER}&in=people", "/api/find?text=zqanna", "/api/find?text=zqbird001"),
    *(f"/history/people/{EMPLOYEE}", f"/api/history/people/{OTHER}", f"/people/{OTHER}", f"/api/people/{OTHER}/gap"),
    *(f"/api/teams/{OTHER_TEAM}/members", f"/api/teams/{TEAM}/members", "/api/people?as_of=1", "/api/history/1"),
    *(
        f"/api/teams/{TEAM}/coverage?as_of=1&away={OTHER}",
        f"/api/who-can?q=zqanna&team={TEAM}",
        "/account",
        "/accounts",
    ),
    "/api/sparql?query=SELECT%20*%20%7B%20GRAPH%20%3Fg%20%7B%20%3Fs%20%3Fp%20%3Fo%20%7D%20%7D",
    *("/api/sessions/briefing-dec-3/bookings", "/api/courses/spill-response-day/requests"),
)


def iterate_addresses() -> Iterator[str]:
    """Yield every page, every answer in every form, every list and record, and what is asked on purpose."""
    snapshot = open_canaries().snapshot
    yield from (rename(page) for page in list_pages(snapshot))
    yield from (f"/api/{table}?page_size=1000" for table in list_tables())
    for name, page in QUESTIONS.items():
        address, _, query = rename(page).partition("?")
        forms = [one for one in get_forms(load_question(name)) if one != "html"]  # that is the page
        forms += ["dot"] if load_question(name).draw else []
        for form in forms:
            path = f"/api{address}/diagram" if form == "dot" else f"/api{address}"
            yield f"{path}?format={form}" + (f"&{query}" if query else "")
    yield from _MORE


@lru_cache(maxsize=len(ACTORS))
def list_unseen_words(actor: str) -> frozenset[str]:
    """Return what nobody may find: ids and parts of names, all of which begin with the mark and are as long as few."""
    names = open_canaries().names
    unseen = names.keys() - find_seen(actor)
    return frozenset(word.lower() for one in unseen for word in (one, *names[one].split()))


def find_word(text: str, words: frozenset[str]) -> int:
    """Return where one of the words stands in a text, whatever stands around it; -1 where none does."""
    folded, lengths = text.lower(), sorted({len(word) for word in words})
    start = folded.find(MARK)
    while start >= 0 and lengths:
        if any(folded[start : start + length] in words for length in lengths):
            return start
        start = folded.find(MARK, start + 1)
    return -1


def read_all(response: TestResponse) -> str:
    """Return all that a response says: its headers, and the text in its bytes, of a workbook that of every part."""
    content = response.data
    if content[:2] == b"PK":
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            content = b"\n".join(parts.read(name) for name in parts.namelist())
    headers = "\n".join(f"{name}: {value}" for name, value in response.headers)
    return headers + "\n" + content.decode("utf-8", "replace")


def find_trace(response: TestResponse, actor: str, address: str) -> str:
    """Return what stands around a trace of somebody unseen; "" where there is none. What was sent is no trace."""
    text = read_all(response)
    for sent in set(re.findall(rf"{MARK}\w+", address)):
        text = text.replace(sent, "")
    start = find_word(text, list_unseen_words(actor))
    return "" if start < 0 else f"{address}: {text[max(0, start - 60) : start + 40]!r}"


@cache
def ask_before(address: str) -> None:
    """Have the lead, who knows many, ask first: what is kept for one is not told to the next."""
    open_canaries().accounts.sign_in("lead").get(address)


def test_what_is_told_alike_hangs_on_nobody() -> None:
    """Answers from the framework alone: as long as they are, few need to ask them."""
    questions = {name: load_question(name) for name in QUESTIONS}
    alike = [name for name, one in questions.items() if one.needs is Kind.FRAMEWORK and not one.is_of_seen]
    assert alike
    assert all(ALIKE.search(f"/api{QUESTIONS[name]}") for name in alike)
    assert not [name for name in QUESTIONS if name not in alike and ALIKE.search(QUESTIONS[name])]
    lead, reader = (open_canaries().accounts.sign_in(actor) for actor in ("lead", "reader"))
    for name in alike:
        assert lead.get(f"/api{QUESTIONS[name]}").data == reader.get(f"/api{QUESTIONS[name]}").data, name


@pytest.mark.parametrize("actor", ACTORS)
def test_no_output_holds_a_trace_of_anyone_unseen_and_every_link_leads_on(actor: str) -> None:
    client = open_canaries().accounts.sign_in(actor)
    traces, statuses, pages = [], {}, {}
    for address in dict.fromkeys(iterate_addresses()):
        if ALIKE.search(address) and actor not in ASK_ALIKE:
            continue
        if KEPT.search(address):
            ask_before(address)
        response = client.get(address)
        traces.append(find_trace(response, actor, address))
        statuses[address] = response.status_code
        if response.mimetype == "text/html" and not address.startswith("/api"):
            pages[address] = response.text
    assert [trace for trace in traces if trace] == []
    assert len(pages) > FEWEST_PAGES or actor == "nobody"
    assert actor == "nobody" or find_closed(client, pages, statuses) == []


def test_every_word_that_is_looked_for_is_found_wherever_it_stands() -> None:
    words = list_unseen_words("reader")
    assert len(words) == 3 * len(open_canaries().names)
    assert all(word.startswith(MARK) for word in words)
    assert all(find_word(f"zqzz{word.upper()}q", words) == 4 for word in words)
    assert find_word("zqp999x zq zqanna", words) == -1


def test_the_canaries_sing() -> None:
    """Who may see somebody finds them by the same search: it would find what it looks for."""
    accounts = open_canaries().accounts
    lead = accounts.sign_in("lead")
    for address in (
        f"/people/{EMPLOYEE}",
        f"/api/teams/{TEAM}/coverage",
        f"/teams/{TEAM}/coverage",
        "/search?q=zqanna",
    ):
        assert find_trace(lead.get(address), "reader", address), address
    assert find_seen("reader") == frozenset()
    assert EMPLOYEE in find_seen("employee")
    assert OTHER not in find_seen("lead")
    workbook = f"/api/teams/{TEAM}/coverage?format=xlsx"
    assert find_trace(lead.get(workbook), "reader", workbook)


def test_an_answer_says_of_how_many_it_does_not_tell() -> None:
    lead = open_canaries().accounts.sign_in("lead")
    told = lead.get(f"/api/teams/{TEAM}/stand-ins?person={EMPLOYEE}").get_json()
    page = lead.get(f"/teams/{TEAM}/stand-ins?person={EMPLOYEE}").text
    assert told["hidden"]
    assert "you may not see them" in page
