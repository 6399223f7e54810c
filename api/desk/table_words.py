"""What people read for a table, one of its records and its columns, where the name in the table is not plain."""

from __future__ import annotations

from typing import Final

from ontology.model.columns import Table

#: (table, column) -> label; a column that is not here is called by its own name.
_OF_TABLE: Final = {
    ("framework", "licence"): "Terms of use",
    ("framework", "creator"): "Written by",
    ("framework", "publisher"): "Given out by",
    ("requirements", "level"): "Full level",
    ("requirements", "entry_level"): "First-day level",
    ("requirements", "unsupervised_level"): "Level to work alone",
    ("outcomes", "level"): "Level it reaches",
    ("outcomes", "renews"): "Only renews",
    ("entry_conditions", "level"): "Level to bring",
    ("equivalences", "level"): "Level held",
    ("equivalences", "as_level"): "Counts as level",
    ("mappings", "target"): "Concept elsewhere",
    ("mappings", "framework"): "Outside framework",
    ("mappings", "score"): "How much spoke for it",
    ("appointments", "level"): "Up to level",
    ("courses", "hours"): "Hours of the learner",
    ("courses", "cost"): "Cost for one learner",
    ("courses", "seats"): "Learners at once",
    ("sessions", "seats"): "Seats",
    ("absences", "from"): "First day away",
    ("absences", "to"): "Last day away",
    ("cover_needs", "minimum"): "Present at least",
    ("cover_needs", "target"): "Qualified, wished",
    ("cover_needs", "together"): "Group of needs",
    ("obligations", "rule"): "Whom it binds",
    ("obligations", "of"): "Which one",
    ("orientation_items", "rule"): "For whom",
    ("orientation_items", "of"): "Which one",
    ("orientation_items", "competency"): "Shown by holding",
    ("places", "count"): "People at once",
    ("practices", "count"): "How often",
    ("replacements", "table"): "Of which table",
    ("replacements", "old"): "What went",
    ("replacements", "new"): "What took its place",
    ("replacements", "carry"): "Levels recorded count as",
    ("replacements", "reason"): "Why",
    ("level_maps", "from_scale"): "Scale that is read",
    ("level_maps", "from_rank"): "Rank there",
    ("level_maps", "to_scale"): "Scale it is read on",
    ("level_maps", "to_rank"): "Counts as rank",
    ("requests", "by"): "Wished for by",
    ("assessors", "competencies"): "May assess",
    ("assessors", "teams"): "People of the teams",
}
#: Column -> label in whichever table.
_ANYWHERE: Final = {
    "id": "Id",
    "part_of": "Part of",
    "from": "First day",
    "to": "Last day",
    "alt_labels": "Other names",
    "exact_match": "Same concept elsewhere",
    "retired_on": "Retired on",
    "kind": "Kind",
    "valid_until": "Counts until",
    "validity_months": "Counts for (months)",
    "validity_rule": "Ends on",
    "expiry": "After that",
    "refresher_months": "Refresher restores it for (months)",
    "renewal_window_months": "Renewal window (months)",
    "safety": "An error can hurt someone",
    "appointment": "Only those appointed count",
    "learned_on_job": "Learned on the job",
    "is_block": "Held in one piece",
    "before_work": "Before work begins",
    "months_to_full": "Months to full level",
    "study_hours_per_week": "Hours a week for learning",
    "coach_hours": "Coach hours for one learner",
    "pass_share": "Share that pass",
    "where": "Room or address",
    "of": "Of which",
    "applies": "Where it applies",
    "assessor": "Assessed by",
    "appointed_by": "Appointed by",
    "agreed_with": "Agreed with",
    "done_by": "Done by",
    "supervised_by": "Watched over by",
    "counts_as": "Counts as",
    "occasions_per_year": "Occasions a year",
    "practices_per_year": "Practice, times a year",
    "hours_per_year": "Hours a year",
    "offset_days": "Days from the start",
    "days_after": "Days of grace",
}
_SCALE: Final = "scale"


def tell_label(table_name: str, column_name: str) -> str:
    """Return what people read for a column.

    Examples
    --------
    >>> tell_label("requirements", "level"), tell_label("duties", "recorded_on")
    ('Full level', 'Recorded on')
    """
    plain = _OF_TABLE.get((table_name, column_name)) or _ANYWHERE.get(column_name)
    return plain or column_name.replace("_", " ").capitalize()


def tell_one(table: Table) -> str:
    """Return the word for one record of a table; of scales a record is the scale, not one of its levels."""
    return _SCALE if table.name == "scales" else table.word


def tell_many(table: Table) -> str:
    """Return the word for the records of a table: its name."""
    return table.name.replace("_", " ")
