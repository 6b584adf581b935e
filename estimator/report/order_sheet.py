"""Sheet `Order`: what to buy for the chosen options, by supplier, in whole packs, reels and stock lengths.

The cost of the order is information and never part of a price.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from estimator.core.money import plain
from estimator.pricing.model import PricedJob
from estimator.pricing.order_model import Order, Ordered, SupplierTotal
from estimator.report import look, order_plans
from estimator.report.blocks import COST, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import PLAIN, Col, headings, line, section
from estimator.report.terms import terms_of
from estimator.report.words import lines_high, money_words

ROWS = (
    Col("Code", "text", 15),
    Col("Supplier's code", "text", 14),
    Col("Description", "text", 32),
    Col("Colour or finish", "text", 15),
    Col("Needed", "quantity", 11),
    Col("Bought", "quantity", 11),
    Col("Unit", "text", 9),
    Col("Pack", "quantity", 11),
    Col("Packs", "whole", 9),
    Col("Price", "rate", 12),
    Col("Price is of", "text", 10),
    Col("Cost", "money", 13),
    Col("Left over", "quantity", 11),
    Col("In the bill", "money", 13),
    Col("For, and how it came about", "text", 40),
)
NEEDED, BOUGHT, PACK, PACKS, PRICE, SUM, LEFT, BILLED = 4, 5, 7, 8, 9, 11, 12, 13
SUPPLIERS = (
    Col("Supplier", "text"),
    Col("", "text"),
    Col("What it brings", "text"),
    Col("Order by", "text"),
    Col("Days to bring it", "whole"),
    Col("Things", "whole"),
    Col("", "text"),
    Col("Least order", "money"),
    Col("", "text"),
    Col("Short of it", "money"),
    Col("", "text"),
    Col("Goods", "money"),
    Col("Delivery", "money"),
    Col("In the bill", "money"),
    Col("What to do", "text"),
)
HEAD = (
    "Everything that the chosen options and the whole job need, pooled and rounded once. The bill prices each option "
    "alone, so the two differ; this cost is for whoever buys and never part of a price.",
    "Bars and reels are those of the cutting plan below: the least cost, not the least left over. Not here: what is "
    "offered apart, variations, hire, subcontracts and fees. Delivery is as the suppliers charge it; the bill has its "
    "own lines for it.",
)
NOBODY = "no supplier named"
FEW, MOST_REFS = 6, 25  # sites named in a cell; lines of the bill that one formula points at


def write(sheet: Sheet, plan: Plan, priced: PricedJob) -> None:
    """Write the sheet."""
    widths = [c.width for c in ROWS]
    look.page(sheet, look.OFFICE, priced.job.header.name, widths, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Order: what to buy", len(ROWS) - 1)
    order, row = priced.order, 2
    for words in (*HEAD, *_without(priced)):
        sheet.across(row, 0, len(ROWS) - 1, words, text_wrap=True, font_color=look.FAINT)
        sheet.height(row, lines_high(words, sum(widths)))
        row += 1
    if order is None:
        sheet.text(row + 1, 0, "Nothing to buy: no chosen option has a price that holds material.")
        return
    first = _first_rows(order, section(sheet, row + 1, "By supplier") + len(order.suppliers) + 6)
    row = _suppliers(sheet, priced, order, row + 2, first)
    for total, start in zip(order.suppliers, first, strict=True):
        section(sheet, start - 2, total.name or NOBODY)
        headings(sheet, start - 1, ROWS)
        row = _rows(sheet, plan, _own(order, total), start)
    row = order_plans.cuttings(sheet, order, row + 1, ROWS)
    order_plans.concrete(sheet, order, row + 1, ROWS, terms_of(priced).currency)


def _without(priced: PricedJob) -> list[str]:
    """What the order lacks, said first."""
    named = ", ".join(priced.order.missing if priced.order else priced.totals.missing)
    found = [f"INCOMPLETE: without {named}, which has no chosen option with a price."] if named else []
    asked = ", ".join(dict.fromkeys(r.code for r in priced.order.rows if r.asked)) if priced.order else ""
    return [*found, *([f"No colour is named for {asked}: ask before it is ordered."] if asked else [])]


def _own(order: Order, total: SupplierTotal) -> list[Ordered]:
    return [r for r in order.rows if r.supplier.casefold() == total.name.casefold()]


def _first_rows(order: Order, top: int) -> list[int]:
    """The first row of goods of each supplier; two rows of headings stand above it, its sum and one free row below."""
    found, row = [], top + 2
    for total in order.suppliers:
        found.append(row)
        row += len(_own(order, total)) + 4
    return found


def _suppliers(sheet: Sheet, priced: PricedJob, order: Order, row: int, first: Sequence[int]) -> int:
    """A row for each supplier, pointing at its sum below, and what the order comes to beside the bill."""
    widths, money = [c.width for c in ROWS], sheet.look.money()
    headings(sheet, row, SUPPLIERS, widths)
    top = row = row + 1
    for total, start in zip(order.suppliers, first, strict=True):
        last = start + len(_own(order, total))
        known = priced.book.suppliers.get(total.name.casefold())
        day = total.order_by.isoformat() if total.order_by else ""
        name, description = total.name or NOBODY, known.description if known else ""
        todo = _to_do(total, terms_of(priced).currency)
        values = [
            "", "", description, day, total.lead_days, len(_own(order, total)),
            "", total.minimum if known else None, "", None, "", None, total.delivery if known else None, None,
            todo,
        ]  # fmt: skip
        made = line(sheet, row, SUPPLIERS, values, widths, top=1, top_color=RULE)
        sheet.across(row, 0, 1, name, text_wrap=True, **made)
        texts = ((name, widths[0] + widths[1]), (description, widths[2]), (todo, widths[-1] - 1.5))
        sheet.height(row, max(PLAIN, *(lines_high(words, width) for words, width in texts)))
        if known:
            short = f"MAX(0,ROUND({cell(row, PACK)}-{cell(row, SUM)},2))"
            sheet.formula(row, PRICE, short, total.short, money, **made)
        sheet.formula(row, SUM, cell(last, SUM), total.goods, money, **made)
        billed = sum((r.billed for r in _own(order, total)), Decimal("0.00"))
        sheet.formula(row, BILLED, cell(last, BILLED), billed, money, **made)
        row += 1
    for words, column, value, style in (
        ("Goods ordered, and the same in the bill", SUM, order.goods, {"bold": True, "top": 1, "top_color": INK}),
        ("Delivery", LEFT, order.delivery, {}),
        ("Order less than the bill (more: minus)", BILLED, order.billed - order.goods, {}),
    ):
        sheet.text(row, 2, words, **style)
        if column == BILLED:
            formula = f"ROUND({cell(row - 2, BILLED)}-{cell(row - 2, SUM)},2)"
        else:
            formula = f"ROUND(SUM({cell(top, column)}:{cell(top + len(first) - 1, column)}),2)"
        sheet.formula(row, column, formula, value, money, **style)
        if column == SUM:
            formula = f"ROUND(SUM({cell(top, BILLED)}:{cell(top + len(first) - 1, BILLED)}),2)"
            sheet.formula(row, BILLED, formula, order.billed, money, **style)
        row += 1
    return row


def _to_do(total: SupplierTotal, currency: str) -> str:
    """What a supplier's row asks for."""
    said = []
    if total.short:
        said.append(f"short of its least order by {money_words(total.short, currency)}: add to it, or ask")
    if total.order_by:
        cure = "; the rest of concrete is" if total.footings else ""
        said.append(f"days of work and free days are not taken off{cure}")
    return "; ".join(said)


def _rows(sheet: Sheet, plan: Plan, own: Sequence[Ordered], start: int) -> int:
    """The goods of one supplier and their sum. Gives the row after."""
    money, row = sheet.look.money(), start
    for r in own:
        rule: dict[str, Any] = {"top": 1, "top_color": RULE} if row > start else {}
        colour = r.colour or ("to be asked" if r.asked else "")
        values = [
            r.code, r.supplier_code, r.description, colour, r.needed, None, r.unit, r.pack, r.packs, r.price, r.per,
            None, None, None, _how(r),
        ]  # fmt: skip
        made = line(sheet, row, ROWS, values, **rule)
        _figures(sheet, plan, r, row, made)
        row += 1
    strong = {"bold": True, "top": 1, "top_color": INK}
    for column in range(len(ROWS)):
        sheet.blank(row, column, **strong)
    sheet.text(row, 2, "together", **strong)
    for column, figures in ((SUM, [r.cost for r in own]), (BILLED, [r.billed for r in own])):
        formula = f"ROUND(SUM({cell(start, column)}:{cell(row - 1, column)}),2)"
        sheet.formula(row, column, formula, sum(figures, Decimal("0.00")), money, **strong)
    return row + 1


def _figures(sheet: Sheet, plan: Plan, r: Ordered, row: int, made: dict[str, Any]) -> None:
    """Quantity, cost, what is left over and what the bill has, as formulas where they follow from other cells."""
    money, shown = sheet.look.money(), look.quantity_format(r.quantity)
    if r.packs is not None:
        sheet.formula(row, BOUGHT, f"ROUND({cell(row, PACK)}*{cell(row, PACKS)},9)", r.quantity, shown, **made)
    else:
        sheet.number(row, BOUGHT, r.quantity, shown, **made)
    by = cell(row, PACKS if r.by_pack else BOUGHT)
    sheet.formula(row, SUM, f"ROUND({by}*{cell(row, PRICE)},2)", r.cost, money, **made)
    left = r.left_over.quantize(Decimal("0.000001"), ROUND_HALF_UP) + 0
    if r.by_pack:
        sheet.number(row, LEFT, left, look.quantity_format(left), **made)
    else:
        formula = f"ROUND({cell(row, BOUGHT)}-{cell(row, NEEDED)},6)"
        sheet.formula(row, LEFT, formula, left, look.quantity_format(left), **made)
    if not r.lines:
        return
    if len(r.lines) > MOST_REFS:
        sheet.number(row, BILLED, r.billed, money, **made)
    else:
        refs = "+".join(plan.ref(plan.blocks[block].lines + n, COST) for block, n in r.lines)
        sheet.formula(row, BILLED, f"ROUND({refs},2)", r.billed, money, **made)


def _how(r: Ordered) -> str:
    """Whom it is for and how its quantity came about."""
    some = [f"{site} {plain(need.quantize(Decimal('0.001'), ROUND_HALF_UP))}" for site, need in r.sites[:FEW]]
    more = [f"{len(r.sites) - FEW} more"] if len(r.sites) > FEW else []
    return "; ".join(w for w in (", ".join([*some, *more]), r.words) if w)
