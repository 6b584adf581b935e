"""What a formula points at: cells and areas, tables and defined names of the workbook, other workbooks."""

from __future__ import annotations

import re
from dataclasses import dataclass

from estimator.core.names import key
from estimator.sheets.areas import LAST_COLUMN, LAST_ROW, Area, column_number
from estimator.sheets.cells import Book

UNTOLD = "=a formula of the .xls"  # one whose text cannot be told; it is known that it is one

_TEXTS = re.compile(r'"(?:[^"]|"")*"')
_TABLE = re.compile(r"([^\W\d][\w.]*)\[((?:[^\[\]]|\[[^\[\]]*\])*)\]")
_TABLE_COLUMN = re.compile(r"\[?([^\[\],:#@][^\[\],:]*)\]?")
_OTHER_BOOK = re.compile(r"(?<![\w\]])\[[1-9]\d*\]|\[[^\[\]]+\.\w{3,5}\]|'[^']*\[[^\]]+\](?:[^']|'')*'!", re.IGNORECASE)
_SHEET = r"(?:'((?:[^']|'')+)'|([^\W\d][\w.]*(?::[^\W\d][\w.]*)?))!"
_CELLS = r"\$?([A-Z]{1,3})\$?(\d{1,7})(?::\$?([A-Z]{1,3})\$?(\d{1,7}))?"
_COLUMNS, _ROWS = r"\$?([A-Z]{1,3}):\$?([A-Z]{1,3})", r"\$?(\d{1,7}):\$?(\d{1,7})"
_POINTS = re.compile(rf"(?<![\w.\]$])(?:{_SHEET})?(?:{_CELLS}|{_COLUMNS}|{_ROWS})(?![\w(!.\[])", re.IGNORECASE)
_ANY_SHEET = re.compile(rf"(?<![\w.\]]){_SHEET}")
_NAME = re.compile(r"(?<![\w.\]'])([^\W\d][\w.\\?]*)(?![\w(!.\[])")
_UNKNOWABLE = re.compile(r"\b(?:INDIRECT|EVALUATE)\(", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Pointed:
    """What a formula points at. own: at one of our sheets; other: at another workbook; lost: at what cannot be told
    from its text; areas: key of the sheet and area."""

    own: bool = False
    other: bool = False
    lost: bool = False
    areas: tuple[tuple[str, Area], ...] = ()


def pointed(book: Book, sheet: str, row: int, formula: str, names: frozenset[str] = frozenset()) -> Pointed:
    """What a formula in a row of a sheet points at; names: defined names on the way to it, so that none turns round."""
    bare = _TEXTS.sub('""', formula)
    own = {key(name) for name in book.own}
    tables, bare_of_tables = _tables(book, sheet, row, bare)
    points = [*tables]
    found_own = any(name in own for name, _ in tables)
    for match in _ANY_SHEET.finditer(bare_of_tables):
        found_own = found_own or any(key(n) in own for n in _spanned(book, match[1], match[2]))
    for match in _POINTS.finditer(bare_of_tables):
        area = _area(match)
        for name in _spanned(book, match[1], match[2]) or [sheet]:
            points.append((key(name), area))
    other = _OTHER_BOOK.search(bare_of_tables) is not None
    lost = formula == UNTOLD or _UNKNOWABLE.search(bare_of_tables) is not None
    for word in dict.fromkeys(key(m[1]) for m in _NAME.finditer(bare_of_tables)):
        if word in book.defined and word not in names:
            inner = pointed(book, sheet, row, book.defined[word], names | {word})
            found_own, other, lost = found_own or inner.own, other or inner.other, lost or inner.lost
            points += inner.areas
    return Pointed(found_own, other, lost, tuple(dict.fromkeys(points)))


def _spanned(book: Book, quoted: str | None, plain: str | None) -> list[str]:
    """The sheets that a prefix names: one, or all from a first tab to a last one; none of another workbook."""
    name = (quoted or plain or "").replace("''", "'")
    if not name or "]" in name:
        return []
    first, colon, last = name.partition(":")
    tabs = [key(n) for n in book.names]
    if not colon or key(first) not in tabs or key(last) not in tabs:
        return [name]
    start, end = sorted((tabs.index(key(first)), tabs.index(key(last))))
    return list(book.names[start : end + 1])


def _area(match: re.Match[str]) -> Area:
    left, top, right, bottom, first, last, upper, lower = match.groups()[2:]
    if left:
        rows, columns = sorted((int(top), int(bottom or top))), sorted((left, right or left), key=column_number)
        return rows[0], column_number(columns[0]), rows[1], column_number(columns[1])
    if first:
        columns = sorted((first, last), key=column_number)
        return 1, column_number(columns[0]), LAST_ROW, column_number(columns[1])
    rows = sorted((int(upper), int(lower)))
    return rows[0], 1, rows[1], LAST_COLUMN


def _tables(book: Book, sheet: str, row: int, formula: str) -> tuple[list[tuple[str, Area]], str]:
    """The areas of the tables that a formula names, by column and row where it names those; and the rest of it."""
    points = []
    for name, inside in _TABLE.findall(formula):
        if key(name) not in book.tables:
            continue
        on, (top, left, bottom, right) = book.tables[key(name)]
        heads = _heads(book, on, top, left, right)
        columns = [heads[key(c)] for c in _TABLE_COLUMN.findall(inside) if key(c) in heads]
        if columns:
            left, right = min(columns), max(columns)
        this_row = "#this row" in inside.casefold() or "@" in inside
        if this_row and key(on) == key(sheet) and top <= row <= bottom:
            top = bottom = row
        points.append((key(on), (top, left, bottom, right)))
    return points, _TABLE.sub("", formula)


def _heads(book: Book, on: str, top: int, left: int, right: int) -> dict[str, int]:
    cells = next((s.cells for s in book.sheets if key(s.name) == key(on)), {})
    return {key(str(cells[top, c].value)): c for c in range(left, min(right, left + 500) + 1) if (top, c) in cells}
