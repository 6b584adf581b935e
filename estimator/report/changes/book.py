"""A comparison as a workbook of its own, for the office: every part of every difference, added up by live formulas."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.report import look
from estimator.report.changes.compared import Compared, Money
from estimator.report.changes.parts import CAUSES
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import PLAIN, Col, headings, line, section
from estimator.report.words import lines_high

COLUMNS = (
    Col("Why", "text", 34),
    Col("Line or step", "text", 40),
    Col("What became of it", "text", 46),
    Col("Difference", "money", 15),
)
WIDTHS = [c.width for c in COLUMNS]
AMOUNT = 3


def render_compared(found: Compared, paper: str = "A4") -> bytes:
    """The bytes of an .xlsx workbook with one sheet, `Compare`; the same comparison gives the same bytes."""
    new = found.now
    book = look.start(new.currency, new.units, paper, new.day)
    sheet = look.add_sheet(book, "Compare", {})
    look.page(sheet, look.OFFICE, new.job, WIDTHS, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "What changed, and why in money", len(WIDTHS) - 1)
    row = 3
    for label, job in (("Before", found.before), ("Now", found.now)):
        words = f"{job.file}, revision {job.revision}, priced on {job.day.isoformat()}"
        sheet.text(row, 0, label, font_color=look.FAINT)
        sheet.across(row, 1, AMOUNT, words)
        row += 1
    prices = row + 1
    row = _prices(sheet, found, section(sheet, prices, "Prices with tax"))
    for each in found.money:
        if each.parts:
            row = _parts(sheet, each, section(sheet, row + 1, each.called))
    nothing = ("not to be compared: one of the workbooks holds no sheets of its job",)
    for heading, lines in (
        ("What was asked for", nothing if found.asked is None else found.asked),
        ("Rates, charges, taxes and settings", found.rates),
        ("What the customer gets", found.given),
    ):
        row = _listed(sheet, lines, section(sheet, row + 1, heading))
    return look.finish(book)


def _prices(sheet: Sheet, found: Compared, row: int) -> int:
    columns = (Col("Option"), Col("Before", "money"), Col("Now", "money"), Col("Difference", "money"))
    headings(sheet, row, columns, WIDTHS)
    for each in found.money:
        row += 1
        before, now = each.prices
        values: list[Any] = [each.called, _or_words(before, each.before), _or_words(now, each.now), None]
        style = line(sheet, row, columns, values, WIDTHS, top=1, top_color=RULE)
        if before is not None and now is not None:
            formula = f"ROUND({cell(row, 2)}-{cell(row, 1)},2)"
            sheet.formula(row, AMOUNT, formula, now - before, sheet.look.money(), **style)
    return row + 1


def _or_words(price: Decimal | None, option: object) -> Decimal | str:
    return price if price is not None else ("not priced" if option else "not there")


def _parts(sheet: Sheet, each: Money, row: int) -> int:
    headings(sheet, row, COLUMNS)
    first = row + 1
    for part in each.parts:
        row += 1
        line(sheet, row, COLUMNS, [CAUSES[part.cause], part.what, part.how, part.amount], top=1, top_color=RULE)
    row += 1
    style: dict[str, Any] = {"bold": True, "top": 1, "top_color": INK}
    for column in range(AMOUNT):
        sheet.text(row, column, "" if column else "All of it", **style)
    whole = sum((p.amount for p in each.parts), Decimal(0))
    formula = f"ROUND(SUM({cell(first, AMOUNT)}:{cell(row - 1, AMOUNT)}),2)"
    sheet.formula(row, AMOUNT, formula, whole, sheet.look.money(), **style)
    return row + 1


def _listed(sheet: Sheet, lines: Sequence[str], row: int) -> int:
    for words in lines or ("nothing",):
        sheet.across(row, 0, AMOUNT, words, text_wrap=True)
        sheet.height(row, max(PLAIN, lines_high(words, sum(WIDTHS))))
        row += 1
    return row
