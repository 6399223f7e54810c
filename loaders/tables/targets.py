"""Writing a file beside its place and moving it there whole: a reader never sees half of it."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Final, NoReturn

import xlsxwriter
from xlsxwriter.exceptions import XlsxWriterException

from ontology.errors import InputError, UnavailableError

_NOT_OUR_FAULT: Final = (errno.ENOSPC, errno.EDQUOT, errno.EIO)
#: Texts stay texts, whatever they look like: nothing becomes a formula, a link or a number.
_AS_TEXT: Final = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


@contextmanager
def write_beside(path: Path) -> Iterator[Path]:
    """Yield a path to write to, in the folder of `path` (which is made); afterwards it takes the place of `path`.

    Raises
    ------
    InputError
        Nothing can be written there. What stood there is unchanged.
    UnavailableError
        The disk is full or broken.
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:50]}.")
        os.close(descriptor)
        temporary = Path(name)
        yield temporary
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except OSError as error:
        _refuse(path, error)
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)


@contextmanager
def write_book(path: Path) -> Iterator[Any]:
    """Yield an empty workbook that is written to `path` afterwards; errors as `write_beside`."""
    with write_beside(path) as temporary:
        try:
            with xlsxwriter.Workbook(str(temporary), dict(_AS_TEXT)) as book:
                # without a fixed day the same tables would give another file every time
                book.set_properties({"created": datetime(2026, 1, 1)})
                yield book
        except XlsxWriterException as error:
            raise OSError(str(error)) from error


def _refuse(path: Path, error: OSError) -> NoReturn:
    kind = UnavailableError if error.errno in _NOT_OUR_FAULT else InputError
    raise kind(f"{path} cannot be written: {error.strerror or error}.", path=str(path)) from error
