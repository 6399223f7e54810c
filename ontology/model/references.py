"""What records refer to: by columns of ids, and by a text that names a record of a table its row tells. Imports tables.

A cover need applies to a shift, an obligation or orientation item is about what its rule names.
"""

from __future__ import annotations

from typing import Any, Final

from ontology.model.records import APPLIES_EACH_SHIFT, APPLIES_TEAM
from ontology.model.tables import TABLES

#: Rule of an obligation or orientation item -> the table that its `of` is an id of; "everyone" names nothing.
RULE_TABLES: Final = {"role": "roles", "place": "places", "team": "teams", "site": "sites"}

#: Table -> its column, a text, that names a record of one of these tables; `get_named_table` tells of which.
NAMING_COLUMNS: Final = {
    "cover_needs": ("applies", ("shifts",)),
    "obligations": ("of", tuple(RULE_TABLES.values())),
    "orientation_items": ("of", tuple(RULE_TABLES.values())),
}


def get_named_table(table_name: str, record: Any) -> str:
    """Return the table that the naming column of a record speaks of; "" where it names nothing."""
    if table_name == "cover_needs":
        return "" if record.applies in (APPLIES_TEAM, APPLIES_EACH_SHIFT) else "shifts"
    return RULE_TABLES.get(record.rule, "") if table_name in NAMING_COLUMNS else ""


def can_refer(table_name: str, to_table: str) -> bool:
    """Whether records of one table can refer to records of another."""
    if table_name == "scales":
        return False  # a level is a part of its scale
    by_name = NAMING_COLUMNS[table_name][1] if table_name in NAMING_COLUMNS else ()
    return to_table in by_name or any(column.refers_to == to_table for column in TABLES[table_name].columns)


def is_referring(table_name: str, record: Any, to_table: str, record_id: str) -> bool:
    """Whether a record refers to the record with this id in a table."""
    if get_named_table(table_name, record) == to_table and getattr(record, NAMING_COLUMNS[table_name][0]) == record_id:
        return True
    values = (getattr(record, c.attribute) for c in TABLES[table_name].columns if c.refers_to == to_table)
    return any(record_id in value if isinstance(value, tuple) else record_id == value for value in values)
