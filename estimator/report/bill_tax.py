"""Taxes on the bill: on the total, or line by line with a share of the price for each line."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.pricing.model import Bill, TaxTaken
from estimator.report import look
from estimator.report.bill_sums import here, less, of_kinds
from estimator.report.blocks import (
    COLUMNS,
    COST,
    FIRST_TAX,
    KIND,
    QUANTITY,
    RATE,
    SHARE,
    WORDS,
    Block,
    Plan,
)
from estimator.report.look import RULE, Sheet
from estimator.report.table import PLAIN
from estimator.report.words import lines_high


def line_taxes(plan: Plan) -> list[TaxTaken]:
    """The taxes that are taken line by line, each once, in the order they are met."""
    found: dict[str, TaxTaken] = {}
    for block in plan.blocks:
        for tax in block.bill.taxes if block.bill else ():
            if tax.by_line:
                found.setdefault(tax.code, tax)
    return list(found.values())


def share(sheets: Sequence[Sheet], plan: Plan, block: Block, bill: Bill, number: int) -> None:
    """The line's share of the price; the last line takes what rounding leaves."""
    at = block.lines + number
    sheet, row = here(sheets, plan, at)
    whole, cost = plan.ref(block.before_tax, COST, at), plan.ref(block.cost, COST, at)
    if number < len(bill.lines) - 1:
        formula = f"IF({cost}=0,0,ROUND({whole}*{plan.ref(at, COST, at)}/{cost},2))"
    else:
        formula = less(whole, plan.spans(block.lines, number, SHARE, at))
    sheet.formula(row, SHARE, formula, bill.line_prices[number], sheet.look.money(), top=1, top_color=RULE)


def tax_row(sheets: Sequence[Sheet], plan: Plan, block: Block, number: int, tax: TaxTaken, by_line: list[str]) -> None:
    """One tax of a block. by_line: the codes of the taxes that are taken line by line."""
    at = block.taxes + number
    sheet, row = here(sheets, plan, at)
    money = sheet.look.money()
    whole, cost = plan.ref(block.before_tax, COST, at), plan.ref(block.cost, COST, at)
    if not tax.kinds:
        base = whole
    elif tax.by_line:
        base = of_kinds(plan, block, tax.kinds, SHARE, at)
    else:
        base = f"IF({cost}=0,0,ROUND({whole}*{of_kinds(plan, block, tax.kinds, COST, at)}/{cost},2))"
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
        sheet, row = here(sheets, plan, at)
        style = {"top": 1, "top_color": RULE}
        if tax.kinds and block.bill.lines[number].kind not in tax.kinds:
            sheet.number(row, column, amount, sheet.look.money(), **style)
            continue
        formula = f"ROUND({plan.ref(at, SHARE, at)}*{plan.ref(rate_row, RATE, at)},2)"
        sheet.formula(row, column, formula, amount, sheet.look.money(), **style)
