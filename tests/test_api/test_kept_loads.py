"""Files sent to be loaded are kept for a day, for their sender, within bounds, and across a restart."""

from __future__ import annotations

import datetime as dt
import io
import stat
from pathlib import Path

import pytest

from api.http.kept_loads import KeptLoads, StoredLoad, clean_name
from ontology.errors import ConflictError, InputError, LimitError, NotFoundError

NOON = dt.datetime(2026, 11, 24, 12, tzinfo=dt.UTC)


class Clock:
    def __init__(self) -> None:
        self.now = NOON

    def __call__(self) -> dt.datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def kept(tmp_path: Path, clock: Clock) -> KeptLoads:
    return KeptLoads(tmp_path / "uploads", most=3, most_bytes=100, get_now=clock)


def send(kept: KeptLoads, *names: str, size: int = 10, sender: str = "ada") -> int:
    return kept.keep(sender, [(name, io.BytesIO(b"x" * size)) for name in names]).n


def test_who_sent_it_reads_it_and_nobody_else(kept: KeptLoads) -> None:
    n = send(kept, "people.csv")
    assert kept.get(n, "ada").files == ("people.csv",)
    assert [load.n for load in kept.list_of("ada")] == [n]
    assert kept.list_of("ben") == []
    with pytest.raises(NotFoundError) as foreign:
        kept.get(n, "ben")
    with pytest.raises(NotFoundError) as unknown:
        kept.get(99, "ben")
    assert foreign.value.detail == unknown.value.detail.replace("99", str(n))


def test_after_a_day_it_is_gone_with_its_files(kept: KeptLoads, clock: Clock, tmp_path: Path) -> None:
    n = send(kept, "people.csv")
    clock.now = NOON + dt.timedelta(hours=23, minutes=59)
    assert kept.get(n, "ada").ends_at == NOON + dt.timedelta(hours=24)
    clock.now = NOON + dt.timedelta(hours=24)
    with pytest.raises(NotFoundError):
        kept.get(n, "ada")
    assert not (tmp_path / "uploads" / str(n)).exists()
    # its number does not come again: an old link leads to nothing else
    assert send(kept, "people.csv") == n + 1


def test_a_restart_loses_none_and_removes_what_was_left_half_written(kept: KeptLoads, clock: Clock) -> None:
    n = send(kept, "people.csv", "roles.csv")
    folder = kept.get_paths(kept.get(n, "ada"))[0].parent.parent
    (folder / "7").mkdir()
    (folder / "7" / "people.csv").write_text("half")
    again = KeptLoads(folder, most=3, most_bytes=100, get_now=clock)
    assert again.get(n, "ada") == kept.get(n, "ada")
    assert [path.read_bytes() for path in again.get_paths(again.get(n, "ada"))] == [b"x" * 10] * 2
    assert not (folder / "7").exists()


def test_nobody_else_of_the_machine_reads_it(kept: KeptLoads) -> None:
    (path,) = kept.get_paths(kept.get(send(kept, "people.csv"), "ada"))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert {stat.S_IMODE(folder.stat().st_mode) for folder in (path.parent, path.parent.parent)} == {0o700}


def test_number_and_size_are_bounded_and_a_refused_one_leaves_nothing(kept: KeptLoads, tmp_path: Path) -> None:
    send(kept, "a.csv", size=60)
    with pytest.raises(LimitError, match="no room"):
        send(kept, "a.csv", size=41)
    assert sorted(path.name for path in (tmp_path / "uploads").iterdir()) == ["1", "last"]
    send(kept, "a.csv", size=40)
    n = send(kept, "a.csv", size=0)
    with pytest.raises(LimitError, match="3 loads are kept already"):
        send(kept, "a.csv", size=0)
    kept.remove(kept.get(n, "ada"))
    assert send(kept, "a.csv", size=0) > n


@pytest.mark.parametrize(
    ("names", "error", "words"),
    [
        ((), InputError, "Choose a file"),
        (("",), InputError, "Choose a file"),
        (("a.xls",), InputError, "a.xls cannot be loaded"),
        (("a.csv", "b.exe"), InputError, "b.exe"),
        (("x/a.csv", "y/a.csv"), ConflictError, "Two of the files are called a.csv"),
        (tuple(f"a{n}.csv" for n in range(101)), LimitError, "101 files"),
    ],
)
def test_what_cannot_be_kept_is_told_in_a_sentence(
    names: tuple[str, ...], error: type[Exception], words: str, kept: KeptLoads
) -> None:
    with pytest.raises(error, match=words):
        send(kept, *names)


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ("../../../etc/passwd.csv", "passwd.csv"),
        ("..\\..\\people.CSV", "people.csv"),
        ("/dev/stdin.csv", "stdin.csv"),
        ("a\0b.csv", "a_b.csv"),
        ("a\r\nSet-Cookie: x.csv", "a__Set-Cookie_ x.csv"),
        ("...csv", "table.csv"),
        ("load.json", "load.json"),
        ("é" * 300 + ".xlsx", "é" * 100 + ".xlsx"),
    ],
)
def test_a_name_never_leads_out_of_its_folder(given: str, name: str) -> None:
    assert clean_name(given) == name


def test_once_stored_the_files_go_and_what_was_stored_stays_known(kept: KeptLoads, clock: Clock) -> None:
    load = kept.get(send(kept, "people.csv"), "ada")
    kept.mark_stored(load, StoredLoad(revision=2, n_new=1, n_changed=0, n_left_out=3))
    assert not any(path.exists() for path in kept.get_paths(load))
    again = KeptLoads(kept.get_paths(load)[0].parent.parent, most=3, most_bytes=100, get_now=clock)
    assert again.get(load.n, "ada").stored == StoredLoad(2, 1, 0, 3)
