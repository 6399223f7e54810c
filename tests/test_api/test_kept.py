"""What people keep: by person, ours alone, whole or not at all."""

from __future__ import annotations

import datetime as dt
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from killed import do_and_die
from sqlalchemy import text

from api.access.database import Database, DatabaseError, find_database
from api.access.kept import MOST_KEPT, KeptWays
from api.pages.kept import build_view
from ontology.errors import InputError

DAY = dt.date(2026, 11, 24)
WAY = "/people/p1/routes?to=chief"
PLAN = "/people/p1/schedule?role=chief&levels=entry"


@pytest.fixture
def kept() -> KeptWays:
    return KeptWays(Database(None))


def test_the_latest_stands_first_and_nobody_elses_is_there(kept: KeptWays) -> None:
    kept.keep("p1", WAY, "To  Chief\n, 40 h", DAY, 7)
    kept.keep("p1", PLAN, "First day", DAY, 8)
    assert [(row.address, row.words, row.day, row.revision) for row in kept.list("p1")] == [
        (PLAN, "First day", DAY, 8),
        (WAY, "To Chief , 40 h", DAY, 7),
    ]
    assert kept.list("p2") == ()


def test_what_is_kept_again_is_kept_once_with_the_words_of_now(kept: KeptWays) -> None:
    kept.keep("p1", WAY, "old", DAY, 1)
    kept.keep("p1", PLAN, "plan", DAY, 1)
    kept.keep("p1", WAY, "new", DAY + dt.timedelta(days=1), 2)
    assert [row.words for row in kept.list("p1")] == ["new", "plan"]


def test_only_ones_own_can_be_removed(kept: KeptWays) -> None:
    kept.keep("p1", WAY, "way", DAY, 1)
    (row,) = kept.list("p1")
    assert kept.remove("p2", row.number) is False
    assert kept.remove("p1", row.number) is True
    assert kept.list("p1") == ()


@pytest.mark.parametrize(
    "address",
    [
        "https://elsewhere.example/people/p1/routes?to=chief",
        "//elsewhere.example/people/p1/routes?to=chief",
        "/people/p2/routes?to=chief",
        "/people/p1/routes",
        "/people/p1/gap?role=chief",
        "/people/p1/routes?to=chief\r\nSet-Cookie: a=b",
        "/people/p1/routes?to=\\evil",
        "/people/p1/routes?to=é",
        "/people/p1/routes?to=" + "x" * 2000,
        "",
    ],
)
def test_an_address_that_is_not_ones_own_way_or_plan_is_not_kept(kept: KeptWays, address: str) -> None:
    with pytest.raises(InputError) as caught:
        kept.keep("p1", address, "way", DAY, 1)
    assert caught.value.context["parameter"] == "address"
    assert kept.list("p1") == ()


def test_an_id_is_quoted_as_pages_quote_it(kept: KeptWays) -> None:
    kept.keep("a/b c", "/people/a%2Fb%20c/routes?to=chief", "way", DAY, 1)
    assert len(kept.list("a/b c")) == 1


def test_words_are_needed_and_there_is_an_end_to_what_is_kept(kept: KeptWays) -> None:
    with pytest.raises(InputError):
        kept.keep("p1", WAY, " \n", DAY, 1)
    for n in range(MOST_KEPT):
        kept.keep("p1", f"{WAY}{n}", "way", DAY, 1)
    with pytest.raises(InputError, match="remove one first"):
        kept.keep("p1", WAY, "one more", DAY, 1)
    kept.keep("p1", f"{WAY}0", "again", DAY, 1)
    assert len(kept.list("p1")) == MOST_KEPT


def test_quotes_are_only_text(kept: KeptWays) -> None:
    kept.keep("p1", WAY, "'); DROP TABLE kept; --", DAY, 1)
    assert kept.list("p1")[0].words == "'); DROP TABLE kept; --"
    assert kept.list("p1' OR '1'='1") == ()


def test_the_database_lies_beside_the_store_for_its_owner_alone(tmp_path: Path) -> None:
    path = find_database(tmp_path / "store")
    assert path == tmp_path / "store-access" / "access.sqlite"
    KeptWays(Database(path)).keep("p1", WAY, "way", DAY, 1)
    assert stat.S_IMODE(os.stat(path.parent).st_mode) == 0o700
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o600
    assert [row.words for row in KeptWays(Database(path)).list("p1")] == ["way"]
    assert find_database(None) is None


def test_what_was_told_as_kept_is_there_after_the_process_is_killed(tmp_path: Path) -> None:
    path = tmp_path / "store-access" / "access.sqlite"
    do_and_die(
        path,
        "import datetime\nfrom api.access.database import Database\nfrom api.access.kept import KeptWays\n"
        f"KeptWays(Database(path)).keep('p1', {WAY!r}, 'way', datetime.date(2026, 11, 24), 1)",
    )
    assert [row.words for row in KeptWays(Database(path)).list("p1")] == ["way"]


def test_many_threads_and_two_openings_keep_everything(tmp_path: Path) -> None:
    path = tmp_path / "access" / "access.sqlite"
    both = [KeptWays(Database(path)), KeptWays(Database(path))]
    with ThreadPoolExecutor(8) as pool:
        list(
            pool.map(
                lambda n: both[n % 2].keep(f"p{n % 4}", f"/people/p{n % 4}/routes?to=r{n}", "w", DAY, 1), range(40)
            )
        )
    assert [len(both[0].list(f"p{n}")) for n in range(4)] == [10] * 4


def test_a_database_of_a_later_program_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "access.sqlite"
    Database(path).change(text("PRAGMA user_version = 99"))
    with pytest.raises(DatabaseError, match="later version"):
        Database(path)


def test_each_row_says_whether_the_data_have_changed(kept: KeptWays) -> None:
    kept.keep("p1", WAY, "way", DAY, 6)
    kept.keep("p1", PLAN, "plan", DAY, 7)
    view = build_view(kept.list("p1"), revision=7)
    assert view.lead == "You have kept 1 way and 1 plan."
    assert [(row.kind, row.status.split(":")[0]) for row in view.rows] == [
        ("Plan", "The data are the same as then."),
        ("Way", "The data have changed since"),
    ]
    assert build_view((), 7).lead == "You have kept nothing yet."
