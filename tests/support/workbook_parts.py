"""Workbooks for tests that no spreadsheet program would write: parts of a real one replaced."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xlsxwriter

SHEET = "xl/worksheets/sheet1.xml"
TEXTS = "xl/sharedStrings.xml"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def write_sheet(path: Path, rows: list[list[Any]], name: str = "teams") -> Path:
    """Write a workbook with one sheet of plain values."""
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    return path


def build_sheet(rows: str) -> bytes:
    """Return the part of a sheet with these row elements."""
    return f'<?xml version="1.0"?><worksheet xmlns="{_MAIN}"><sheetData>{rows}</sheetData></worksheet>'.encode()


def build_texts(*texts: str) -> bytes:
    """Return the part of shared texts."""
    items = "".join(f"<si><t>{text}</t></si>" for text in texts)
    return f'<?xml version="1.0"?><sst xmlns="{_MAIN}">{items}</sst>'.encode()


def replace_parts(path: Path, parts: dict[str, bytes | Callable[[bytes], bytes]]) -> Path:
    """Replace parts of a workbook, or add them; a function gets what was there."""
    with zipfile.ZipFile(path) as archive:
        old = {name: archive.read(name) for name in archive.namelist()}
    for name, part in parts.items():
        old[name] = part if isinstance(part, bytes) else part(old[name])
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in old.items():
            archive.writestr(name, data)
    path.write_bytes(buffer.getvalue())
    return path
