"""Sheet `Bill`: every line, the steps from cost to price and the taxes, as live formulas with the engine's values.

Each formula works by the same rule as the engine, so that a recalculation changes no cent. The rounding inside the
sums keeps the noise of binary fractions away from the next rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.pricing.model import Bill, ChargeTaken, PricedJob
from estimator.report import look
from estimator.report.bill_sums import cost_of_lines, here, of_kinds, running
from estimator.report.bill_tax import line_taxes, share, tax_row
from estimator.report.blocks import (
    CODE,
    COLUMNS,
    COST,
    HEAD_ROWS,
    KIND,
    QUANTITY,
    RATE,
    UNIT,
    WORDS,
    WORKING,
    Block,
    Plan,
    VariedBlock,
)
from estimator.report.look import INK, RULE, Sheet
from estimator.report.reasons import reason
from estimator.report.table import PLAIN, Col, headings
from estimator.report.words import lines_high
from estimator.takeoff.model import Line

COUNTS = "counts"  # of a price of a variation
KINDS = {"materials": "material"}  # the other words of `taken on` name their kind of line themselves


def write(sheets: Sequence[Sheet], plan: Plan, priced: PricedJob) -> None:
    """Write all bill sheets."""
    by_line = [t.code for t in line_taxes(plan)]
    more = (Col("Share of price", "money", 14), *(Col(f"Tax {code}", "money", 12) for code in by_line))
    columns = (*COLUMNS, *more) if by_line else COLUMNS
    header = priced.job.header
    for sheet in sheets:
        look.page(sheet, look.OFFICE, header.name, [c.width for c in columns], landscape=True, frozen=HEAD_ROWS)
        look.title(sheet, look.OFFICE, sheet.name, len(columns) - 1)
        headings(sheet, HEAD_ROWS - 1, columns)
    for block in plan.blocks:
        _block(sheets, plan, block, priced, by_line)
        for sheet in sheets:
            sheet.settle()
    for varied in plan.varied:
        _varied(sheets, plan, varied)


def _block(sheets: Sequence[Sheet], plan: Plan, block: Block, priced: PricedJob, by_line: list[str]) -> None:
    sheet, row = here(sheets, plan, block.start)
    sheet.text(row, CODE, block.words, bold=True, font_size=11, valign="vcenter")
    sheet.height(row, 24)
    if block.bill is None:
        sheet, row = here(sheets, plan, block.lines)
        words = f"NOT PRICED: {reason(priced, block.option)}" if block.option else "nothing to price"
        sheet.across(row, CODE, WORKING, words, text_wrap=True)
        sheet.height(row, lines_high(words, sum(c.width for c in COLUMNS)))
    else:
        _lines(sheets, plan, block, block.bill)
        _total(sheets, plan, block.cost, "Cost", cost_of_lines(plan, block, block.cost), block.bill.totals.cost)
        for number, charge in enumerate(block.bill.charges):
            _charge(sheets, plan, block, number, charge, priced.job.header.round_to)
        before = running(plan, block, len(block.bill.charges), block.before_tax)
        _total(sheets, plan, block.before_tax, "Price before tax", before, block.bill.totals.price_before_tax)
        for number, tax in enumerate(block.bill.taxes):
            tax_row(sheets, plan, block, number, tax, by_line)
        _last(sheets, plan, block, block.bill)
    _beside(sheets, plan, block)


def _line(sheets: Sequence[Sheet], plan: Plan, at: int, line: Line) -> None:
    sheet, row = here(sheets, plan, at)
    texts = ((line.code, CODE), (line.description, WORDS), (line.unit, UNIT), (line.working, WORKING))
    high = max(
        PLAIN,
        *(lines_high(t, COLUMNS[c].width - 2 * (c in (UNIT, WORKING)), 9 if c == WORKING else 10) for t, c in texts),
    )
    style = {"top": 1, "top_color": RULE, "valign": "vcenter" if high == PLAIN else "top"}
    aside = {"indent": 1, "align": "left", "text_wrap": True, **style}
    sheet.height(row, high)
    sheet.text(row, CODE, line.code, text_wrap=True, **style)
    sheet.text(row, WORDS, line.description, text_wrap=True, **style)
    sheet.text(row, KIND, line.kind, **style)
    sheet.number(row, QUANTITY, line.quantity, look.quantity_format(line.quantity), **style)
    sheet.text(row, UNIT, line.unit, **aside)
    sheet.number(row, RATE, line.rate, sheet.look.money(4), **style)
    quantity, rate = plan.ref(at, QUANTITY, at), plan.ref(at, RATE, at)
    sheet.formula(row, COST, f"ROUND({quantity}*{rate},2)", line.cost, sheet.look.money(), **style)
    sheet.text(row, WORKING, line.working, font_color=look.FAINT, font_size=9, **aside)


def _lines(sheets: Sequence[Sheet], plan: Plan, block: Block, bill: Bill) -> None:
    for number, line in enumerate(bill.lines):
        at = block.lines + number
        _line(sheets, plan, at, line)
        if bill.line_prices:
            share(sheets, plan, block, bill, number)


def _charge(
    sheets: Sequence[Sheet], plan: Plan, block: Block, number: int, charge: ChargeTaken, step: Decimal | None
) -> None:
    at = block.charges + number
    sheet, row = here(sheets, plan, at)
    money = sheet.look.money()
    if charge.rate is None or charge.taken_on in ("running", "price"):
        base = running(plan, block, number, at)
    elif charge.taken_on == "cost":
        base = plan.ref(block.cost, COST, at)
    else:
        base = of_kinds(plan, block, [KINDS.get(charge.taken_on, charge.taken_on)], COST, at)
    sheet.text(row, WORDS, charge.step, text_wrap=True)
    sheet.formula(row, QUANTITY, base, charge.base, money)
    from_, rate = plan.ref(at, QUANTITY, at), plan.ref(at, RATE, at)
    if charge.rate is not None:
        sheet.text(row, KIND, f"on {charge.taken_on}")
        sheet.number(row, RATE, charge.rate, look.PERCENT)
        over = f"/(1-{rate})" if charge.taken_on == "price" else ""
        sheet.formula(row, COST, f"ROUND({from_}*{rate}{over},2)", charge.amount, money)
    elif step:
        sheet.text(row, KIND, "to the step")
        sheet.number(row, RATE, step, money)
        sheet.formula(row, COST, f"ROUND(ROUND({from_}/{rate},0)*{rate}-{from_},2)", charge.amount, money)
    else:
        sheet.number(row, COST, charge.amount, money)


def _last(sheets: Sequence[Sheet], plan: Plan, block: Block, bill: Bill) -> None:
    taxes = plan.spans(block.taxes, len(bill.taxes), COST, block.tax)
    formula = f"ROUND(SUM({','.join(taxes)}),2)" if taxes else "0"
    _total(sheets, plan, block.tax, "Tax", formula, bill.totals.tax, quiet=True)
    before, tax = plan.ref(block.before_tax, COST, block.price), plan.ref(block.tax, COST, block.price)
    _total(sheets, plan, block.price, "Price", f"ROUND({before}+{tax},2)", bill.totals.price)


def _total(
    sheets: Sequence[Sheet], plan: Plan, at: int, words: str, formula: str, value: Decimal, quiet: bool = False
) -> None:
    sheet, row = here(sheets, plan, at)
    style: dict[str, Any] = {} if quiet else {"bold": True, "top": 1, "top_color": INK}
    for column in range(CODE, COST):
        sheet.text(row, column, words if column == WORDS else "", **style)
    sheet.formula(row, COST, formula, value, sheet.look.money(), **style)


def _beside(sheets: Sequence[Sheet], plan: Plan, block: Block) -> None:
    """Lines outside the total: each with its cost, and below it the price that the customer is told."""
    if not block.apart:
        return
    sheet, row = here(sheets, plan, block.beside)
    sheet.text(row, CODE, "Beside the price above, not in its total", bold=True, font_color=look.ACCENT, font_size=9)
    for number, (apart, price) in enumerate(block.apart):
        at = block.beside + 1 + 2 * number
        _line(sheets, plan, at, apart.line)
        sheet, row = here(sheets, plan, at + 1)
        sheet.text(row, WORDS, f"Price with tax ({apart.why})", bold=True, text_wrap=True)
        sheet.number(row, COST, price, sheet.look.money(), bold=True)


def _varied(sheets: Sequence[Sheet], plan: Plan, block: VariedBlock) -> None:
    """A variation: each line with its cost, below it its price, and the price of those that count together."""
    variation = block.variation
    sheet, row = here(sheets, plan, block.start)
    words = f"Variation {variation.name}: in none of the prices above"
    sheet.text(row, CODE, words, bold=True, font_size=11, valign="vcenter")
    sheet.height(row, 24)
    for number, line in enumerate(variation.lines):
        at = block.lines + 2 * number
        _line(sheets, plan, at, line.apart.line)
        sheet, row = here(sheets, plan, at + 1)
        where = f"{line.option.site.name}, option {line.option.option.name}" if line.option else "the whole job"
        sheet.text(row, WORDS, f"Price with tax, {where}", bold=True, text_wrap=True)
        sheet.height(row, max(PLAIN, lines_high(f"Price with tax, {where}", COLUMNS[WORDS].width, bold=True)))
        sheet.text(row, KIND, COUNTS if line.counted else "not chosen: not counted")
        sheet.number(row, COST, line.price, sheet.look.money(), bold=True)
    count = 2 * len(variation.lines)
    names, prices = (plan.spans(block.lines, count, column, block.price) for column in (KIND, COST))
    terms = "+".join(f'SUMIF({n},"{COUNTS}",{p})' for n, p in zip(names, prices, strict=True))
    words = f"Variation {variation.name}, with tax"
    _total(sheets, plan, block.price, words, f"ROUND({terms},2)", variation.price)
