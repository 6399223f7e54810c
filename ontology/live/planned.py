"""A change as it is to be committed: the states before and after, its records, quads of others, what the checks say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from ontology.errors import Finding, FindingsError
from ontology.mapping.difference import Difference
from ontology.model.columns import Key
from ontology.plurals import format_count
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store

# The checks bring SHACL and RDF engines: they are imported with the first change, so that a graph which is only
# asked opens without them.
if TYPE_CHECKING:
    from ontology.checks.meanings import MeaningChange
    from ontology.checks.rescaling import Rescaling

__all__ = ["Planned", "require_sound"]


@dataclass(frozen=True)
class Planned:
    """A change of records and of quads of others.

    Parameters
    ----------
    present, after : Snapshot before and after it
    put, remove : (table name, record) that are made or replaced, (table name, key) that go
    extra, doomed : quads of others that come and that go
    rescaling : how recorded levels are read anew; by the maps of `after` when left out
    undone : of what takes a commit back, the state before that
    """

    present: Snapshot
    after: Snapshot
    put: Sequence[tuple[str, Any]]
    remove: Sequence[tuple[str, Key]]
    extra: Sequence[Quad] = ()
    doomed: frozenset[Quad] = frozenset()
    rescaling: Rescaling | None = None
    undone: Snapshot | None = None

    @property
    def is_empty(self) -> bool:
        """Whether it changes nothing."""
        return not (self.put or self.remove or self.extra or self.doomed)

    @cached_property
    def difference(self) -> Difference:
        """What it says in quads."""
        return Difference(self.present, self.after, self.put, self.remove, self.extra, self.doomed)

    @cached_property
    def meanings(self) -> Sequence[MeaningChange]:
        """What recorded levels would mean otherwise."""
        from ontology.checks.meanings import find_meaning_changes

        states = (self.present, self.after)
        return find_meaning_changes(*states, self.put, self.remove, self.rescaling, self.undone)

    def find_findings(self, store: Store) -> list[Finding]:
        """Return what the checks find of it on a store at the state before, errors first."""
        from ontology.checks.changes import check_change

        gone = [(name, self.present.get_record(name, key)) for name, key in self.remove]
        findings = [meaning.as_finding() for meaning in self.meanings]
        findings += self.rescaling.faults if self.rescaling is not None else ()
        findings += check_change(store, self.after, self.put, gone, self.difference, self.extra, store.get_today())
        return sorted(findings)


def require_sound(findings: Sequence[Finding]) -> Sequence[Finding]:
    """Return findings that are remarks all; FindingsError holds them where one is an error."""
    errors = [finding for finding in findings if finding.severity == "error"]
    if errors:
        raise FindingsError(f"{format_count(len(errors), 'error')} found; nothing was stored.", findings)
    return findings
