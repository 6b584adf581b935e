"""Two blocks of the sheet `Summary`: what was accepted and varied since, and what changed since an earlier revision."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.pricing.model import Accepted, Bill, Changes, PricedJob
from estimator.pricing.told import ZERO, contract, variations
from estimator.report import look
from estimator.report.blocks import COST, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import HEAD, PLAIN, section
from estimator.report.words import lines_high, money_words

NAME, WORDS, WORDS_LAST, THEN, NOW, DIFFERENCE = 0, 2, 10, 11, 12, 14  # columns of the Summary


def write(sheet: Sheet, plan: Plan, priced: PricedJob, row: int, widths: Sequence[float]) -> int:
    """Write the blocks at a row of a sheet with these widths; nothing where nothing is accepted and no earlier revision
    lies beside. Gives the row after."""
    row = _accepted(sheet, plan, priced, row, widths)
    if priced.changes is not None:
        row = _changes(sheet, plan, priced, priced.changes, row, widths)
    return row


def _accepted(sheet: Sheet, plan: Plan, priced: PricedJob, row: int, widths: Sequence[float]) -> int:
    held: list[tuple[str, str, Accepted, Bill | None, int]] = []
    for block in plan.blocks:
        option = block.option
        accepted = option.accepted if option else priced.job_accepted
        if accepted is not None:
            site, name = (option.site.name, option.option.name) if option else ("Whole job", "")
            held.append((site, name, accepted, block.bill, block.price))
    if not held:
        return row
    row = section(sheet, row, "Accepted, and varied since")
    _heads(sheet, row, {NAME: "Site", 1: "Option", WORDS: "Accepted", THEN: "Accepted", NOW: "Worked out now",
                        DIFFERENCE: "Difference"}, widths)  # fmt: skip
    first = row + 1
    for site, name, accepted, bill, at in held:
        row += 1
        words = f"as priced on {accepted.day.isoformat()}, revision {accepted.revision}; with tax"
        _row(sheet, row, site, name, words)
        sheet.number(row, THEN, accepted.price, sheet.look.money(), **_rule())
        if bill is not None:
            sheet.formula(row, NOW, plan.ref(at, COST), bill.totals.price, sheet.look.money(), **_rule())
            formula = f"ROUND({cell(row, NOW)}-{cell(row, THEN)},2)"
            difference = bill.totals.price - accepted.price
            sheet.formula(row, DIFFERENCE, formula, difference, sheet.look.money(), **_rule())
    for variation in variations(priced):
        row += 1
        _row(sheet, row, f"Variation {variation.name}", "", "; ".join(variation.reasons))
        sheet.height(row, max(PLAIN, lines_high("; ".join(variation.reasons), sum(widths[WORDS : WORDS_LAST + 1]))))
        sheet.number(row, THEN, variation.price, sheet.look.money(), **_rule())
    whole = contract(priced)
    row += 1
    style: dict[str, Any] = {"bold": True, "top": 1, "top_color": INK}
    if whole is None:
        sheet.text(row, NAME, "No contract sum: not everything that is chosen is accepted.", font_color=look.FAINT)
        return row + 2
    sheet.text(row, NAME, "Contract sum, with tax", **style)
    for column in range(1, DIFFERENCE + 1):
        sheet.blank(row, column, **style)
    value = whole + sum((v.price for v in variations(priced)), ZERO)
    formula = f"ROUND(SUM({cell(first, THEN)}:{cell(row - 1, THEN)}),2)"
    sheet.formula(row, THEN, formula, value, sheet.look.money(), **style)
    return row + 2


def _rule() -> dict[str, Any]:
    return {"top": 1, "top_color": RULE}


def _row(sheet: Sheet, row: int, site: str, name: str, words: str) -> None:
    sheet.text(row, NAME, site, text_wrap=True, **_rule())
    sheet.text(row, 1, name, text_wrap=True, **_rule())
    sheet.across(row, WORDS, WORDS_LAST, words, text_wrap=True, **_rule())
    for column in range(THEN, DIFFERENCE + 1):
        sheet.blank(row, column, **_rule())


def _heads(sheet: Sheet, row: int, heads: dict[int, str], widths: Sequence[float]) -> None:
    for column in range(DIFFERENCE + 1):
        align = {"align": "right"} if column >= THEN else {}
        sheet.text(row, column, heads.get(column, ""), **HEAD, **align)
    sheet.height(row, 3 + max(lines_high(w, widths[c], 9, bold=True) for c, w in heads.items()))


def _changes(sheet: Sheet, plan: Plan, priced: PricedJob, changes: Changes, row: int, widths: Sequence[float]) -> int:
    """Then and now of every price, the parts of each difference, and what changed in words."""
    row = section(sheet, row, f"Changed since revision {changes.revision}")
    sheet.text(row, 0, f"Held against {changes.file}, priced on {changes.day.isoformat()}.", font_color=look.FAINT)
    row += 1
    _heads(sheet, row, {NAME: "Site", 1: "Option", WORDS: "Why, in money", THEN: f"Revision {changes.revision}",
                        NOW: "Now", DIFFERENCE: "Difference"}, widths)  # fmt: skip
    at = {(b.option.site.name, b.option.option.name) if b.option else ("", ""): b for b in plan.blocks}
    for price in changes.prices:
        row += 1
        block = at.get((price.site, price.option))
        _row(sheet, row, price.site or "Whole job", price.option, "Price with tax")
        money = sheet.look.money()
        _or_words(sheet, row, THEN, price.before, "was not priced", money)
        if block is not None and block.bill is not None:
            sheet.formula(row, NOW, plan.ref(block.price, COST), block.bill.totals.price, money, **_rule())
        else:
            sheet.text(row, NOW, "not priced" if block else "not there", align="right", **_rule())
        if price.before is None or price.now is None:
            continue
        formula = f"ROUND({cell(row, NOW)}-{cell(row, THEN)},2)"
        sheet.formula(row, DIFFERENCE, formula, price.now - price.before, money, bold=True, **_rule())
        for words, amount in price.parts:
            row += 1
            sheet.across(row, WORDS, WORDS_LAST, words, font_color=look.FAINT)
            sheet.number(row, DIFFERENCE, amount, money, font_color=look.FAINT)
    row += 2
    for words in (*changes.told, *changes.office) or ("Nothing else has changed.",):
        sheet.across(row, 0, DIFFERENCE, f"– {words}", text_wrap=True)
        sheet.height(row, max(PLAIN, lines_high(words, sum(widths[: DIFFERENCE + 1]) - 4)))
        row += 1
    return row + 1


def _or_words(sheet: Sheet, row: int, column: int, value: Decimal | None, words: str, money: str) -> None:
    if value is None:
        sheet.text(row, column, words, align="right", **_rule())
    else:
        sheet.number(row, column, value, money, **_rule())


def in_words(priced: PricedJob, currency: str) -> list[str]:
    """The contract of an accepted job in a line, for the command."""
    whole, varied = contract(priced), variations(priced)
    if whole is None:
        return []
    words = "".join(f" + {v.name} {money_words(v.price, currency)}" for v in varied)
    total = whole + sum((v.price for v in varied), ZERO)
    return [f"contract: accepted {money_words(whole, currency)}{words} = {money_words(total, currency)} with tax"]
