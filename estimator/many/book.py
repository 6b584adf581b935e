"""The table of a run as a workbook, to read and to print: a row for each job, and what the jobs come to together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from estimator import __version__
from estimator.many.model import STATUSES
from estimator.many.table import BETWEEN, SHEET, Row, amount
from estimator.report import look
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import PLAIN, Col, headings, line, section
from estimator.report.words import lines_high, plural

OFFICE = "FOR THE OFFICE"
MONEY = "#,##0.00;-#,##0.00"
BEFORE, PRICE, CURRENCY, FILES, SECONDS = 2, 3, 4, 9, 10
COLUMNS = (
    Col("File", "text", 30),
    Col("Status", "text", 14),
    Col("Price before tax", "money", 13),
    Col("Price with tax", "money", 13),
    Col("Currency", "text", 10),
    Col("Errors", "whole", 7),
    Col("Warnings", "whole", 9.5),
    Col("Notes", "whole", 7),
    Col("Look at first", "text", 54),
    Col("Files written", "whole", 8),
    Col("Seconds", "quantity", 9),
)
WIDTHS = [c.width for c in COLUMNS]


@dataclass(frozen=True, slots=True)
class Sum:
    """The chosen options of all jobs in one currency."""

    currency: str
    jobs: int
    before_tax: Decimal
    price: Decimal


def sums(rows: Sequence[Row]) -> list[Sum]:
    """What the jobs come to, a sum for each currency, in the order in which they first stand."""
    priced = [row for row in rows if row.price]
    found = []
    for currency in dict.fromkeys(row.currency for row in priced):
        own = [row for row in priced if row.currency == currency]
        before = sum((amount(row.before_tax) or Decimal(0) for row in own), Decimal(0))
        price = sum((amount(row.price) or Decimal(0) for row in own), Decimal(0))
        found.append(Sum(currency, len(own), before, price))
    return found


def counts(rows: Sequence[Row]) -> str:
    """How many jobs came to what: `12 jobs: 10 priced, 2 not all priced`."""
    found = [row.status for row in rows]
    words = [f"{found.count(status)} {status}" for status in (*STATUSES, "not reached") if status in found]
    return f"{plural(len(rows), 'job')}: {', '.join(words)}" if words else "no job"


def render_table(rows: Sequence[Row], left: Sequence[str], day: date) -> bytes:
    """The bytes of an .xlsx workbook with one sheet. left: what was left out, a sentence each; day: of the run."""
    book = look.start("", "metric", "A4", day)
    sheet = look.add_sheet(book, SHEET, {})
    look.page(sheet, OFFICE, f"run of {day.isoformat()}", WIDTHS, landscape=True, frozen=5)
    look.title(sheet, OFFICE, SHEET, len(WIDTHS) - 1)
    words = f"{counts(rows)}. Day of the run {day.isoformat()}, estimator {__version__}."
    sheet.across(2, 0, len(WIDTHS) - 1, words, font_color=look.FAINT)
    headings(sheet, 4, COLUMNS)
    for number, each in enumerate(rows, start=5):
        _row(sheet, number, each)
    last = 4 + len(rows)
    row = _sums(sheet, rows, last, section(sheet, last + 2, "Sum of the chosen options"))
    if left:
        row = section(sheet, row + 1, "Left out")
        for sentence in left:
            sheet.across(row, 0, len(WIDTHS) - 1, sentence, text_wrap=True)
            sheet.height(row, max(PLAIN, lines_high(sentence, sum(WIDTHS))))
            row += 1
    return look.finish(book)


def _row(sheet: Sheet, number: int, row: Row) -> None:
    files = len(row.written.split(BETWEEN)) if row.written else None
    values: list[Any] = [
        row.file,
        row.status,
        None,
        None,
        row.currency if row.price else "",
        *(_whole(text) for text in (row.errors, row.warnings, row.notes)),
        row.first,
        files,
        None,
    ]
    fine = STATUSES.get(row.status, 1) == 0
    style = line(sheet, number, COLUMNS, values, top=1, top_color=RULE)
    if not fine:  # bold, so that it shows on a grey print too
        sheet.text(number, 1, row.status, bold=True, text_wrap=True, **style)
    for column, text, shape in (
        (BEFORE, row.before_tax, MONEY),
        (PRICE, row.price, MONEY),
        (SECONDS, row.seconds, "0.0"),
    ):
        value = amount(text)
        if value is not None:
            sheet.number(number, column, value, shape, **style)


def _sums(sheet: Sheet, rows: Sequence[Row], last: int, row: int) -> int:
    words = "Jobs added up by currency, with what could be priced of them. It is no bid: each job is one by itself."
    sheet.across(row, 0, len(WIDTHS) - 1, words, font_color=look.FAINT)
    keys = f"{cell(5, CURRENCY)}:{cell(last, CURRENCY)}"
    for found in sums(rows):
        row += 1
        style: dict[str, Any] = {"bold": True, "top": 1, "top_color": INK, "valign": "vcenter"}
        sheet.text(row, 0, plural(found.jobs, "job"), **style)
        sheet.blank(row, 1, **style)
        sheet.text(row, CURRENCY, found.currency, indent=1, **style)
        for column, value in ((BEFORE, found.before_tax), (PRICE, found.price)):
            if found.currency and not set(found.currency) & set("*?~<>="):  # which a condition would take for its own
                range_ = f"{cell(5, column)}:{cell(last, column)}"
                formula = f"ROUND(SUMIF({keys},{cell(row, CURRENCY)},{range_}),2)"
                sheet.formula(row, column, formula, value, MONEY, **style)
            else:
                sheet.number(row, column, value, MONEY, **style)
        sheet.height(row, PLAIN)
    return row + 1


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None
