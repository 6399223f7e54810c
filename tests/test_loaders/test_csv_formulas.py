"""No exported CSV cell is run by a spreadsheet program, and every text loads back as it was.

What such programs run: OWASP, "CSV Injection" (community page), from memory: = + - @, tab, line ends, full-width forms.
"""

from __future__ import annotations

import csv
from pathlib import Path

from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from loaders.tables.csv_folder import disarm, load_csv_folder, rearm
from loaders.tables.table_writers import export_csv
from ontology.model.several import join_values, split_values
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

RUN = "=+-@\t\r\n＝＋－＠"
TEXTS = st.one_of(st.text(), st.text(alphabet=f"'{RUN} |\\\"a,;"))
#: Texts as a loaded table has them: nothing but blanks around, no control characters.
STORED = TEXTS.map(lambda text: "".join(c for c in text if c in RUN or c.isprintable()).strip()).filter(bool)


@given(TEXTS)
def test_disarming_is_undone_for_every_text(text: str) -> None:
    assert rearm(disarm(text)) == text


@given(TEXTS)
def test_no_disarmed_cell_begins_with_what_is_run(text: str) -> None:
    assert not disarm(text).lstrip(" ").startswith(tuple(RUN))


@given(TEXTS, TEXTS)
def test_two_texts_never_become_the_same_cell(one: str, other: str) -> None:
    assert (disarm(one) == disarm(other)) is (one == other)


def test_texts_that_are_not_run_stay_as_they_are() -> None:
    for text in ("pump", "'quoted'", "'", "a=b", "3-4", "''"):
        assert disarm(text) == text
        assert rearm(text) == text
    assert (disarm("'=1"), disarm("''=1"), disarm("=1")) == ("''=1", "'''=1", "'=1")


@given(st.lists(STORED, unique=True))
def test_several_values_in_a_cell_come_back_whatever_they_hold(values: list[str]) -> None:
    assert split_values(join_values(values)) == sorted(values)


def test_cells_written_by_hand_keep_their_backslashes() -> None:
    assert split_values(r"C:\tools | a\b || ") == [r"C:\tools", r"a\b"]
    assert split_values(r"either\|or|x") == ["either|or", "x"]


@settings(max_examples=draws(60), deadline=None)
@given(STORED, st.lists(STORED, unique=True, max_size=3))
def test_exported_files_hold_nothing_that_is_run_and_load_as_the_same_records(
    tmp_path_factory: object, text: str, others: list[str]
) -> None:
    folder = tmp_path_factory.mktemp("csv")  # type: ignore[attr-defined]
    competency = TABLES["competencies"].build(id="c", label=text, scale="s", definition=text, alt_labels=tuple(others))
    snapshot = Snapshot({"competencies": [competency]})
    export_csv(snapshot, folder)
    with Path(folder, "competencies.csv").open(encoding="utf-8", newline="") as handle:
        cells = [cell for row in csv.reader(handle, strict=True) for cell in row]
    assert not [cell for cell in cells if cell.startswith(tuple(RUN))]
    loaded = load_csv_folder(folder)
    if not loaded.findings:  # a text that is the error value of a formula is refused
        assert loaded.records["competencies"] == [competency]
    else:
        assert any("failed formula" in finding.reason for finding in loaded.findings)
