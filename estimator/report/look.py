"""The one look of everything that is written: ink, rules, number formats, pages; and the checked writer.

Text goes in as text and numbers as numbers, never guessed.
"""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from io import BytesIO
from math import isfinite
from typing import Any

from estimator.report.assemble import assemble
from estimator.report.rows import LINKS, USUAL, ReportFault, Rows, Texts, cell

INK = "#1D2B33"
ACCENT = "#8A5A2B"  # the one accent; prints as a middle grey
FAINT = "#5F6B72"
RULE = "#A9B1B6"
FONT = "Arial"

OFFICE = "OFFICE: costs inside"
CREW = "FOR THE CREW"

QUANTITY = "#,##0.###"
WHOLE = "#,##0"
METRES = "0.000"
AREA = "#,##0.00"
VOLUME = "#,##0.000"
DEGREES = '0.0"°"'
PERCENT = "0.0#%"
HOURS = "#,##0.00"
DATE = "yyyy-mm-dd"

QUICK = 1  # how well a workbook is packed that is unpacked at once, to be put into another or settled
LONGEST_TEXT = 32_000  # a cell holds 32,767; the rest is room for the mark


def money_format(currency: str, most: int = 2) -> str:
    """The number format of money; most: the most decimals shown, never fewer than two.

    >>> money_format("EUR"), money_format("$"), money_format("", 4)
    ('[$EUR] #,##0.00;-[$EUR] #,##0.00', '"$"#,##0.00;-"$"#,##0.00', '#,##0.00##;-#,##0.00##')
    """
    digits = "#,##0.00" + "#" * (most - 2)
    sign = currency.strip().replace('"', "").replace("[", "").replace("]", "")
    shown = "" if not sign else f"[${sign}] " if len(sign) == 3 and sign.isalpha() else f'"{sign}"'
    return f"{shown}{digits};-{shown}{digits}"


def quantity_format(value: Decimal) -> str:
    """Whole numbers without the lone point that the general quantity format would leave behind them.

    >>> quantity_format(Decimal("4.0")), quantity_format(Decimal("4.25"))
    ('#,##0', '#,##0.###')
    """
    return WHOLE if value == value.to_integral_value() else QUANTITY


def clean(text: str) -> str:
    """Text as a cell can hold it: plain line ends, no control characters, cut with a visible mark when too long."""
    if len(text) * 2 <= LONGEST_TEXT and text.isprintable():
        return text  # nearly every cell: one line of plain letters
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = "".join(c for c in text if c in "\n\t" or (ord(c) >= 32 and not 0xD800 <= ord(c) <= 0xDFFF))
    text = text.replace("\ufffe", "").replace("\uffff", "")
    kept, units = 0, 0
    for kept, letter in enumerate(text):
        units += 2 if ord(letter) > 0xFFFF else 1
        if units > LONGEST_TEXT:
            return f"{text[:kept]} [cut here: {len(text) - kept} more characters]"
    return text


def quoted(sheet: str) -> str:
    """A sheet's name as a formula writes it.

    >>> quoted("Dad's bill")
    "'Dad''s bill'"
    """
    return "'" + sheet.replace("'", "''") + "'"


@dataclass(frozen=True, slots=True)
class Look:
    """A workbook being written, with the manners of the job: currency, units and paper."""

    workbook: Any
    stream: BytesIO
    currency: str
    units: str
    paper: str
    texts: Texts = field(default_factory=Texts)
    made: dict[tuple[tuple[str, Any], ...], Any] = field(default_factory=dict)
    numbers: dict[tuple[tuple[str, Any], ...], str] = field(default_factory=dict)  # of styles, as cells name them
    sheets: list[Sheet] = field(default_factory=list)

    def style(self, **wanted: Any) -> Any:
        """A cell format on top of the house style; each is made once."""
        asked = tuple(wanted.items())
        found = self.made.get(asked)
        if found is None:
            key = tuple(sorted(asked))
            if key not in self.made:
                house = {"font_name": FONT, "font_size": 10, "font_color": INK, "valign": "top"}
                self.made[key] = self.workbook.add_format({**house, **wanted})
            found = self.made[asked] = self.made[key]  # asked for in this order before
        return found

    def number(self, wanted: Mapping[str, Any]) -> str:
        """The number of a style, as the cells of a sheet name it."""
        asked = tuple(wanted.items())
        found = self.numbers.get(asked)
        if found is None:
            # the library numbers a format once it writes a cell of it; that is asked for here, and a test holds it
            found = self.numbers[asked] = str(self.style(**wanted)._get_xf_index())
        return found

    def money(self, most: int = 2) -> str:
        """The number format of the job's money."""
        return money_format(self.currency, most)


def start(currency: str, units: str, paper: str, day: date) -> Look:
    """An empty workbook in memory. day: stands for every clock in it, so that the same job gives the same bytes."""
    from xlsxwriter import Workbook

    stream = BytesIO()
    # in the other mode charts would be given the values of their cells, which the library has not got
    options = {"constant_memory": True, "default_format_properties": {"font_name": FONT, "font_size": 10}}
    workbook = Workbook(stream, options)
    workbook.set_properties({"created": datetime.combine(day, time())})
    return Look(workbook, stream, currency, units, paper)


def finish(look: Look) -> bytes:
    """Close the workbook and give its bytes."""
    rows = {}
    for number, sheet in enumerate(look.sheets, start=1):
        rows[f"xl/worksheets/sheet{number}.xml"] = sheet.rows
        if sheet.pinned:
            for row, pixels in sheet.rows.pixels.items():
                sheet.ws.set_row_pixels(row, pixels)
    look.workbook.close()
    found = BytesIO()
    with zipfile.ZipFile(look.stream) as old, zipfile.ZipFile(found, "w", compresslevel=QUICK) as new:
        assemble(old, new, rows, look.texts)
    return found.getvalue()


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet being written. names: what the sheets of the workbook are called, by our own name for them."""

    name: str
    ws: Any
    rows: Rows
    look: Look
    names: Mapping[str, str]
    pinned: list[int] = field(default_factory=list)  # rows that a picture or chart hangs on

    def text(self, row: int, column: int, value: object, **style: Any) -> None:
        """Text as text, whatever it looks like; a blank keeps its style."""
        shown = clean(value if type(value) is str else str(value))
        if shown:
            self.rows.text(row, column, self.look.number(style), shown)
        else:
            self.rows.blank(row, column, self.look.number(style))

    def blank(self, row: int, column: int, **style: Any) -> None:
        """An empty cell with a style."""
        self.rows.blank(row, column, self.look.number(style))

    def number(self, row: int, column: int, value: float | Decimal, num_format: str, **style: Any) -> None:
        """A number; one that is not finite is said in words, since a cell cannot hold it."""
        if not isfinite(value):
            self.text(row, column, "not known", **{**style, "align": "right"})
            return
        style["num_format"] = num_format
        self.rows.number(row, column, self.look.number(style), float(value))

    def day(self, row: int, column: int, value: date, **style: Any) -> None:
        """A date."""
        self.rows.day(row, column, self.look.number({"num_format": DATE, "align": "left", **style}), value)

    def formula(
        self, row: int, column: int, formula: str, value: float | Decimal, num_format: str, **style: Any
    ) -> None:
        """A live formula with its value beside it, for everybody who does not calculate."""
        style["num_format"] = num_format
        self.rows.formula(row, column, self.look.number(style), formula, float(value))

    def link(self, row: int, column: int, sheet: str, target: str, shown: str, **style: Any) -> bool:
        """A link to a cell of this workbook; plain text where a sheet has all the links it can hold."""
        if len(self.rows.links) >= LINKS or len(sheet) > 200:
            self.text(row, column, shown, **style)
            return False
        self.rows.link(row, column, f"{quoted(sheet)}!{target or 'A1'}", clean(shown))
        self.text(row, column, shown, underline=1, **style)
        return True

    def across(self, row: int, first: int, last: int, value: object, **style: Any) -> None:
        """Text over several cells of one row."""
        self.text(row, first, value, **style)
        for column in range(first + 1, last + 1):
            self.blank(row, column, **style)
        if first != last:
            self.rows.merge(row, first, last)

    def height(self, row: int, points: float) -> None:
        """The height of a row that something is written in; a row holds at most 409 points."""
        self.rows.height(row, min(points, 409.0))

    def settle(self) -> None:
        """Write what was kept so far, so that a long sheet needs little memory; nothing more comes above it."""
        if not self.rows.ordered:
            self.rows.put_away()

    def gap(self, row: int, points: float) -> None:
        """The height of a row that nothing is written in."""
        self.blank(row, 0)
        self.height(row, points)

    def tall(self, first: int, last: int) -> int:
        """Pixels from the first row to the last."""
        sizes = self.rows.pixels
        return sum(sizes.get(row, USUAL) for row in range(first, last + 1))

    def picture(self, row: int, name: str, how: Mapping[str, Any]) -> None:
        """A picture at the first cell of a row."""
        self.pinned.append(row)
        accepted(self.ws.insert_image(row, 0, name, dict(how)), row, 0)

    def chart(self, row: int, chart: Any, how: Mapping[str, Any]) -> None:
        """A chart at the first cell of a row."""
        self.pinned.append(row)
        accepted(self.ws.insert_chart(row, 0, chart, dict(how)), row, 0)


def accepted(answer: int | None, row: int, column: int) -> None:
    """ReportFault for an answer of the library that is a refusal: it says it with a negative number and no words."""
    if answer is not None and answer < 0:
        raise ReportFault(f"The library refused what is at {cell(row, column)} ({answer}).")


def add_sheet(look: Look, name: str, names: Mapping[str, str], *, ordered: bool = False) -> Sheet:
    """A new sheet at the end. name: our own name for it; names: what the user calls it; ordered: it is written row
    after row. The rows of any other are kept until `settle`, or the end."""
    ws = look.workbook.add_worksheet(names.get(name, name))
    sheet = Sheet(name, ws, Rows(look.texts, ordered), look, names)
    look.sheets.append(sheet)
    return sheet


def page(sheet: Sheet, head: str, job: str, widths: list[float], *, landscape: bool, frozen: int = 0) -> None:
    """Paper, margins, header, footer and widths. frozen: rows that stay in sight and repeat on every page."""
    ws = sheet.ws
    for column, width in enumerate(widths):
        accepted(ws.set_column(column, column, width, sheet.look.style()), 0, column)
    ws.set_paper(1 if sheet.look.paper.casefold() == "letter" else 9)
    ws.set_landscape() if landscape else ws.set_portrait()
    ws.set_margins(left=0.55, right=0.55, top=0.75, bottom=0.7)
    ws.fit_to_pages(1, 0)
    shown = clean(job).replace("\n", " ")[:60].replace("&", "&&")
    title = sheet.names.get(sheet.name, sheet.name).replace("&", "&&")
    ws.set_header(f"&L&8{head}&R&8{shown}")
    ws.set_footer(f"&L&8{title}&R&8Page &P of &N")
    ws.hide_gridlines(2)
    if frozen:
        ws.freeze_panes(frozen, 0)
        ws.repeat_rows(0, frozen - 1)


def title(sheet: Sheet, head: str, words: str, last: int) -> None:
    """The first two rows of a sheet: who may see it, and what it is; a rule over columns 0 to last below them."""
    sheet.text(0, 0, head, bold=True, font_size=9, font_color=ACCENT)
    sheet.text(1, 0, words, bold=True, font_size=15, bottom=1, bottom_color=INK)
    for column in range(1, last + 1):
        sheet.blank(1, column, bottom=1, bottom_color=INK)
    sheet.height(1, 24)
