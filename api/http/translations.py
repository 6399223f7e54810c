"""The translations of a record as a member of its JSON form: language -> column -> text.

What a body gives is all of them: a language or column it leaves out goes. A body without the member leaves them as they
are. Record resources never hang on the language that is asked: whoever puts back what they read would overwrite.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from marshmallow import ValidationError, fields

from api.http.json_fields import require_room, require_room_for_all
from ontology.model.columns import Key
from ontology.model.keeping_records import SEVERAL, Translation
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.several import join_values
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.rdf.literals import is_language_tag
from ontology.snapshot.snapshot import Snapshot

MEMBER: Final = "translations"


class JsonTranslations(fields.Dict):
    """The texts of a record of one table in other languages."""

    def __init__(self, table_name: str) -> None:
        names = [column.name for column in TRANSLATED[table_name]]
        about = f"Its texts in other languages: language tag -> column ({', '.join(names)}) -> text."
        texts: fields.Field[Any] = fields.Raw(metadata={"type": ["string", "array"], "items": {"type": "string"}})
        inner = fields.Dict(keys=fields.String(), values=texts)
        super().__init__(
            keys=fields.String(), values=inner, required=False, allow_none=True, metadata={"description": about}
        )
        self.names = names

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, Mapping):
            raise ValidationError("must be an object: language -> column -> text")
        faults: dict[str, Any] = {}
        found: dict[str, dict[str, str]] = {}
        for tag, texts in value.items():
            if not is_language_tag(tag):
                faults[tag] = ["is no tag of a language (RFC 5646), as de and pt-br are"]
            elif tag.lower() in found:
                faults[tag] = ["is there twice: tags are compared without regard to case"]
            elif not isinstance(texts, Mapping):
                faults[tag] = ["must be an object: column -> text"]
            else:
                found[tag.lower()], wrong = self._read(texts)
                faults |= {tag: wrong} if wrong else {}
        if faults:
            raise ValidationError(faults)
        return found

    def _read(self, texts: Mapping[str, Any]) -> tuple[dict[str, str], dict[str, list[str]]]:
        found: dict[str, str] = {}
        wrong: dict[str, list[str]] = {}
        for column, text in texts.items():
            try:
                if column not in self.names:
                    raise ValidationError(f"must be one of {', '.join(self.names)}")
                if text is not None:
                    found[column] = _read_text(column, text)
            except ValidationError as error:
                wrong[column] = [str(message) for message in error.messages]
        return found, wrong


def _read_text(column: str, text: Any) -> str:
    if column in SEVERAL:
        if not isinstance(text, list) or not all(isinstance(one, str) and one.strip() for one in text) or not text:
            raise ValidationError("must be a list of texts")
        require_room_for_all(text)
        return join_values(one.strip() for one in text)
    if not isinstance(text, str) or not text.strip():
        raise ValidationError("must be text, and not empty")
    require_room(text)
    return text.strip()


def dump_translations(snapshot: Snapshot, table_name: str, key: Key) -> dict[str, Any]:
    """Return the member of a record's JSON form, nothing where there are no translations."""
    if table_name not in TRANSLATED or not snapshot.get_table(TRANSLATIONS.name):
        return {}
    found: defaultdict[str, dict[str, Any]] = defaultdict(dict)
    for row in sorted(snapshot.get_translations((table_name, get_key_text(key))), key=lambda one: one.language):
        found[row.language][row.column] = list(row.texts) if row.column in SEVERAL else row.joined
    return {MEMBER: dict(found)} if found else {}


def build_rows(table_name: str, key: Key, given: Mapping[str, Mapping[str, str]]) -> Iterator[Translation]:
    """Yield the translations that a body gives of a record."""
    for language, texts in given.items():
        for column, joined in texts.items():
            yield Translation(table_name, get_key_text(key), column, language, joined)


def list_gone(snapshot: Snapshot, records: Sequence[tuple[str, Any]], rows: Sequence[Translation]) -> list[Key]:
    """Return the keys of the translations of some records (table, record) that a body does not give any more."""
    kept = {TRANSLATIONS.get_key(row) for row in rows}
    present = (
        TRANSLATIONS.get_key(row)
        for name, record in records
        for row in snapshot.get_translations((name, get_key_text(TABLES[name].get_key(record))))
    )
    return [key for key in present if key not in kept]
