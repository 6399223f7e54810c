"""What a query found, written row by row; and that an engine has all of its files open before it can open none."""

from __future__ import annotations

import csv
import io
import shutil
from pathlib import Path
from xml.etree import ElementTree

import pyoxigraph as ox
import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.store.opened_files import _list_opened, open_every_file
from ontology.store.query_results import ROW_FORMS

TERMS = st.one_of(
    st.sampled_from(["https://a.example/x", "urn:b?c=d&e"]).map(ox.NamedNode),
    st.text(st.characters(codec="utf-8", exclude_characters="\x00")).map(ox.Literal),
    st.text("ab<&\"'\t\n\r\\, é", max_size=5).map(lambda text: ox.Literal(text, language="de-at")),
    st.integers().map(ox.Literal),
    st.just(ox.BlankNode("b1")),
    st.none(),
)


@settings(max_examples=draws(40), deadline=None)
@given(st.lists(st.tuples(TERMS, TERMS), max_size=4))
def test_rows_read_back_by_others_are_the_rows(rows: list[tuple[ox.Literal | None, ...]]) -> None:
    """W3C result formats, read by other programs than wrote them; XML 1.0 has no sign for control characters."""
    for form, kind in (("json", ox.QueryResultsFormat.JSON), ("tsv", ox.QueryResultsFormat.TSV)):
        text = "".join(ROW_FORMS[form](["a", "b"], rows))
        read = [tuple(row) for row in ox.parse_query_results(text.encode(), format=kind)]  # type: ignore[arg-type,union-attr]
        assert [tuple(map(_tell, row)) for row in read] == [tuple(map(_tell, row)) for row in rows], form
    if not any(_has_control(term) for row in rows for term in row):
        results = ElementTree.fromstring("".join(ROW_FORMS["xml"](["a", "b"], rows)))[1]
        cells = [{one.attrib["name"]: one[0].text or "" for one in result} for result in results]
        expected = [zip("ab", row, strict=True) for row in rows]
        assert cells == [{name: term.value for name, term in row if term is not None} for row in expected]
    cells = list(csv.reader(io.StringIO("".join(ROW_FORMS["csv"](["a", "b"], rows)), newline="")))[1:]
    assert len(cells) == len(rows)


def _has_control(term: object) -> bool:
    return isinstance(term, ox.Literal) and any(
        (ord(c) < 32 and c not in "\t\n\r") or c in "\ufffe\uffff" for c in term.value
    )


def _tell(term: object) -> str:
    return "blank" if isinstance(term, ox.BlankNode) else str(term)


def test_every_file_is_open_before_none_can_be(tmp_path: Path) -> None:
    """An engine that opens its files as it needs them would find that it can open none of them any more."""
    if not Path("/proc/self/fd").exists():
        pytest.skip("this system does not tell which files are open")
    engine, copy = ox.Store(str(tmp_path / "engine")), tmp_path / "copy"
    for n in range(60):
        name = ox.NamedNode(f"https://x.example/{n}")
        engine.extend([ox.Quad(name, name, ox.Literal(n), name)])
        engine.flush()
        shutil.rmtree(copy, ignore_errors=True)
        engine.backup(str(copy))
        files = {str(path.resolve()) for path in copy.glob("*.sst")}
        if len(files) > 24:  # the engine merges them now and then
            break
    reading = ox.Store.read_only(str(copy))
    assert not files <= _list_opened()
    open_every_file(reading, copy)
    assert files <= _list_opened()
