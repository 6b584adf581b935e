"""Workbooks for the tests, built in memory and then damaged by hand."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping, Sequence

import xlsxwriter

SHEET = "xl/worksheets/sheet1.xml"
BOOK = "xl/workbook.xml"
SITE_ROWS = (("Site", "Ground", "Rock at (m)"), ("North", "clay", 1.5), ("South", "sand", None))


def workbook(sheets: Mapping[str, Sequence[Sequence[object]]] | None = None) -> bytes:
    """A plain workbook; by default one sheet Sites with two rows."""
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made, {"strings_to_formulas": False})
    for name, rows in (sheets or {"Sites": SITE_ROWS}).items():
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            for column, value in enumerate(row):
                if value is not None:
                    sheet.write(number, column, value)
    book.close()
    return made.getvalue()


def edited(data: bytes, *edits: tuple[str, Callable[[bytes], bytes]]) -> bytes:
    """The package with parts rewritten by functions."""
    source, made = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    by_part = dict(edits)
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as package:
        for name in source.namelist():
            part = source.read(name)
            package.writestr(name, by_part[name](part) if name in by_part else part)
    return made.getvalue()


def replaced(data: bytes, part: str, old: str, new: str) -> bytes:
    """The package with a text of one part replaced; the text must be there."""

    def swap(content: bytes) -> bytes:
        assert old.encode() in content, f"{old} is not in {part}: {content[:600]!r}"
        return content.replace(old.encode(), new.encode())

    return edited(data, (part, swap))


def renamed(data: bytes, names: Mapping[str, str]) -> bytes:
    """The package with parts under other names, nothing else changed."""
    source, made = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as package:
        for name in source.namelist():
            package.writestr(names.get(name, name), source.read(name))
    return made.getvalue()


def with_part(data: bytes, name: str, content: bytes) -> bytes:
    """The package with one part more, which may have the name of another."""
    made = io.BytesIO(data)
    with zipfile.ZipFile(made, "a", zipfile.ZIP_DEFLATED) as package:
        package.writestr(name, content)
    return made.getvalue()
