"""Rules on what is said of the framework itself: one row, and a language that is one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule
from ontology.model.framework_itself import THIS, Framework
from ontology.rdf.terms import is_language_tag
from ontology.snapshot.snapshot import Snapshot


def _check_id(snapshot: Snapshot, record: Framework) -> Iterator[Problem]:
    if record.id != THIS:
        yield Problem("id", record.id, f"the framework is one row, and its id is {THIS!r}, not {record.id!r}")


def _check_language(snapshot: Snapshot, record: Framework) -> Iterator[Problem]:
    if not is_language_tag(record.language):
        reason = f"the framework's language is {record.language!r}, which is no tag of a language (RFC 5646), as en is"
        yield Problem("language", record.language, reason)


RULES: Final = (
    Rule("framework in one row", "error", "framework", _check_id),
    Rule("language of the framework", "error", "framework", _check_language),
)
