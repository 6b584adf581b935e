"""Workbooks of the .xls kind, written record by record, so that a test can put in what no program would write."""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence

SECTOR = 512
END, FREE, IS_FAT = 0xFFFFFFFE, 0xFFFFFFFF, 0xFFFFFFFD
FORMATS = ("General", "0%", '0" mm"', "d mmm yyyy", "h:mm")  # cell formats 0, 1 ... of the workbook


def record(code: int, content: bytes = b"") -> bytes:
    """One record."""
    return struct.pack("<HH", code, len(content)) + content


def text(words: str, wide: str = "<H") -> bytes:
    """A text with its length and the mark of two bytes a letter."""
    return struct.pack(wide, len(words)) + b"\1" + words.encode("utf-16-le")


def number(row: int, column: int, value: float, style: int = 0) -> bytes:
    """A number; rows and columns from 0."""
    return record(0x203, struct.pack("<HHHd", row, column, style, value))


def label(row: int, column: int, words: str, style: int = 0) -> bytes:
    """A text cell."""
    return record(0x204, struct.pack("<HHH", row, column, style) + text(words))


def truth(row: int, column: int, value: int, error: bool = False) -> bytes:
    """A yes or no, or an error by its code."""
    return record(0x205, struct.pack("<HHHBB", row, column, 0, value, error))


def formula(row: int, column: int, tokens: bytes, value: float, style: int = 0) -> bytes:
    """A formula with the number it came to."""
    return record(0x06, struct.pack("<HHHdHIH", row, column, style, value, 0, 0, len(tokens)) + tokens)


def cells(rows: Sequence[Sequence[object]]) -> bytes:
    """Records of plain cells."""
    made = b""
    for r, row in enumerate(rows):
        for c, value in enumerate(row):
            if isinstance(value, bool):
                made += truth(r, c, value)
            elif isinstance(value, int | float):
                made += number(r, c, value)
            elif isinstance(value, str):
                made += label(r, c, value)
    return made


def stream(
    sheets: Mapping[str, bytes], extra: bytes = b"", since_1904: bool = False, states: Sequence[int] = ()
) -> bytes:
    """The workbook's records. sheets: name to the records of its cells; extra: records of the workbook."""
    bof = struct.pack("<HHHHII", 0x600, 0x05, 0x0DBB, 1996, 0, 6)
    font = record(0x31, struct.pack("<HHHHHBBBB", 200, 0, 0x7FFF, 400, 0, 0, 0, 0, 0) + text("Arial", "<B"))
    head = record(0x809, bof) + extra + record(0x42, struct.pack("<H", 1200))
    head += record(0x22, struct.pack("<H", since_1904)) + font * 4
    for n, code in enumerate(FORMATS[1:], 164):
        head += record(0x41E, struct.pack("<H", n) + text(code))
    for n in range(len(FORMATS)):
        head += record(0xE0, struct.pack("<HHH", 0, 163 + n if n else 0, 0) + b"\0" * 14)
    bodies = [
        record(0x809, struct.pack("<HHHHII", 0x600, 0x10, 0x0DBB, 1996, 0, 6)) + body + record(0x0A)
        for body in sheets.values()
    ]
    names = [text(name, "<B") for name in sheets]
    at = len(head) + sum(4 + 6 + len(n) for n in names) + 4
    listed = b""
    for n, (name, body) in enumerate(zip(names, bodies, strict=True)):
        listed += record(0x85, struct.pack("<IBB", at, states[n] if n < len(states) else 0, 0) + name)
        at += len(body)
    return head + listed + record(0x0A) + b"".join(bodies)


def container(content: bytes, name: str = "Workbook") -> bytes:
    """The compound file around a stream."""
    content += b"\0" * (max(4096, -(-len(content) // SECTOR) * SECTOR) - len(content))
    many = len(content) // SECTOR
    tables = 1
    while tables * 128 < many + 1 + tables:
        tables += 1
    fat = [IS_FAT] * tables + [END] + [tables + 2 + n for n in range(many - 1)] + [END]
    fat += [FREE] * (tables * 128 - len(fat))
    header = (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 16 + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + b"\0" * 10
    )
    header += struct.pack("<IIIIIIII", tables, tables, 0, 4096, END, 0, END, 0)
    header += struct.pack("<109I", *range(tables), *[FREE] * (109 - tables))

    def entry(title: str, kind: int, child: int, start: int, size: int) -> bytes:
        raw = (title + "\0").encode("utf-16-le")
        links = struct.pack("<HBBIII", len(raw), kind, 1, FREE, FREE, child)
        return raw.ljust(64, b"\0") + links + b"\0" * 36 + struct.pack("<III", start, size, 0)

    folder = entry("Root Entry", 5, 1, END, 0) + entry(name, 2, FREE, tables + 1, len(content))
    return header + struct.pack(f"<{len(fat)}I", *fat) + folder.ljust(SECTOR, b"\0") + content


def xls(sheets: Mapping[str, Sequence[Sequence[object]] | bytes], **more: object) -> bytes:
    """An .xls of sheets, each given as rows of values or as records."""
    made = {name: rows if isinstance(rows, bytes) else cells(rows) for name, rows in sheets.items()}
    return container(stream(made, **more))  # type: ignore[arg-type]
