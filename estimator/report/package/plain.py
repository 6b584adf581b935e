"""Sheets in the plain form in which our own are written: gone through by their bytes, a hundred times faster than taken
apart. Whatever is not in that form is left to the slower way, which takes any."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from io import BytesIO

from estimator.sheets.xml_text import unescape

# each text of a sheet has its `<` escaped, so a tag found in the bytes is one
_HEAD = re.compile(rb'(<c r="[A-Z]{1,3}[0-9]{1,7}" s=")([0-9]{1,6})')
_TEXT = re.compile(rb'( t="s"><v>)([0-9]{1,9})(?=</v></c>)')
_PLAIN = re.compile(rb'<c r="[A-Z]{1,3}[0-9]{1,7}" s="[0-9]{1,6}"(?: t="(?:s|str|b|e|n)")?/?>')
_NEARLY = re.compile(rb'<c r="[A-Z]{1,3}[0-9]{1,7}"(?: s="[0-9]{1,6}")?(?: t="(?:s|str|b|e|n)")?/?>')
_ROW_STYLE = re.compile(rb'(<row [^>]*? s=")([0-9]{1,6})')
_COLUMN = re.compile(rb'(<col [^>]*? style=")([0-9]{1,6})')
_CONDITION = re.compile(rb'(<cfRule [^>]*? dxfId=")([0-9]{1,6})')
_WHERE = re.compile(rb'<(?:row r="([0-9]{1,7})"|c r="([A-Z]{1,3})([0-9]{1,7})")')
_CELL = re.compile(
    r'<c r="([A-Z]{1,3})([0-9]{1,7})"(?: s="[0-9]+")?(?: t="([a-z]+)")?>(?:<f>([^<]*)</f>)?(?:<v>([^<]*)</v>)?</c>'
)
_DATA, _END = b"<sheetData>", b"</sheetData>"
_CHUNK = 4_000_000  # bytes of rows that are taken at once, to need no more room than that


def chunks(rows: bytes) -> Iterator[bytes]:
    """The rows in pieces that end where a row ends.

    >>> list(chunks(b"<sheetData><row/>"))
    [b'<sheetData><row/>']
    """
    start = 0
    while start < len(rows):
        cut = rows.find(b"<row ", start + _CHUNK)
        cut = len(rows) if cut < 0 else cut
        yield rows[start:cut]
        start = cut


def in_parts(sheet: bytes, styled: bool = True) -> tuple[bytes, bytes, bytes] | None:
    """What stands before the rows of a sheet, the rows, and what stands after; None where it is not in the plain form.

    styled: each cell has a style.

    >>> in_parts(b'<worksheet><sheetData><row r="1"><c r="A1" s="2"/></row></sheetData></worksheet>')[1]
    b'<sheetData><row r="1"><c r="A1" s="2"/></row>'
    >>> in_parts(b'<worksheet><sheetData><row r="1"><c r="A1"/></row></sheetData></worksheet>') is None
    True
    """
    start, end = sheet.find(_DATA), sheet.find(_END)
    if start < 0 or end < start or sheet.count(_DATA) != 1:
        return None
    head, rows, tail = sheet[:start], sheet[start:end], sheet[end:]
    cells = rows.count(b"<c ")
    form = _PLAIN if styled else _NEARLY
    sound = cells == rows.count(b"<c") and cells == sum(len(form.findall(chunk)) for chunk in chunks(rows))
    return (head, rows, tail) if sound else None


def without_rows(sheet: bytes) -> bytes:
    """A sheet in the plain form without its rows; any other as it is."""
    found = in_parts(sheet, styled=False) if b"<sheetData>" in sheet else None
    return sheet if found is None else bare(found[0], found[2])


def bare(head: bytes, tail: bytes) -> bytes:
    """A sheet of what stands before and after its rows."""
    return head + _DATA + tail


def renumbered(
    sheet: bytes, cells: Sequence[int], conditions: Sequence[int], text: Callable[[int], int]
) -> bytes | None:
    """The sheet with its styles, texts and conditional formats pointed elsewhere, and its tab unselected; None where
    it is not in the plain form.

    cells, conditions: by the position they have; text: the same for a shared text.
    """
    found = in_parts(sheet)
    if found is None:
        return None
    head, rows, tail = found
    told = sum(len(_TEXT.findall(chunk)) for chunk in chunks(rows))
    if head.count(b"<col ") != len(_COLUMN.findall(head)) or rows.count(b' t="s"') != told:
        return None
    style = {b"%d" % old: b"%d" % new for old, new in enumerate(cells)}
    # two selected tabs open as a group: what is typed into one goes into the other
    out = BytesIO()
    out.write(_swapped(_COLUMN, head.replace(b' tabSelected="1"', b""), style))
    used: dict[bytes, bytes] = {}
    for chunk in chunks(rows):
        for number in dict.fromkeys(number for _, number in _TEXT.findall(chunk)):
            if number not in used:
                used[number] = b"%d" % text(int(number))
        out.write(_swapped(_TEXT, _swapped(_ROW_STYLE, _swapped(_HEAD, chunk, style), style), used))
    out.write(_swapped(_CONDITION, tail, {b"%d" % old: b"%d" % new for old, new in enumerate(conditions)}))
    return out.getvalue()


def _swapped(pattern: re.Pattern[bytes], data: bytes, numbers: Mapping[bytes, bytes]) -> bytes:
    """Every number that a pattern finds after its first group, by a table."""
    pieces = pattern.split(data)
    pieces[2::3] = map(numbers.__getitem__, pieces[2::3])
    return b"".join(pieces)


def in_order(rows: bytes, styles: int, texts: int) -> bool:
    """Whether the rows of a plain sheet, and the cells of each, stand in order under their own names and use only
    styles and texts that are there."""
    row, said, letters = 0, b"", b""
    styled: set[bytes] = set()
    told: set[bytes] = set()
    for chunk in chunks(rows):
        numbered = 0
        for next_row, column, number in _WHERE.findall(chunk):
            if next_row:
                if int(next_row) <= row:
                    return False
                numbered += 1
                row, said, letters = int(next_row), next_row, b""
            elif number != said or (len(column), column) <= (len(letters), letters):
                return False
            else:
                letters = column
        styled.update(n for _, n in (*_HEAD.findall(chunk), *_ROW_STYLE.findall(chunk)))
        texts_here = _TEXT.findall(chunk)
        told.update(n for _, n in texts_here)
        if chunk.count(b' t="s"') != len(texts_here) or chunk.count(b"<row") != numbered:
            return False
    return max(map(int, styled), default=0) < styles and max(map(int, told), default=-1) < texts


def cells(rows: bytes) -> Iterator[tuple[str, int, str, str, str]]:
    """Column, row, kind, formula and value of each cell of a plain sheet that holds something; ValueError for one that
    holds more than that."""
    for chunk in chunks(rows):
        text = chunk.decode("utf-8")
        found = _CELL.findall(text)
        if len(found) != text.count("</c>"):
            raise ValueError("a cell holds more than a formula and a value")
        for column, row, kind, formula, value in found:
            yield column, int(row), kind or "n", unescape(formula), unescape(value)
