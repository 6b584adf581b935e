"""Rows of the customer's page: what stands in them, and their height before they are drawn, so that a page can be
filled. The sheet, the PDF and the draft of a mail are all made of these rows, so that no figure can differ."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from io import BytesIO
from typing import Any

from estimator.report import look
from estimator.report.look import ACCENT, FAINT, INK, RULE, Sheet
from estimator.report.words import lines_high

WIDTHS = [24.0, 28.0, 27.0, 25.0]
LAST = len(WIDTHS) - 1
SIZE = 9
SCALE = 82  # per cent at which the columns fill the width of the paper
HALF = sum(WIDTHS[:2]) - 1.5  # less the indent of the right half
ASIDE: Mapping[str, Any] = {"indent": 1, "align": "left"}  # a little away from what stands to the left


@dataclass(frozen=True, slots=True)
class Cell:
    """Text, money, or None for free space with a style, over the columns first to last. style: names of the library
    that writes workbooks; a PDF reads font_size, bold, font_color, indent, top and bottom of it."""

    first: int
    last: int
    value: str | Decimal | None
    style: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Row:
    """One row. high: points on a sheet; png: a picture instead of cells; said: what it shows."""

    high: float
    cells: tuple[Cell, ...] = ()
    png: bytes = b""
    said: str = ""

    def draw(self, sheet: Sheet, row: int) -> None:
        """Write the row on a sheet."""
        for c in self.cells:
            if isinstance(c.value, Decimal):
                sheet.number(row, c.first, c.value, sheet.look.money(), **c.style)
            elif c.value is None:
                sheet.blank(row, c.first, **c.style)
            else:
                sheet.across(row, c.first, c.last, c.value, **c.style)
        if self.png:
            grown = 100 / SCALE
            how = {"image_data": BytesIO(self.png), "x_scale": grown, "y_scale": grown, "object_position": 2}
            shown = {"description": look.clean(self.said)[:200], "y_offset": 2}
            sheet.picture(row, "plan.png", {**how, **shown})


@dataclass(frozen=True, slots=True)
class Section:
    """Rows that stay together. name: what it is called where it had to move to another sheet."""

    name: str
    rows: tuple[Row, ...]

    @property
    def high(self) -> float:
        """Height of all rows [points]."""
        return rows_high(self.rows)


def rows_high(rows: Iterable[Row]) -> float:
    """The height of some rows on a sheet [points]."""
    return sum(r.high for r in rows)


def gap(points: float = 6) -> Row:
    """Free space."""
    return Row(points)


def words(text: str, size: float = SIZE, first: int = 0, last: int = LAST, **style: Any) -> Row:
    """Text over some columns."""
    high = lines_high(text, sum(WIDTHS[first : last + 1]), size, bool(style.get("bold")))
    return Row(high, (Cell(first, last, text, {"text_wrap": True, "font_size": size, **style}),))


def heading(text: str, right: str = "") -> Row:
    """A small heading over the page, or one over each half."""
    style = {"bold": True, "font_size": 9, "font_color": ACCENT, "bottom": 1, "bottom_color": RULE}
    if right:
        return Row(16, (Cell(0, 1, text, style), Cell(2, LAST, right, {**ASIDE, **style})))
    return Row(16, (Cell(0, LAST, text, style),))


def halves(left: Sequence[str], right: Sequence[str], size: float = SIZE) -> list[Row]:
    """Two lists beside each other, cut into rows that a sheet can show in full."""
    pages = max(1, *(len(_chunks(x, size)) for x in (left, right)))
    a, b = _chunks(left, size), _chunks(right, size)
    return [_half(a[n] if n < len(a) else [], b[n] if n < len(b) else [], size) for n in range(pages)]


def _half(left: Sequence[str], right: Sequence[str], size: float) -> Row:
    texts = _list(left), _list(right)
    high = max(lines_high(t, HALF, size) for t in texts)
    style = {"text_wrap": True, "font_size": size}
    return Row(high, (Cell(0, 1, texts[0], style), Cell(2, LAST, texts[1], {**style, **ASIDE})))


def listed(lines: Sequence[str], size: float = SIZE) -> list[Row]:
    """A list over the page."""
    return [words(_list(chunk), size) for chunk in _chunks(lines, size, sum(WIDTHS))]


def _list(lines: Sequence[str]) -> str:
    return "\n".join(f"– {line}" for line in lines)


def _chunks(lines: Sequence[str], size: float, width: float = HALF) -> list[list[str]]:
    """Lines in groups that are at most about 300 points high; a longer line is a group of its own."""
    found: list[list[str]] = []
    high = 0.0
    for line in lines:
        more = lines_high(line, width, size)
        if not found or high + more > 300:
            found.append([])
            high = 0.0
        found[-1].append(line)
        high += more
    return found


def facts(name: str, value: str, right_name: str = "", right_value: str = "") -> Row:
    """A label and its value in each half."""
    high = max(lines_high(value, WIDTHS[1], SIZE), lines_high(right_value, WIDTHS[3], SIZE), 13.5)
    cells = []
    for column, text in enumerate((name, value, right_name, right_value)):
        style = ASIDE if column == 2 else {}
        ink = FAINT if column % 2 == 0 else INK
        cells.append(Cell(column, column, text, {"font_size": SIZE, "text_wrap": True, "font_color": ink, **style}))
    return Row(high, tuple(cells))


def detail(name: str, values: Sequence[str], **style: Any) -> Row:
    """A label, and a value for each option; a single value has the width of the page."""
    wide = len(values) == 1
    bold = bool(style.get("bold"))
    widths = [sum(WIDTHS[1:])] if wide else WIDTHS[1 : 1 + len(values)]
    high = max(13.5, *(lines_high(v, w - 1, SIZE, bold) for v, w in zip(values, widths, strict=True)))
    plain = {"text_wrap": True, "font_size": SIZE, **style}
    first = Cell(0, 0, name, {"font_color": FAINT, **plain})
    if wide:
        return Row(high, (first, Cell(1, LAST, values[0], plain)))
    return Row(high, (first, *(Cell(n, n, value, {**_aside(n), **plain}) for n, value in enumerate(values, 1))))


def _aside(column: int) -> dict[str, Any]:
    """Columns beside another stand a little away from it."""
    return dict(ASIDE) if column > 1 else {"align": "left"}


def amounts(name: str, values: Sequence[Decimal], *, strong: bool = False, size: float = 0) -> Row:
    """A label and a price for each option, near the label so that a narrow screen shows both.

    strong: larger, under a rule.
    """
    size = size or (11 if strong else SIZE)
    style: dict[str, Any] = {"bold": strong, "font_size": size}
    if strong:
        style |= {"top": 1, "top_color": INK}
    cells = [Cell(0, 0, name, {"text_wrap": True, **style})]
    cells += [Cell(n, n, value, {**_aside(n), **style}) for n, value in enumerate(values, 1)]
    cells += [Cell(n, n, None, style) for n in range(len(values) + 1, LAST + 1)]
    return Row(lines_high(name, WIDTHS[0], size, strong) + (4 if strong else 1), tuple(cells))


def offer(name: str, price: Decimal, note: str, bold: bool = True) -> Row:
    """A name, its price, and a note in the other half."""
    high = max(lines_high(name, WIDTHS[0], SIZE, bold), lines_high(note, HALF, SIZE))
    style = {"font_size": SIZE, "bold": bold}
    named = Cell(0, 0, name, {"text_wrap": True, **style})
    noted = Cell(2, LAST, note, {"text_wrap": True, "font_size": SIZE, **ASIDE})
    return Row(high + 1, (named, Cell(1, 1, price, {**ASIDE, **style}), noted))


def sign(name: str, right: str = "") -> Row:
    """A line to write on."""
    cells = []
    for text, column in ((name, 0), (right, 2)):
        if text:
            style = {"font_size": SIZE, "valign": "bottom", "font_color": FAINT, **(ASIDE if column else {})}
            cells.append(Cell(column, column, text, style))
            cells.append(Cell(column + 1, column + 1, None, {"bottom": 1, "bottom_color": INK}))
    return Row(22, tuple(cells))


def picture(png: bytes, tall: float, said: str) -> Row:
    """A picture at its true size on a page printed at SCALE. tall: points on paper; said: what it shows."""
    return Row(tall * 100 / SCALE + 4, (), png, said)


def page(sheet: Sheet, one_page: bool, foot: str) -> None:
    """A portrait page of the customer's copy; no names, no titles that would be kept as defined names."""
    ws = sheet.ws
    for column, width in enumerate(WIDTHS):
        ws.set_column(column, column, width, sheet.look.style())
    ws.set_paper(1 if sheet.look.paper.casefold() == "letter" else 9)
    ws.set_portrait()
    ws.set_margins(left=0.6, right=0.6, top=0.5, bottom=0.55)
    ws.center_horizontally()
    if one_page:
        ws.fit_to_pages(1, 1)
    else:
        ws.set_print_scale(SCALE)  # not fitted: fitting would ignore the page breaks
    ws.set_footer(f"&L&8{foot.replace('&', '&&')[:80]}&R&8Page &P of &N")
    ws.hide_gridlines(2)


def put(sheet: Sheet, rows: Sequence[Row], at: int = 0) -> int:
    """Draw rows one below the other. Gives the row after."""
    for row in rows:
        row.draw(sheet, at)
        sheet.height(at, row.high)
        at += 1
    return at


def put_sections(sheet: Sheet, sections: Sequence[Section], page_high: float) -> None:
    """Draw sections, each kept on one page where it fits on one. page_high: points at full size."""
    room = page_high * 100 / SCALE
    row, used = 0, 0.0
    breaks: list[int] = []
    for section in sections:
        if used and used + section.high > room and len(breaks) < 1000:
            breaks.append(row)
            used = 0.0
        row = put(sheet, section.rows, row)
        used = (used + section.high) % room if section.high > room else used + section.high
    sheet.ws.set_h_pagebreaks(breaks)
