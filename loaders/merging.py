"""Several loaded files as one, and rows left out of it again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from loaders.addresses import find_key
from loaders.report import Loaded
from ontology.checks.meanings import SOURCE as MEANINGS
from ontology.errors import Finding
from ontology.model.tables import TABLES

__all__ = ["leave_out", "leave_out_untrusted", "merge"]


def merge(parts: Sequence[Loaded]) -> Loaded:
    """Return what several files hold together; a row that two of them have is an error."""
    if len(parts) == 1:
        return parts[0]
    merged = Loaded(label=", ".join(part.label for part in parts))
    for part in parts:
        merged.findings += part.findings
        merged.consequences += part.consequences
        merged.extra += part.extra
        merged.faulty |= part.faulty
        merged.unread |= part.unread
        merged.untrusted |= part.untrusted
        merged.defaulted |= part.defaulted
        for name, records in part.records.items():
            kept = merged.records.setdefault(name, [])
            for record in records:
                key = TABLES[name].get_key(record)
                origin = part.origins.get(name, key) or (part.label, 0)
                first = merged.origins.get(name, key)
                if first is not None:
                    reason = f"is a duplicate of {first[0]}, row {first[1]}"
                    value = "~".join(map(str, key))
                    merged.findings.append(Finding("error", origin[0], origin[1], "", value, reason))
                    continue
                merged.origins.add(name, key, *origin)
                kept.append(record)
    return merged


def leave_out(loaded: Loaded, findings: Iterable[Finding]) -> int:
    """Leave out the records that errors are about and return how many; quads of others are left out whole."""
    errors = [finding for finding in findings if finding.severity == "error"]
    doomed = {key for finding in errors if (key := find_key(finding)) is not None}
    # of a scale whose recorded levels would mean something else no row is sound: the others stand around that one
    shaken = {finding.about[1] for finding in errors if finding.source == MEANINGS and finding.about[0] == "scales"}
    doomed |= {
        ("scales", (level.scale, level.rank)) for level in loaded.records.get("scales", ()) if level.scale in shaken
    }
    n_dropped = 0
    for name, records in loaded.records.items():
        table = TABLES[name]
        kept = [record for record in records if (name, table.get_key(record)) not in doomed]
        n_dropped += len(records) - len(kept)
        loaded.records[name] = kept
    loaded.faulty |= {(name, key): loaded.origins.get(name, key) or (loaded.label, 0) for name, key in doomed}
    if n_dropped == 0 and loaded.extra:
        n_dropped = len(loaded.extra)
        loaded.extra = []
    return n_dropped


def leave_out_untrusted(loaded: Loaded) -> int:
    """Leave out the tables that were read for their faults only and return how many records those were."""
    loaded.unread |= loaded.untrusted
    return sum(len(loaded.records.pop(name, ())) for name in loaded.untrusted)
