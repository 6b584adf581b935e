"""Sheet `Bill`: every line, the steps from cost to price and the taxes, as live formulas with the engine's values.

Each formula works by the same rule as the engine, so that a recalculation changes no cent. The rounding inside the
sums keeps the noise of binary fractions away from the next rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.pricing.model import Bill, ChargeTaken, PricedJob, TaxTaken
from estimator.report import look
from estimator.report.blocks import (
    CODE,
    COST,
    FIRST_TAX,
    HEAD_ROWS,
    KIND,
    QUANTITY,
    RATE,
    SHARE,
    UNIT,
    WORDS,
    WORKING,
    Block,
    Plan,
)
from estimator.report.look import INK, RULE, Sheet
from estimator.report.reasons import reason
from estimator.report.table import PLAIN, Col, headings
from estimator.report.words import lines_high
from estimator.takeoff.model import Line

COLUMNS = (
    Col("Code", "text", 16),
    Col("Description", "text", 34),
    Col("Kind", "text", 17),
    Col("Quantity, or base", "money", 17),
    Col("Unit", "text", 10),
    Col("Rate", "rate", 13),
    Col("Cost", "money", 14),
    Col("How it came about", "text", 46),
)
KINDS = {"materials": "material"}  # the other words of `taken on` name their kind of line themselves


def write(sheets: Sequence[Sheet], plan: Plan, priced: PricedJob) -> None:
    """Write all bill sheets."""
    by_line = [t.code for t in _line_taxes(plan)]
    more = (Col("Share of price", "money", 14), *(Col(f"Tax {code}", "money", 12) for code in by_line))
    columns = (*COLUMNS, *more) if by_line else COLUMNS
    header = priced.job.header
    for sheet in sheets:
        look.page(sheet, look.OFFICE, header.name, [c.width for c in columns], landscape=True, frozen=HEAD_ROWS)
        look.title(sheet, look.OFFICE, sheet.name, len(columns) - 1)
        headings(sheet, HEAD_ROWS - 1, columns)
    for block in plan.blocks:
        _block(sheets, plan, block, priced, by_line)


def _line_taxes(plan: Plan) -> list[TaxTaken]:
    """The taxes that are taken line by line, each once, in the order they are met."""
    found: dict[str, TaxTaken] = {}
    for block in plan.blocks:
        for tax in block.bill.taxes if block.bill else ():
            if tax.by_line:
                found.setdefault(tax.code, tax)
    return list(found.values())


def _block(sheets: Sequence[Sheet], plan: Plan, block: Block, priced: PricedJob, by_line: list[str]) -> None:
    sheet, row = _here(sheets, plan, block.start)
    sheet.text(row, CODE, block.words, bold=True, font_size=11, valign="vcenter")
    sheet.height(row, 24)
    if block.bill is None:
        sheet, row = _here(sheets, plan, block.lines)
        words = f"NOT PRICED: {reason(priced, block.option)}" if block.option else "nothing to price"
        sheet.text(row, CODE, words)
    else:
        _lines(sheets, plan, block, block.bill)
        _total(sheets, plan, block.cost, "Cost", _sum(plan, block, block.cost), block.bill.totals.cost)
        for number, charge in enumerate(block.bill.charges):
            _charge(sheets, plan, block, number, charge, priced.job.header.round_to)
        running = _running(plan, block, len(block.bill.charges), block.before_tax)
        _total(sheets, plan, block.before_tax, "Price before tax", running, block.bill.totals.price_before_tax)
        for number, tax in enumerate(block.bill.taxes):
            _tax(sheets, plan, block, number, tax, by_line)
        _last(sheets, plan, block, block.bill)
    _beside(sheets, plan, block)


def _here(sheets: Sequence[Sheet], plan: Plan, row: int) -> tuple[Sheet, int]:
    number, there = plan.at(row)
    return sheets[number], there


def _line(sheets: Sequence[Sheet], plan: Plan, at: int, line: Line) -> None:
    sheet, row = _here(sheets, plan, at)
    rule = {"top": 1, "top_color": RULE}
    sheet.text(row, CODE, line.code, text_wrap=True, **rule)
    sheet.text(row, WORDS, line.description, text_wrap=True, **rule)
    sheet.text(row, KIND, line.kind, **rule)
    sheet.number(row, QUANTITY, line.quantity, look.quantity_format(line.quantity), **rule)
    sheet.text(row, UNIT, line.unit, text_wrap=True, indent=1, align="left", **rule)
    sheet.number(row, RATE, line.rate, sheet.look.money(4), **rule)
    quantity, rate = plan.ref(at, QUANTITY, at), plan.ref(at, RATE, at)
    sheet.formula(row, COST, f"ROUND({quantity}*{rate},2)", line.cost, sheet.look.money(), **rule)
    sheet.text(row, WORKING, line.working, text_wrap=True, indent=1, align="left", font_color=look.FAINT, font_size=9, **rule)
    texts = ((line.code, CODE), (line.description, WORDS), (line.unit, UNIT), (line.working, WORKING))
    sheet.height(row, max(PLAIN, *(lines_high(words, COLUMNS[c].width - 2, 9 if c == WORKING else 10) for words, c in texts)))


def _lines(sheets: Sequence[Sheet], plan: Plan, block: Block, bill: Bill) -> None:
    for number, line in enumerate(bill.lines):
        at = block.lines + number
        _line(sheets, plan, at, line)
        if bill.line_prices:
            _share(sheets, plan, block, bill, number)


def _share(sheets: Sequence[Sheet], plan: Plan, block: Block, bill: Bill, number: int) -> None:
    """The line's share of the price; the last line takes what rounding leaves."""
    at = block.lines + number
    sheet, row = _here(sheets, plan, at)
    whole, cost = plan.ref(block.before_tax, COST, at), plan.ref(block.cost, COST, at)
    if number < len(bill.lines) - 1:
        formula = f"IF({cost}=0,0,ROUND({whole}*{plan.ref(at, COST, at)}/{cost},2))"
    else:
        formula = _less(whole, plan.spans(block.lines, number, SHARE, at))
    sheet.formula(row, SHARE, formula, bill.line_prices[number], sheet.look.money(), top=1, top_color=RULE)


def _less(whole: str, ranges: list[str]) -> str:
    return f"ROUND({whole}-SUM({','.join(ranges)}),2)" if ranges else whole


def _sum(plan: Plan, block: Block, seen_from: int) -> str:
    count = len(block.bill.lines) if block.bill else 0
    ranges = plan.spans(block.lines, count, COST, seen_from)
    return f"ROUND(SUM({','.join(ranges)}),2)" if ranges else "0"


def _of_kinds(plan: Plan, block: Block, kinds: Sequence[str], column: int, seen_from: int) -> str:
    """The sum of a column over the lines of some kinds."""
    count = len(block.bill.lines) if block.bill else 0
    names = plan.spans(block.lines, count, KIND, seen_from)
    values = plan.spans(block.lines, count, column, seen_from)
    terms = [f'SUMIF({n},"{kind}",{v})' for kind in kinds for n, v in zip(names, values, strict=True)]
    return f"ROUND({'+'.join(terms)},2)" if terms else "0"


def _running(plan: Plan, block: Block, before: int, seen_from: int) -> str:
    """Cost and the first `before` charges."""
    return f"ROUND(SUM({','.join(plan.spans(block.cost, 1 + before, COST, seen_from))}),2)"


def _charge(
    sheets: Sequence[Sheet], plan: Plan, block: Block, number: int, charge: ChargeTaken, step: Decimal | None
) -> None:
    at = block.charges + number
    sheet, row = _here(sheets, plan, at)
    money = sheet.look.money()
    if charge.rate is None or charge.taken_on in ("running", "price"):
        base = _running(plan, block, number, at)
    elif charge.taken_on == "cost":
        base = plan.ref(block.cost, COST, at)
    else:
        base = _of_kinds(plan, block, [KINDS.get(charge.taken_on, charge.taken_on)], COST, at)
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


def _tax(sheets: Sequence[Sheet], plan: Plan, block: Block, number: int, tax: TaxTaken, by_line: list[str]) -> None:
    at = block.taxes + number
    sheet, row = _here(sheets, plan, at)
    money = sheet.look.money()
    whole, cost = plan.ref(block.before_tax, COST, at), plan.ref(block.cost, COST, at)
    if not tax.kinds:
        base = whole
    elif tax.by_line:
        base = _of_kinds(plan, block, tax.kinds, SHARE, at)
    else:
        base = f"IF({cost}=0,0,ROUND({whole}*{_of_kinds(plan, block, tax.kinds, COST, at)}/{cost},2))"
    sheet.text(row, WORDS, tax.name, text_wrap=True)
    kinds = "tax" if not tax.kinds else "tax on " + ", ".join(tax.kinds)
    sheet.text(row, KIND, kinds, text_wrap=True)
    sheet.height(row, max(PLAIN, *(lines_high(w, COLUMNS[c].width) for w, c in ((tax.name, WORDS), (kinds, KIND)))))
    sheet.formula(row, QUANTITY, base, tax.base, money)
    sheet.number(row, RATE, tax.rate, look.PERCENT)
    if not tax.by_line:
        formula = f"ROUND({plan.ref(at, QUANTITY, at)}*{plan.ref(at, RATE, at)},2)"
    else:
        column = FIRST_TAX + by_line.index(tax.code)
        _taxes_of_lines(sheets, plan, block, tax, at, column)
        formula = f"ROUND(SUM({','.join(plan.spans(block.lines, len(tax.by_line), column, at))}),2)"
    sheet.formula(row, COST, formula, tax.amount, money)


def _taxes_of_lines(
    sheets: Sequence[Sheet], plan: Plan, block: Block, tax: TaxTaken, rate_row: int, column: int
) -> None:
    assert block.bill is not None
    for number, amount in enumerate(tax.by_line):
        at = block.lines + number
        sheet, row = _here(sheets, plan, at)
        style = {"top": 1, "top_color": RULE}
        if tax.kinds and block.bill.lines[number].kind not in tax.kinds:
            sheet.number(row, column, amount, sheet.look.money(), **style)
            continue
        formula = f"ROUND({plan.ref(at, SHARE, at)}*{plan.ref(rate_row, RATE, at)},2)"
        sheet.formula(row, column, formula, amount, sheet.look.money(), **style)


def _last(sheets: Sequence[Sheet], plan: Plan, block: Block, bill: Bill) -> None:
    taxes = plan.spans(block.taxes, len(bill.taxes), COST, block.tax)
    formula = f"ROUND(SUM({','.join(taxes)}),2)" if taxes else "0"
    _total(sheets, plan, block.tax, "Tax", formula, bill.totals.tax, quiet=True)
    before, tax = plan.ref(block.before_tax, COST, block.price), plan.ref(block.tax, COST, block.price)
    _total(sheets, plan, block.price, "Price", f"ROUND({before}+{tax},2)", bill.totals.price)


def _total(
    sheets: Sequence[Sheet], plan: Plan, at: int, words: str, formula: str, value: Decimal, quiet: bool = False
) -> None:
    sheet, row = _here(sheets, plan, at)
    style: dict[str, Any] = {} if quiet else {"bold": True, "top": 1, "top_color": INK}
    for column in range(CODE, COST):
        sheet.text(row, column, words if column == WORDS else "", **style)
    sheet.formula(row, COST, formula, value, sheet.look.money(), **style)


def _beside(sheets: Sequence[Sheet], plan: Plan, block: Block) -> None:
    """Lines outside the total: each with its cost, and below it the price that the customer is told."""
    if not block.apart:
        return
    sheet, row = _here(sheets, plan, block.beside)
    sheet.text(row, CODE, "Beside the price above, not in its total", bold=True, font_color=look.ACCENT, font_size=9)
    for number, (apart, price) in enumerate(block.apart):
        at = block.beside + 1 + 2 * number
        _line(sheets, plan, at, apart.line)
        sheet, row = _here(sheets, plan, at + 1)
        why = " ".join(w for w in (apart.why, apart.variation) if w)
        sheet.text(row, WORDS, f"Price with tax ({why})", bold=True, text_wrap=True)
        sheet.number(row, COST, price, sheet.look.money(), bold=True)
