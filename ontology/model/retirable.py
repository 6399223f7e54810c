"""What can be retired, and which rows stay with a record that is.

A retired record stays readable for ever, and no answer uses it any more.
"""

from __future__ import annotations

from typing import Final

#: The tables whose records can be retired.
RETIRABLE: Final = ("competencies", "roles", "courses")

#: Table -> (field, table): its rows hang on the record that the field names, and are set aside with it.
HANGING: Final = {
    "requirements": ("role", "roles"),
    "outcomes": ("course", "courses"),
    "entry_conditions": ("course", "courses"),
    "assessments": ("competency", "competencies"),
}

#: How levels of a retired competency are read for the one that took its place, the most that counts first.
CARRIES: Final = ("same", "declared", "none")
