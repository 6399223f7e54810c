"""The problem document of an error (RFC 9457), for the OpenAPI document."""

from __future__ import annotations

from marshmallow import INCLUDE, Schema, fields


class ProblemEntry(Schema):
    """One wrong value: of the body (pointer), of the address (parameter) or of the data (source, row)."""

    class Meta:
        """More members may come."""

        unknown = INCLUDE

    pointer = fields.String(metadata={"description": "JSON Pointer (RFC 6901) into the body."})
    parameter = fields.String(metadata={"description": "Name of a parameter of the address."})
    value = fields.Raw(allow_none=True, metadata={"description": "The value given."})
    reason = fields.String(required=True, metadata={"description": "What would be right."})
    source = fields.String(metadata={"description": "What the finding is about."})
    row = fields.Integer()
    table = fields.String(metadata={"description": "Table of the record a finding is about."})
    id = fields.String(metadata={"description": "Its id."})


class Differing(Schema):
    """One column in which what was sent is not what stands there."""

    column = fields.String(required=True, metadata={"description": "The column."})
    sent = fields.Raw(allow_none=True, metadata={"description": "What was sent."})
    present = fields.Raw(allow_none=True, metadata={"description": "What stands there."})


class Successor(Schema):
    """What took the place of a record."""

    id = fields.String(required=True, metadata={"description": "Its id."})
    label = fields.String(required=True, metadata={"description": "What it is called."})
    carry = fields.String(required=True, metadata={"description": "How levels are read: same, declared, none."})
    href = fields.String(required=True, metadata={"description": "Its address."})


class RemovedIn(Schema):
    """When a record was removed."""

    revision = fields.Integer(required=True, metadata={"description": "The revision."})
    day = fields.Date(required=True, metadata={"description": "Its day."})


class Problem(Schema):
    """What went wrong."""

    class Meta:
        """More members may come."""

        unknown = INCLUDE

    type = fields.String(required=True, metadata={"description": "Address of the kind of problem."})
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(metadata={"description": "This occurrence, in a sentence."})
    instance = fields.String(metadata={"description": "Path of the request."})
    request_id = fields.String(metadata={"description": "Name this when you report a fault (status 500)."})
    errors = fields.List(fields.Nested(ProblemEntry))
    sent = fields.Dict(allow_none=True, metadata={"description": "Status 412: the record as it was sent, whole."})
    present = fields.Dict(allow_none=True, metadata={"description": "Status 412: the record as it is now, whole."})
    differs = fields.List(fields.Nested(Differing), metadata={"description": "Status 412: the columns that differ."})
    retired_on = fields.Date(metadata={"description": "Status 410: since when the record is retired."})
    removed_in = fields.Nested(
        RemovedIn, metadata={"description": "Status 410: the revision, and its day, in which the record was removed."}
    )
    replaced_by = fields.List(fields.Nested(Successor), metadata={"description": "Status 410: what took its place."})
    who = fields.String(metadata={"description": "Status 412: who changed the record last."})
    when = fields.String(metadata={"description": "Status 412: when, UTC."})
    why = fields.String(metadata={"description": "Status 412: why."})
