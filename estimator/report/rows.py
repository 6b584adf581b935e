"""The cells of one sheet as the markup they are in the file, kept until their rows are all there.

Columns, pages, pictures and styles are left to the writing library; cells are most of what is written, and go past it.
Their form is the library's own to the letter, and a test holds it to that.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from datetime import date
from typing import IO

from estimator.sheets.areas import LAST_COLUMN, LAST_ROW, column_letters, reference
from estimator.sheets.xml_text import escape

LINKS = 65_000  # a sheet holds 65,530
USUAL = 20  # pixels of a row of which nothing is said
HELD = 256  # rows of a sheet written row after row that are kept before they are put away
IN_MEMORY = 4_000_000  # bytes of rows beyond which they go to a file for the while
_LETTERS = tuple(column_letters(n + 1) for n in range(64))
_ESCAPED = re.compile("(_x[0-9a-fA-F]{4}_)")
_DAY_NOUGHT = date(1899, 12, 30)


class ReportFault(RuntimeError):
    """A cell that cannot be where it is put: a fault of ours, never of the user's workbook."""


class Texts:
    """The texts of a workbook, each once, by number; uses: how many cells hold one."""

    def __init__(self) -> None:
        self.numbers: dict[str, int] = {}
        self.uses = 0

    def number(self, text: str) -> int:
        """The number of a text."""
        self.uses += 1
        return self.numbers.setdefault(text, len(self.numbers))

    def items(self) -> Iterator[bytes]:
        """Each as it stands in the part of shared texts."""
        for text in self.numbers:
            kept = ' xml:space="preserve"' if text[0].isspace() or text[-1].isspace() else ""
            said = escape(_ESCAPED.sub(r"_x005F\1", text) if "_x" in text else text)
            yield f"<si><t{kept}>{said}</t></si>".encode()


class Rows:
    """Cells by row and column, heights, merged cells and links of one sheet.

    ordered: rows come one after the other, and little is kept; of others all is kept until `put_away`, or the end.
    """

    def __init__(self, texts: Texts, ordered: bool) -> None:
        self.texts, self.ordered = texts, ordered
        self.pixels: dict[int, int] = {}  # heights of rows
        self.merged: list[str] = []
        self.links: list[tuple[int, int, str, str]] = []  # row, column, where to and the words
        self.first = 0  # the first row that may still be written
        self._kept: dict[int, dict[int, str]] = {}
        self._sized: set[int] = set()  # rows that have a height and are not put away
        self._away: IO[bytes] = tempfile.SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115  # closed by `pieces`
        self._least, self._most = LAST_COLUMN, -1  # columns that are used
        self._top, self._bottom = LAST_ROW, -1

    def text(self, row: int, column: int, style: str, text: str) -> None:
        """A text that is not empty."""
        self._put(row, column, f' s="{style}" t="s"><v>{self.texts.number(text)}</v></c>')

    def blank(self, row: int, column: int, style: str) -> None:
        """An empty cell with a style."""
        self._put(row, column, f' s="{style}"/>')

    def number(self, row: int, column: int, style: str, value: float) -> None:
        """A number that is finite."""
        self._put(row, column, f' s="{style}"><v>{value:.16G}</v></c>')

    def day(self, row: int, column: int, style: str, value: date) -> None:
        """A day, as the number of days that stands for it."""
        self.number(row, column, style, (value - _DAY_NOUGHT).days)

    def formula(self, row: int, column: int, style: str, formula: str, value: float) -> None:
        """A formula, without its equals sign, and its value."""
        self._put(row, column, f' s="{style}"><f>{escape(formula)}</f><v>{value}</v></c>')

    def merge(self, row: int, first: int, last: int) -> None:
        """Make one cell of several in a row."""
        self.merged.append(f"{cell(row, first)}:{cell(row, last)}")

    def link(self, row: int, column: int, where: str, words: str) -> None:
        """A link to a place in this workbook."""
        self.links.append((row, column, where, words))

    def height(self, row: int, points: float) -> None:
        """The height of a row."""
        self._check(row, 0)
        self.pixels[row] = int(points * 4 / 3 + 0.5)
        self._sized.add(row)

    def _put(self, row: int, column: int, rest: str) -> None:
        kept = self._kept.get(row)
        if kept is None:
            self._check(row, column)
            if self.ordered and len(self._kept) >= HELD:
                self._write(row)
            kept = self._kept[row] = {}
            if row < self._top:
                self._top = row
            if row > self._bottom:
                self._bottom = row
        if not self._least <= column <= self._most:
            self._check(row, column)
            self._least, self._most = min(self._least, column), max(self._most, column)
        kept[column] = rest

    def _check(self, row: int, column: int) -> None:
        if not (self.first <= row < LAST_ROW and 0 <= column < LAST_COLUMN):
            raise ReportFault(f"The cell {cell(row, column)} is outside the sheet or comes too late.")

    def put_away(self) -> None:
        """Write what was kept so far; nothing more comes above it."""
        self._write(LAST_ROW)

    def _write(self, end: int) -> None:
        """Write the rows before one."""
        sized = self._sized
        rows = sorted(r for r in self._kept.keys() | sized if r < end)
        if not rows:
            return
        out: list[str] = []
        for row in rows:
            name = str(row + 1)
            tall = _tall(self.pixels[row]) if row in sized else ""
            cells = self._kept.get(row)
            if cells is None:
                out.append(f'<row r="{name}"{tall}/>')
                continue
            out.append(f'<row r="{name}"{tall}>')
            ordered = cells.items() if len(cells) == 1 else sorted(cells.items())
            out += [f'<c r="{_LETTERS[c] if c < 64 else column_letters(c + 1)}{name}"{rest}' for c, rest in ordered]
            out.append("</row>")
        self._away.write("".join(out).encode())
        self.first = rows[-1] + 1
        self._kept = {r: cells for r, cells in self._kept.items() if r >= self.first}
        self._sized = {r for r in sized if r >= self.first}

    def pieces(self) -> Iterator[bytes]:
        """All rows, a piece at a time; nothing comes after."""
        self.put_away()
        self._away.seek(0)
        while piece := self._away.read(IN_MEMORY):
            yield piece
        self._away.close()

    def dimension(self) -> str:
        """The area that is used.

        >>> Rows(Texts(), ordered=True).dimension()
        'A1'
        """
        if self._most < 0:
            return "A1"
        first, last = cell(self._top, self._least), cell(self._bottom, self._most)
        return first if first == last else f"{first}:{last}"


def _tall(pixels: int) -> str:
    return "" if pixels == USUAL else f' ht="{pixels * 0.75:.16g}" customHeight="1"'


def attribute(text: str) -> str:
    """Text as it stands between the quotation marks of an attribute.

    >>> attribute('"a" < b')
    '&quot;a&quot; &lt; b'
    """
    return escape(text).replace('"', "&quot;").replace("\n", "&#xA;")


def cell(row: int, column: int) -> str:
    """The A1 name of a cell counted from nought.

    >>> cell(0, 0), cell(9, 27)
    ('A1', 'AB10')
    """
    return reference(row + 1, column + 1)
