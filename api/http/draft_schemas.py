"""What is sent and told of drafts and releases over REST, for reading it and for the OpenAPI document."""

from __future__ import annotations

from typing import Any, Final

from marshmallow import Schema, fields

from api.http import json_fields as values
from api.http.history import HistoryRow
from api.http.record_schemas import RecordSchema
from api.http.told_fields import several, tell, text, whole

SIDES: Final = ("draft", "published")


def _text(about: str, **more: Any) -> fields.String:
    return fields.String(metadata=tell(about), **more)


class _StateText(values.JsonText):
    """A state as a text; a revision may be sent as a number."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        is_number = isinstance(value, int) and not isinstance(value, bool)
        return super()._deserialize(str(value) if is_number else value, attr, data, **kwargs)


class NewDraftBody(RecordSchema):
    """A draft to begin."""

    id = values.JsonId(required=True, metadata=tell("Its id."))
    title = values.JsonText(required=True, metadata=tell("What it is called, 1 to 200 characters."))
    base = _StateText(
        allow_none=True, metadata=tell("The state it is made for: a revision, a day, a release; now when left out.")
    )
    undo_of = _StateText(
        allow_none=True,
        metadata=tell("The revision, or the release made from a draft, whose change it takes back."),
    )


class TakeOne(RecordSchema):
    """Which side one conflict is decided for."""

    table = values.JsonText(required=True, metadata=tell("The table."))
    id = values.JsonText(required=True, metadata=tell("The id, parts joined by ~."))
    column = values.JsonText(allow_none=True, load_default=None, metadata=tell("The column; null: the whole record."))
    value = values.JsonChoice(SIDES, required=True, metadata=tell("The side that wins."))


class Rebase(RecordSchema):
    """How conflicts are decided: all for one side, or one by one; what is not named stays a conflict."""

    all = values.JsonChoice(SIDES, metadata=tell("The side that wins everywhere."))
    take = fields.List(fields.Nested(TakeOne), metadata=tell("One by one."))


class ReleaseBody(RecordSchema):
    """A name for a state."""

    version = values.JsonText(required=True, metadata=tell("An id: not all digits, not a day, not now."))
    reason = values.JsonText(required=True, metadata=tell("Why, 1 to 500 characters."))
    author = values.JsonText(allow_none=True, metadata=tell("Who stands behind it; who sends it when left out."))
    date = values.JsonDate(allow_none=True, metadata=tell("Its day; today when left out, never a day to come."))


class ReleaseSchema(Schema):
    """A release."""

    version = text("The name.")
    revision = whole("The revision it names.")
    date = fields.Date(required=True, metadata=tell("Its day."))
    author = text("Who stands behind it.")
    reason = text("Why.")
    from_draft = text("The draft it was; null where it only names a state.", allow_none=True)


class _OfDraft(Schema):
    draft = text("The draft.")
    number = whole("Its number.")


class DraftChanges(_OfDraft):
    """What a draft changes, row by row."""

    rows = several(fields.Nested(HistoryRow), "In the order of tables and keys.")
    rows_total = whole("How many rows there are.")


class DraftFinding(Schema):
    """What the state that a draft leads to breaks."""

    severity = text("error or remark.")
    pointer = _text("JSON Pointer into the record.")
    value = fields.Raw(allow_none=True, metadata=tell("The value."))
    reason = text("What would be right.")
    source = _text("What it is about.")
    row = fields.Integer(metadata=tell("Row of a file."))
    table = _text("The table.")
    id = _text("The id.")


class DraftFindings(_OfDraft):
    """All that the state a draft leads to breaks."""

    findings = several(fields.Nested(DraftFinding), "Errors first.")


class DraftConflict(Schema):
    """What a draft and others changed differently."""

    table = text("The table.")
    id = text("The id.")
    label = text("What it is called.")
    column = text("The column; null: the whole record.", allow_none=True)
    base = fields.Raw(required=True, allow_none=True, metadata=tell("The value where the draft began."))
    draft = fields.Raw(required=True, allow_none=True, metadata=tell("The value in the draft."))
    published = fields.Raw(required=True, allow_none=True, metadata=tell("The value now."))
    revision = whole("The commit that changed it last.")
    who = text("Who made that.")
    when = text("When, UTC.")
    why = text("Why.")


class DraftConflicts(_OfDraft):
    """The conflicts of a draft."""

    conflicts = several(fields.Nested(DraftConflict), "In the order of tables and keys.")
