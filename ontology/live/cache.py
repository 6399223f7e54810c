"""A compiled Snapshot kept on disk beside its store: arrays per column, thrown away whenever it does not fit.

The file is a cache and nothing else: it names the store and revision it was made of, and one that is missing, damaged
or of another revision is simply not used.
"""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

import numpy as np
import numpy.typing as npt

from ontology.model.columns import MANY, Column
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

Arrays = dict[str, npt.NDArray[Any]]

#: Raised whenever the layout of the arrays or the columns of a table change in meaning.
FORMAT: Final = 3
_REPEATED: Final = ("ref", "choice", "id")


def save_snapshot(snapshot: Snapshot, path: Path) -> None:
    """Write a Snapshot to a file, replacing it in one step. O(n) for n values."""
    publish_draft(draft_snapshot(snapshot, path), path)


def draft_snapshot(snapshot: Snapshot, path: Path) -> Path:
    """Write a Snapshot beside the file it is meant for and return where: its revision may still fail."""
    arrays: Arrays = {}
    for name, table in TABLES.items():
        records = list(snapshot.get_all(name).values())
        arrays[f"{name}/n"] = np.array(len(records))
        for column in table.columns if records else ():
            values = [getattr(record, column.attribute) for record in records]
            for part, array in _encode(column, values).items():
                arrays[f"{name}/{column.name}/{part}"] = array
    about = _describe(snapshot.store_id, snapshot.revision) | {"sum": _compute_sum(arrays)}
    arrays["about"] = np.array(json.dumps(about))
    temporary = path.with_name(path.name + ".new")
    with temporary.open("wb") as handle:
        np.savez(handle, allow_pickle=False, **arrays)
    return temporary


def publish_draft(draft: Path, path: Path) -> None:
    """Put a draft in the place of the file, in one step."""
    os.replace(draft, path)


def load_snapshot(path: Path, store_id: str, revision: int) -> Snapshot | None:
    """Return the Snapshot kept in a file, or None when there is none of this store and revision."""
    try:
        with path.open("rb") as handle, np.load(handle, allow_pickle=False) as kept:
            about = json.loads(str(kept["about"]))
            wanted = about.pop("sum", None)
            if about != _describe(store_id, revision):
                return None
            arrays = {name: kept[name] for name in kept.files if name != "about"}
            if wanted != _compute_sum(arrays):
                return None
            records = {name: _decode_table(name, arrays) for name in TABLES}
            return Snapshot(records, revision=revision, store_id=store_id)
    except Exception:  # damage shows as nearly anything, and the store says the same
        return None


def _decode_table(name: str, kept: Arrays) -> list[Any]:
    """Return the records of a table; ValueError where its columns are not all as long as the table."""
    table, n = TABLES[name], int(kept[f"{name}/n"])
    columns = [_decode(column, name, kept) for column in table.columns] if n else []
    if any(len(values) != n for values in columns):
        raise ValueError(f"the columns of {name} are not of one length")
    return list(map(table.record, *columns)) if n else []


def _compute_sum(arrays: Arrays) -> int:
    """Return a checksum over names, kinds, shapes and content. O(bytes)."""
    found = 0
    for name, array in sorted(arrays.items()):
        found = zlib.crc32(f"{name} {array.dtype.str} {array.shape}".encode(), found)
        found = zlib.crc32(np.ascontiguousarray(array).data, found)
    return found


def _describe(store_id: str, revision: int) -> dict[str, Any]:
    columns = {name: [column.name for column in table.columns] for name, table in TABLES.items()}
    return {"format": FORMAT, "store": store_id, "revision": revision, "columns": columns}


def _encode(column: Column, values: Sequence[Any]) -> Arrays:
    if column.kind in MANY:
        flat = [text for group in values for text in group]
        return {"counts": np.array([len(group) for group in values], dtype=np.int32), **_encode_texts(flat)}
    if column.kind in _REPEATED:
        places: dict[str, int] = {}
        codes = [places.setdefault(value, len(places)) for value in values]
        return {"codes": np.array(codes, dtype=np.int32), **_encode_texts(list(places))}
    if column.kind in ("text", "iri"):
        return _encode_texts(values)
    if column.kind == "date":
        return {"values": np.array([0 if value is None else value.toordinal() for value in values], dtype=np.int32)}
    if column.kind == "flag":
        return {"values": np.array([-1 if value is None else int(value) for value in values], dtype=np.int8)}
    missing = np.array([value is None for value in values])
    kind = np.int64 if column.kind == "integer" else np.float64
    return {"values": np.array([0 if value is None else value for value in values], dtype=kind), "missing": missing}


def _encode_texts(values: Sequence[str]) -> Arrays:
    data = [value.encode() for value in values]
    ends = np.cumsum([len(text) for text in data], dtype=np.int64)
    return {"ends": ends, "bytes": np.frombuffer(b"".join(data), dtype=np.uint8)}


def _decode(column: Column, name: str, kept: Arrays) -> list[Any]:
    def get(part: str) -> npt.NDArray[Any]:
        return kept[f"{name}/{column.name}/{part}"]

    if column.kind in MANY:
        flat = iter(_decode_texts(get))
        return [tuple(next(flat) for _ in range(n)) for n in get("counts").tolist()]
    if column.kind in _REPEATED:
        texts = _decode_texts(get)
        return [texts[code] for code in get("codes").tolist()]
    if column.kind in ("text", "iri"):
        return _decode_texts(get)
    values = get("values").tolist()
    if column.kind == "date":
        days = {ordinal: date.fromordinal(ordinal) if ordinal else None for ordinal in set(values)}
        return [days[ordinal] for ordinal in values]
    if column.kind == "flag":
        return [None if value < 0 else bool(value) for value in values]
    missing = get("missing")
    if missing.any():
        return [None if gone else value for value, gone in zip(values, missing.tolist(), strict=True)]
    return list(values)


def _decode_texts(get: Callable[[str], npt.NDArray[Any]]) -> list[str]:
    data = get("bytes").tobytes()
    ends = get("ends").tolist()
    starts = [0, *ends][:-1]
    return [data[start:end].decode() for start, end in zip(starts, ends, strict=True)]
