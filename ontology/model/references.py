"""What records refer to: by columns of ids, and by a text that names a record of a table its row tells.

A cover need applies to a shift, an obligation or orientation item is about what its rule names.
"""

from __future__ import annotations

from functools import cache
from typing import Any, Final

from ontology.model.records import APPLIES_EACH_SHIFT, APPLIES_TEAM
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES

#: Rule of an obligation or orientation item -> the table that its `of` is an id of; "everyone" names nothing.
RULE_TABLES: Final = {"role": "roles", "place": "places", "team": "teams", "site": "sites"}

#: Columns with a text that may be the id of a person, or a name.
PEOPLE_AS_TEXT: Final = ("assessor", "appointed_by", "agreed_with", "done_by", "owner")

#: Table -> its column, a text, that names a record of one of these tables; `get_named_table` tells of which.
NAMING_COLUMNS: Final = {
    "cover_needs": ("applies", ("shifts",)),
    "obligations": ("of", tuple(RULE_TABLES.values())),
    "orientation_items": ("of", tuple(RULE_TABLES.values())),
    # what was replaced may be gone for good: it is named, not referred to
    "replacements": ("new", RETIRABLE),
}


def get_named_table(table_name: str, record: Any) -> str:
    """Return the table that the naming column of a record speaks of; "" where it names nothing."""
    if table_name == "cover_needs":
        return "" if record.applies in (APPLIES_TEAM, APPLIES_EACH_SHIFT) else "shifts"
    if table_name == "replacements":
        return str(record.table)
    return RULE_TABLES.get(record.rule, "") if table_name in NAMING_COLUMNS else ""


@cache
def get_reference_fields(table_name: str, to_table: str) -> tuple[str, ...]:
    """Return the fields in which records of one table hold an id, or ids, of another.

    The naming column is among them where it can name one: whether it does is said by `get_named_table`.
    """
    if table_name == "scales":
        return ()  # a level is a part of its scale
    columns = TABLES[table_name].columns
    fields = tuple(column.attribute for column in columns if column.refers_to == to_table)
    naming, tables = NAMING_COLUMNS.get(table_name, ("", ()))
    return (*fields, naming) if to_table in tables else fields


def is_referring(table_name: str, record: Any, to_table: str, field: str) -> bool:
    """Whether what a record holds in a field of `get_reference_fields` is an id of that table."""
    is_naming = field == NAMING_COLUMNS.get(table_name, ("",))[0]
    return not is_naming or get_named_table(table_name, record) == to_table
