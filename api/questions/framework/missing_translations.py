"""Which labels, definitions and descriptions are not translated into a language."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final
from urllib.parse import urlencode

from api.access.rights import Kind
from api.desk.columns import build_table, words
from api.desk.names import Names, count
from api.desk.parameters import Asks, param
from api.desk.question import COMPANY, Question, Subject
from api.desk.sheet import ActLink, Cell, Next, Sheet
from api.desk.table_words import tell_one
from api.errors import ParameterError, WrongParameter
from ontology.analysis.health.untranslated import count_texts, find_untranslated
from ontology.model.tables import TABLES
from ontology.rdf.literals import is_language_tag
from ontology.snapshot.languages import get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

_LOOK: Final = (
    "A text that is there may still be wrong: whether a translation says the same, someone who knows the work in both "
    "languages must say, above all where an error can hurt someone."
)
#: Rows on a sheet; all stand in the JSON and the workbook.
_SHOWN: Final = 200


@dataclass(frozen=True, kw_only=True)
class AskMissing(Asks):
    """Into which language."""

    language: str = param("A language as a tag (RFC 5646), like de or pt-br; left out: each in use.", default="")

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where it is no tag of a language."""
        if self.language and not is_language_tag(self.language):
            reason = "must be a language tag (RFC 5646), like de or pt-br"
            raise ParameterError(WrongParameter("language", self.language, reason))


@dataclass(frozen=True, slots=True)
class MissingRow:
    """A record with what it lacks in a language."""

    language: Annotated[str, "The language, as a tag in lower case."]
    table: Annotated[str, "The table of the record."]
    id: Annotated[str, "Its id; of a level its scale, ~ and its rank."]
    label: Annotated[str, "What it is called in the main language."]
    columns: Annotated[tuple[str, ...], "The columns that are said in the main language alone."]


@dataclass(frozen=True, slots=True)
class MissingResult:
    """What is not translated."""

    main: Annotated[str, "The main language, in which everything is said."]
    languages: Annotated[tuple[str, ...], "The languages looked at."]
    texts: Annotated[int, "Labels, definitions and descriptions there are in the main language."]
    missing: Annotated[int, "Texts that are missing, over all languages looked at."]
    rows: Annotated[tuple[MissingRow, ...], "By language, then in the order of tables and ids."]


def compute(snapshot: Snapshot, company: Subject, asked: AskMissing) -> MissingResult:
    """Return what is not translated."""
    languages = (asked.language.lower(),) if asked.language else list_languages(snapshot)
    rows = tuple(
        MissingRow(language=language, table=one.table, id=one.id, label=one.label, columns=one.columns)
        for language in languages
        for one in find_untranslated(snapshot, language)
    )
    return MissingResult(
        main=get_main_language(snapshot),
        languages=languages,
        texts=count_texts(snapshot),
        missing=sum(len(row.columns) for row in rows),
        rows=rows,
    )


def show(result: MissingResult, company: Subject, asked: AskMissing, names: Names) -> Sheet:
    """Return what is missing, each with the form that says it."""
    shown = result.rows[:_SHOWN]
    left = len(result.rows) - len(shown)
    return Sheet(
        title="What is not translated" + (f": {asked.language.lower()}" if asked.language else ""),
        lead=tell(result),
        parts=(
            build_table(
                "Missing",
                shown,
                (
                    words("language", lambda row: row.language),
                    words(
                        "what",
                        lambda row: "Level" if row.table == "scales" else tell_one(TABLES[row.table]).capitalize(),
                    ),
                    words("called", lambda row: row.label),
                    words("not translated", lambda row: ", ".join(name.replace("_", " ") for name in row.columns)),
                    words("what to do", _link),
                ),
                "Nothing is missing." if result.languages else "No other language is in use.",
                f"{count(left, 'more record')}: ask for one language, or open the workbook." if left else "",
            ),
        ),
        next=(Next("What is to mend", "to-mend", "", {}),),
    )


def tell(result: MissingResult) -> str:
    """Return how much is missing."""
    if not result.languages:
        return f"Everything is said in {result.main} alone: no other language is in use."
    into = ", ".join(result.languages)
    whole = result.texts * len(result.languages)
    if not result.missing:
        return f"Every label, definition and description is there in {into}."
    is_are = "is" if result.missing == 1 else "are"
    return f"{result.missing:,} of {count(whole, 'text')} {is_are} not translated into {into}."


def _link(row: MissingRow) -> Cell:
    asked = {"table": row.table, "id": row.id, "column": row.columns[0], "language": row.language}
    return ActLink("Translate it", f"/new/translations?{urlencode(asked)}")


QUESTION = Question(
    segment="translations/missing",
    asks={COMPANY: AskMissing},
    answers=MissingResult,
    compute=compute,
    cautions=(_LOOK,),
    needs=Kind.FRAMEWORK,
    is_in_main=True,
    show=show,
)
