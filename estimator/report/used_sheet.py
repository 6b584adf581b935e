"""Sheet `Planned and used`: what the sheet Actuals says beside the plan, in quantities and money, and what is left."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.pricing.model import Planned, PricedJob, Used
from estimator.pricing.used import AfterJob, after_job
from estimator.report import look
from estimator.report.blocks import COST, QUANTITY, RATE, Block, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import Col, headings, line, section
from estimator.report.words import lines_high

ROWS = (
    Col("Site", "text", 18),
    Col("Option", "text", 13),
    Col("What", "text", 26),
    Col("Kind", "text", 10),
    Col("Planned", "quantity", 11),
    Col("Used", "quantity", 11),
    Col("Used more", "quantity", 11),
    Col("Unit", "text", 9),
    Col("Rate", "rate", 12),
    Col("Planned cost", "money", 14),
    Col("Cost of what was used", "money", 14),
    Col("Costs more", "money", 14),
    Col("In the total", "text", 11),
)
WHAT, KIND, PLANNED, USED, MORE, UNIT, RATED, PLANNED_COST, USED_COST, COST_MORE, COUNTED = range(2, 13)
LINES = (*ROWS[:3], Col(""), Col("Planned", "quantity"), Col(""), Col(""), Col("Unit"), Col("Rate", "rate"),
         Col("Cost", "money"))  # fmt: skip
PRICES = (*ROWS[:2], *(Col("") for _ in range(7)), Col("Cost", "money"), Col("Price before tax", "money"))
HOURS, QUANTITIES, YES, NO = "hours", "quantity", "yes", "no"
HEAD = (
    "What the sheet Actuals says, beside the plan of the Bill. A row without a site is of the chosen options and the "
    "lines of the whole job together. What is not noted counts as planned.",
    "Cost of what was used: at the rate of the plan; with several rates, in proportion to the planned cost. It changes "
    "no price.",
)


def write(sheet: Sheet, plan: Plan, priced: PricedJob) -> None:
    """Write the sheet: the comparison and the outcome first, then the lines of the bill they point at."""
    widths = [c.width for c in ROWS]
    look.page(sheet, look.OFFICE, priced.job.header.name, widths, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Planned and used", len(ROWS) - 1)
    row = 2
    for words in HEAD:
        sheet.across(row, 0, len(ROWS) - 1, words, text_wrap=True, font_color=look.FAINT)
        sheet.height(row, lines_high(words, sum(widths)))
        row += 1
    first = section(sheet, row + 1, "Planned and used") + 1
    after = first + len(priced.used) + 1
    lines = after + 11  # the first of the bill's lines
    prices = lines + sum(len(u.planned) for u in priced.used) + 3
    headings(sheet, first - 1, ROWS)
    at = lines
    for number, used in enumerate(priced.used):
        _row(sheet, first + number, used, at)
        at += len(used.planned)
    counted = [b for b in plan.blocks if b.bill and (b.option is None or b.option.chosen)]
    _after(sheet, after, priced, (first, first + len(priced.used) - 1), (prices, prices + len(counted) - 1))
    section(sheet, lines - 2, "Lines of the Bill, in the order of the rows above")
    headings(sheet, lines - 1, LINES, widths)
    blocks = {(b.option.site.name, b.option.option.name) if b.option else ("", ""): b for b in plan.blocks}
    for number, planned in enumerate(p for u in priced.used for p in u.planned):
        _line(sheet, lines + number, plan, blocks[planned.site, planned.option], planned)
    section(sheet, prices - 2, "What is in the total")
    headings(sheet, prices - 1, PRICES, widths)
    for number, block in enumerate(counted):
        _price(sheet, prices + number, plan, block)


def _row(sheet: Sheet, row: int, u: Used, lines: int) -> None:
    """One comparison. lines: the first row of its lines of the bill."""
    last, money = lines + len(u.planned) - 1, sheet.look.money()
    kind = HOURS if u.is_task else QUANTITIES
    site = u.site or "whole job"
    made = line(
        sheet, row, ROWS,
        [site, u.option, u.what, kind, None, u.used, None, u.unit, None, None, None, None, YES if u.counted else NO],
        top=1, top_color=RULE,
    )  # fmt: skip

    def put(column: int, formula: str, value: Decimal, shown: str) -> None:
        sheet.formula(row, column, formula, value, shown, **made)

    planned, used = (cell(row, c) for c in (PLANNED, USED))
    rate, planned_cost, used_cost = (cell(row, c) for c in (RATED, PLANNED_COST, USED_COST))
    whole, cost = u.planned_quantity, u.planned_cost
    put(PLANNED, _sum(PLANNED, lines, last), whole, look.quantity_format(whole))
    put(MORE, f"{used}-{planned}", u.used - whole, look.quantity_format(u.used - whole))
    put(PLANNED_COST, f"ROUND({_sum(PLANNED_COST, lines, last)},2)", cost, money)
    put(COST_MORE, f"ROUND({used_cost}-{planned_cost},2)", u.used_cost - cost, money)
    if not u.planned:
        sheet.number(row, RATED, u.rate, sheet.look.money(4), **made)
    elif u.one_rate:
        put(RATED, cell(lines, RATED), u.rate, sheet.look.money(4))
    else:
        put(RATED, f"IF({planned}=0,0,{planned_cost}/{planned})", u.rate, sheet.look.money(4))
    times = f"{used}*{planned_cost}/{planned}" if u.planned and not u.one_rate and whole else f"{used}*{rate}"
    put(USED_COST, f"ROUND({times},2)", u.used_cost, money)


def _sum(column: int, first: int, last: int) -> str:
    return f"SUM({cell(first, column)}:{cell(last, column)})" if last >= first else "0"


def _after(sheet: Sheet, row: int, priced: PricedJob, rows: tuple[int, int], prices: tuple[int, int]) -> None:
    """Cost and what is left of the price, as planned and after the job. rows, prices: first and last of each block."""
    section(sheet, row, "After the job")
    after: AfterJob = after_job(priced)

    def more(kind: str) -> str:
        spans = [f"{cell(rows[0], c)}:{cell(rows[1], c)}" for c in (COST_MORE, KIND, COUNTED)]
        return f'ROUND(SUMIFS({spans[0]},{spans[1]},"{kind}",{spans[2]},"{YES}"),2)'

    def value(below: int) -> str:
        return cell(row + below, PLANNED_COST)

    listed: Sequence[tuple[str, str, Decimal, bool]] = (
        ("Cost in the price", f"ROUND({_sum(PLANNED_COST, *prices)},2)", after.cost, False),
        ("Hours cost more", more(HOURS), after.hours, False),
        ("Quantities cost more", more(QUANTITIES), after.quantities, False),
        ("Cost after the job", f"ROUND({value(1)}+{value(2)}+{value(3)},2)", after.cost_after, True),
        ("Price before tax", f"ROUND({_sum(USED_COST, *prices)},2)", after.price, False),
        ("Left over the cost, as planned", f"ROUND({value(5)}-{value(1)},2)", after.left, False),
        ("Left over the cost, after the job", f"ROUND({value(5)}-{value(4)},2)", after.left_after, True),
    )
    for below, (words, formula, amount, strong) in enumerate(listed, start=1):
        style: dict[str, Any] = {"bold": True, "top": 1, "top_color": INK} if strong else {}
        for column in range(PLANNED_COST):
            sheet.text(row + below, column, words if column == 0 else "", **style)
        sheet.formula(row + below, PLANNED_COST, formula, amount, sheet.look.money(), **style)
    if not priced.totals.complete:
        words = f"INCOMPLETE: without {', '.join(priced.totals.missing) or 'any site'}."
        sheet.text(row + len(listed), USED_COST, words, bold=True)


def _line(sheet: Sheet, row: int, plan: Plan, block: Block, planned: Planned) -> None:
    at, x = block.lines + planned.number, planned.line
    site = planned.site or "whole job"
    blanks = [None] * 3
    values = [site, planned.option, x.code, *blanks, None, x.unit, None, None]
    made = line(sheet, row, LINES, values, [c.width for c in ROWS], top=1, top_color=RULE)
    sheet.formula(row, PLANNED, plan.ref(at, QUANTITY), x.quantity, look.quantity_format(x.quantity), **made)
    sheet.formula(row, RATED, plan.ref(at, RATE), x.rate, sheet.look.money(4), **made)
    sheet.formula(row, PLANNED_COST, plan.ref(at, COST), x.cost, sheet.look.money(), **made)


def _price(sheet: Sheet, row: int, plan: Plan, block: Block) -> None:
    assert block.bill is not None
    who = [block.option.site.name, block.option.option.name] if block.option else ["whole job", ""]
    made = line(sheet, row, PRICES[:2], who, [c.width for c in ROWS], top=1, top_color=RULE)
    totals = block.bill.totals
    for column, at, amount in ((PLANNED_COST, block.cost, totals.cost),
                               (USED_COST, block.before_tax, totals.price_before_tax)):  # fmt: skip
        sheet.formula(row, column, plan.ref(at, COST), amount, sheet.look.money(), **made)
