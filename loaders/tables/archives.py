"""Zip containers (workbooks are such) that are refused before they unpack to too much.

Python's reader of a container stops at the size that the container's directory says, so these sizes are what counts.
Format: PKWARE APPNOTE 6.3, sections 4.3.12 (directory) and 4.3.16 (its end).
"""

from __future__ import annotations

import struct
import zipfile
import zlib
from pathlib import Path
from typing import IO, Final

from loaders import limits
from loaders.tables.cells import make_printable
from ontology.errors import FileFormatError, LimitError

#: What reading a member of a damaged container raises.
DAMAGE: Final = (OSError, EOFError, ValueError, zipfile.BadZipFile, zlib.error, RuntimeError)

_END: Final = b"PK\x05\x06"
_END_BYTES: Final = 22
#: A directory entry has 46 bytes and a name; generous, so that only made-up directories are refused.
_ENTRY_BYTES: Final = 1_024


def open_archive(path: Path, kind: str = "zip container") -> zipfile.ZipFile:
    """Open a zip container whose directory keeps the limits; the caller closes it. `kind` is what messages call it.

    Raises
    ------
    FileFormatError
        It is missing, damaged, encrypted or no zip container.
    LimitError
        It is too large, holds too many files, or would unpack to too much.
    """
    limits.require_readable(path)
    try:
        with path.open("rb") as handle:
            _require_small_directory(path, handle)
        archive = zipfile.ZipFile(path)
    except DAMAGE as error:
        raise FileFormatError(
            f"{path.name} is damaged or not a {kind}: {error}", path=str(path), file=path.name
        ) from error
    try:
        _require_members(path, archive.infolist())
    except BaseException:
        archive.close()
        raise
    return archive


def _require_small_directory(path: Path, handle: IO[bytes]) -> None:
    """Refuse a directory of millions of entries before it is read into memory."""
    size = handle.seek(0, 2)
    handle.seek(max(0, size - 65_535 - _END_BYTES))
    tail = handle.read()
    start = tail.rfind(_END)
    if start < 0 or len(tail) - start < _END_BYTES:
        return  # no container: its own reader says so better
    (directory_bytes,) = struct.unpack_from("<I", tail, start + 12)
    if directory_bytes > limits.MAX_ARCHIVE_FILES * _ENTRY_BYTES:
        raise LimitError(
            f"{path.name} has a directory of {directory_bytes:,} bytes; at most {limits.MAX_ARCHIVE_FILES:,} files "
            "may be in a container.",
            file=path.name,
        )


def _require_members(path: Path, members: list[zipfile.ZipInfo]) -> None:
    if len(members) > limits.MAX_ARCHIVE_FILES:
        raise LimitError(
            f"{path.name} holds {len(members):,} files; at most {limits.MAX_ARCHIVE_FILES:,} may be in a container.",
            file=path.name,
        )
    names = [member.filename.lower() for member in members]
    if len(set(names)) < len(names):
        # readers take the first or the last of them: what is looked at here need not be what is read later
        twice = next(name for name in names if names.count(name) > 1)
        raise FileFormatError(f"{path.name} is damaged: it holds {make_printable(twice)} twice.", file=path.name)
    for member in members:
        if member.flag_bits & 1:
            raise FileFormatError(f"{path.name}: {member.filename} is encrypted.", file=path.name)
        if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            raise FileFormatError(f"{path.name}: {member.filename} is packed in a way not read here.", file=path.name)
        allowed = max(limits.FREE_EXPANSION_BYTES, limits.MAX_EXPANSION * member.compress_size)
        if member.file_size > allowed:
            raise LimitError(
                f"{path.name}: {member.filename} would unpack to {member.file_size:,} bytes, more than "
                f"{limits.MAX_EXPANSION:,} times its size.",
                file=path.name,
                limit=allowed,
            )
    unpacked = sum(member.file_size for member in members)
    if unpacked > limits.MAX_UNPACKED_BYTES:
        raise LimitError(
            f"{path.name} would unpack to {unpacked:,} bytes, more than {limits.MAX_UNPACKED_BYTES:,}.",
            file=path.name,
            limit=limits.MAX_UNPACKED_BYTES,
        )
