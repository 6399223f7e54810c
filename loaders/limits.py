"""How large an input may be. Imports ontology errors only."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from ontology.errors import FileFormatError, LimitError

MAX_FILE_BYTES: Final = 256 * 1024 * 1024
MAX_CELL_CHARACTERS: Final = 4 * 1024 * 1024


def require_readable(path: Path, max_bytes: int = MAX_FILE_BYTES) -> None:
    """Raise when a file is not there, is no file, or is larger than allowed.

    Raises
    ------
    FileFormatError
        It is missing, a folder, or may not be read.
    LimitError
        It is larger than `max_bytes`.
    """
    try:
        size = path.stat().st_size
    except OSError as error:
        raise FileFormatError(f"{path} cannot be read: {error.strerror}.", path=str(path)) from error
    if not path.is_file():
        raise FileFormatError(f"{path} is not a file.", path=str(path))
    if size > max_bytes:
        raise LimitError(
            f"{path} has {size / 1e6:.0f} MB; at most {max_bytes / 1e6:.0f} MB can be loaded.", path=str(path)
        )
