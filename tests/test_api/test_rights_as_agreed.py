"""The table of rights is the one that was agreed for this program, cell by cell.

Its columns stand there in another order, without that of the assessor, whose rights are told in a sentence.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from api.access.rights import Kind, Standpoint, Verb, get_cell

AGREED = Path(__file__).resolve().parents[3] / "shared" / "access.md"
COLUMNS = (
    *(Standpoint.READER, Standpoint.SELF, Standpoint.COLLEAGUE, Standpoint.OWN_LEAD),
    *(Standpoint.OTHER_LEAD, Standpoint.ARCHITECT, Standpoint.ADMINISTRATOR),
)
#: First words of a row -> the kinds that it is of.
ROWS = {
    "framework and offers": (Kind.FRAMEWORK,),
    "framework review": (Kind.REVIEW,),
    "teams, shifts": (Kind.TEAMS,),
    "cover needs": (Kind.COVER_NEEDS,),
    "person record": (Kind.PERSON,),
    "absences": (Kind.ABSENCES,),
    "assessments": (Kind.ASSESSMENTS,),
    "own ratings": (Kind.OWN_RATINGS,),
    "standing": (Kind.STANDING,),
    "exploration": (Kind.EXPLORATION,),
    "team answers": (Kind.TEAM_ANSWERS,),
    "company cover": (Kind.COMPANY_COVER,),
    "accounts, rights": (Kind.ADMINISTRATION,),
    "own account": (Kind.OWN_ACCOUNT,),
}


def read_agreed() -> dict[str, list[str]]:
    """Return the first words of each row -> its cells."""
    if not AGREED.is_file():
        pytest.skip("the agreed table is not part of a clone")
    text = AGREED.read_text("utf-8").partition("## 2.")[2].partition("## 3.")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    return {re.sub(r"\*+", "", row[0]): row[1:] for row in rows[2:]}


def read_letters(cell: str) -> tuple[set[str], set[str], bool, bool]:
    """Return what is allowed outright, what with a purpose, whether there are figures, whether name and id alone."""
    has_name = "name and id" in cell
    words = re.sub(r"\([^)]*\)|own teams?|own|name and id only|about themselves|others f|never of themselves", "", cell)
    outright, _, more = words.partition("p:") if "p:" in words else words.partition("p")
    letters = {letter for letter in re.sub(r"shift and study hours|study hours|shift", "", outright) if letter in "rwx"}
    purpose = {letter for letter in more if letter in "rwx"} or ({"r"} if re.search(r"\bp\b", words) else set())
    return letters, purpose, bool(re.search(r"\bf\b", outright)), has_name


@pytest.mark.parametrize("words", ROWS)
def test_every_cell_is_the_one_agreed(words: str) -> None:
    agreed = read_agreed()
    (cells,) = [cells for row, cells in agreed.items() if row.startswith(words)]
    for kind in ROWS[words]:
        for standpoint, text in zip(COLUMNS, cells, strict=True):
            letters, purpose, has_figures, has_name = read_letters(text)
            cell = get_cell(kind, standpoint)
            told = ({verb.value for verb in cell.verbs}, {verb.value for verb in cell.with_purpose})
            assert (*told, cell.has_figures, cell.has_name) == (letters, purpose, has_figures, has_name), (
                words, standpoint.value, text,
            )  # fmt: skip


def test_every_row_is_looked_at() -> None:
    rows = list(read_agreed())
    left = [row for row in rows if not any(row.startswith(words) for words in ROWS)]
    # of these one row is told as several kinds
    assert [row.partition(":")[0] for row in left] == ["load", "export", "history", "log of looks"]
    assert Verb("x") is Verb.REMOVE
