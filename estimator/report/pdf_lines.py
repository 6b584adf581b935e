"""Rows of the customer's page as lines of type on paper: what stands where, and how high a row becomes.

One typeface, the one that comes with the drawing library, set a little narrower than it is cut; nothing under nine
points, since the page is read on a telephone too. Points, from the left margin and down from the top of a row.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from estimator.report import look
from estimator.report.drawing_paper import POINT, font_file, size_of
from estimator.report.quote_rows import WIDTHS, Cell, Row
from estimator.report.words import money_words

PLAIN, BOLD = "quote-plain", "quote-bold"
NARROW = 0.9  # of the width of the typeface
LEAST = 9.0
LEADING = 1.2
LEAD = 16.0  # the price that leads
STRONG = 11  # size on a sheet of a price that leads, where it is bold
ABOVE, BELOW = 1.0, 1.5  # free space in a row
INDENT = 7.0
APART = 6.0  # between what stands in neighbouring columns
BULLET = "– "


@dataclass(frozen=True, slots=True)
class Line:
    """One line of type. x, down: its left end and its foot."""

    x: float
    down: float
    text: str
    size: float
    bold: bool
    ink: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A level line from x to the right. down: where; ink: its colour."""

    x: float
    wide: float
    down: float
    ink: str


@dataclass(frozen=True, slots=True)
class Laid:
    """A row on paper. keeps: it may not be the last of a page; png: a picture instead of lines."""

    high: float
    lines: tuple[Line, ...] = ()
    rules: tuple[Rule, ...] = ()
    keeps: bool = False
    png: bytes = b""


def laid(row: Row, width: float, currency: str) -> Laid:
    """A row on paper. width: of the page between its margins."""
    if row.png:
        return Laid(size_of(row.png)[1] / POINT + 4, png=row.png)
    if not row.cells:
        return Laid(row.high, keeps=True)
    sizes = [_size(c) for c in row.cells]
    first = ABOVE + max(sizes)  # one foot for all first lines, whatever their sizes
    lines: list[Line] = []
    foot = first
    for cell, size in zip(row.cells, sizes, strict=True):
        made, low = _lines(cell, size, first, width, currency)
        lines += made
        foot = max(foot, low)
    signed = any(c.value is None and "bottom" in c.style for c in row.cells)
    high = max(foot + max(sizes) * 0.24 + BELOW, row.high if signed else 0.0)
    if signed:  # to be written on: the words stand low, beside the line
        lines = [Line(m.x, high - 2.5, m.text, m.size, m.bold, m.ink) for m in lines]
    rules = tuple(r for c in row.cells for r in _rules(c, width, high))
    said = [c for c in row.cells if c.value]
    title = bool(said) and all(isinstance(c.value, str) and c.style.get("bold") for c in said)
    return Laid(high, tuple(lines), rules, title)


def cut(row: Laid, room: float) -> list[Laid]:
    """A row that is higher than a page, in pieces that are not."""
    if row.png or row.high <= room or not row.lines:
        return [row]
    found, start = [], 0.0
    while start < row.high:
        mine = [m for m in row.lines if start < m.down <= start + room - LEAST]
        end = max((m.down for m in mine), default=start + room)
        moved = tuple(Line(m.x, m.down - start, m.text, m.size, m.bold, m.ink) for m in mine)
        if moved:
            found.append(Laid(end - start + LEAST * 0.24 + BELOW, moved))
        start = end
        if not any(m.down > start for m in row.lines):
            break
    return found


def _lines(cell: Cell, size: float, first: float, width: float, currency: str) -> tuple[list[Line], float]:
    """The lines of a cell and the foot of its last one."""
    if cell.value is None:
        return [], first
    style, bold = cell.style, bool(cell.style.get("bold"))
    ink = style.get("font_color", look.INK)
    x, room = _place(cell, width)
    if isinstance(cell.value, Decimal):
        text = money_words(cell.value, currency)
        size = min(size, size * room / max(text_wide(text, size, bold), 1.0))  # a figure is never broken
        return [Line(x, first, text, size, bold, ink)], first
    found, down = [], first
    for text, aside in wrapped(cell.value, room, size, bold):
        if text.strip():
            found.append(Line(x + aside, down, text, size, bold, ink))
        down += size * LEADING
    return found, down - size * LEADING if found else first


def _size(cell: Cell) -> float:
    size = float(cell.style.get("font_size", LEAST))
    if isinstance(cell.value, Decimal) and size >= STRONG and cell.style.get("bold"):
        return LEAD
    return max(size, LEAST)


def _place(cell: Cell, width: float) -> tuple[float, float]:
    """Left end and width of a cell, less what keeps it off its neighbours."""
    part = width / sum(WIDTHS)
    x, wide = sum(WIDTHS[: cell.first]) * part, sum(WIDTHS[cell.first : cell.last + 1]) * part
    aside = INDENT * int(cell.style.get("indent", 0))
    return x + aside, wide - aside - (0.0 if cell.last == len(WIDTHS) - 1 else APART)


def _rules(cell: Cell, width: float, high: float) -> list[Rule]:
    part = width / sum(WIDTHS)
    x, wide = sum(WIDTHS[: cell.first]) * part, sum(WIDTHS[cell.first : cell.last + 1]) * part
    ends = (("top", 0.0), ("bottom", high))
    return [Rule(x, wide, at, cell.style.get(f"{e}_color", look.INK)) for e, at in ends if cell.style.get(e)]


def wrapped(text: str, room: float, size: float, bold: bool) -> list[tuple[str, float]]:
    """Lines and how far each stands in; the lines of a list stand in below its first word."""
    found: list[tuple[str, float]] = []
    for paragraph in look.clean(text).replace("\t", " ").split("\n"):
        aside = text_wide(BULLET, size, bold) if paragraph.startswith(BULLET) else 0.0
        line, used, start = "", 0.0, 0.0
        for word in _words(paragraph, room - aside, size, bold):
            wide = text_wide(word, size, bold)
            if line and start + used + wide > room:
                found.append((line.rstrip(), start))
                line, used, start = "", 0.0, aside
            gap = text_wide(" ", size, bold)
            line, used = f"{line}{word} ", used + wide + gap
        found.append((line.rstrip(), start))
    return found


def _words(paragraph: str, room: float, size: float, bold: bool) -> Iterable[str]:
    """Words; one that is wider than a line in pieces that are not."""
    for word in paragraph.split(" "):
        if text_wide(word, size, bold) <= room:
            yield word
            continue
        piece, used = "", 0.0
        for letter in word:
            wide = text_wide(letter, size, bold)
            if piece and used + wide > room:
                yield piece
                piece, used = "", 0.0
            piece, used = piece + letter, used + wide
        yield piece


def text_wide(text: str, size: float, bold: bool) -> float:
    """The width of a line [points]."""
    return _units(text, bold) * size * NARROW


@lru_cache(maxsize=20_000)  # the same words stand in row after row
def _units(text: str, bold: bool) -> float:
    return float(face(bold).stringWidth(text, 1))


@lru_cache(maxsize=2)
def face(bold: bool) -> Any:
    """The typeface, read and made known to the writing library."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    made = TTFont(BOLD if bold else PLAIN, str(font_file(bold)))
    registerFont(made)
    return made


def lacking(rows: Sequence[Laid]) -> str:
    """Letters that the typeface has not, each once, in the order met."""
    found = {
        letter: None
        for row in rows
        for m in row.lines
        for letter in m.text
        if ord(letter) not in face(m.bold).face.charToGlyph
    }
    return "".join(found)
