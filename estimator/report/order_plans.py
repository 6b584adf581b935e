"""On the sheet `Order`: how each bar and reel is cut, and the ways to buy the concrete of each site."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.core.units import show_length
from estimator.pricing.order_concrete import BY_TRUCK, WITH_MIXER
from estimator.pricing.order_model import ConcreteSite, ConcreteWay, CutBar, Cutting, Order
from estimator.report import look
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import Col, headings, line, section
from estimator.report.words import lines_high, money_words

BARS = (
    Col("Code", "text"),
    Col("Bars alike", "whole"),
    Col("What it is", "text"),
    Col("Length of one", "length"),
    Col("Pieces on one", "text"),
    *(Col("", "text") for _ in range(4)),
    Col("Price of one", "money"),
    Col("", "text"),
    Col("Cost", "money"),
    Col("Off-cut of one", "length"),
    Col("", "text"),
    Col("", "text"),
)
WAYS = (
    Col("Site", "text"),
    Col("", "text"),
    Col("Way", "text"),
    Col("", "text"),
    Col("Quantity", "quantity"),
    Col("Price", "rate"),
    Col("Unit", "text"),
    Col("Goods", "money"),
    Col("Hours", "hours"),
    Col("Labour", "money"),
    Col("Trucks wait (h)", "hours"),
    Col("Waiting", "money"),
    Col("Hire", "money"),
    Col("Together", "money"),
    Col("How it came about", "text"),
)
COUNT, PIECES, LAST_PIECE, EACH, COST = 1, 4, 8, 9, 11
QUANTITY, PRICE, GOODS, LABOUR, WAITING, HIRE, TOGETHER = 4, 5, 7, 9, 11, 12, 13


def cuttings(sheet: Sheet, order: Order, row: int, columns: Sequence[Col]) -> int:
    """The cutting plan: each bar with its pieces and what is left of it. Gives the row after."""
    row = section(sheet, row, "Cutting plan")
    if not order.cuttings:
        sheet.text(row, 0, "none: nothing is bought in stock lengths or on reels", font_color=look.FAINT)
        return row + 1
    widths = [c.width for c in columns]
    headings(sheet, row, BARS, widths)
    row += 1
    for plan in order.cuttings:
        for number, bar in enumerate(plan.bars):
            _bar(sheet, plan, bar, row, widths, {"top": 1, "top_color": RULE if number else INK})
            row += 1
        words = verdict(plan, sheet.look.units)
        sheet.across(row, 0, len(columns) - 1, words, text_wrap=True, font_color=look.FAINT)
        sheet.height(row, lines_high(words, sum(widths)))
        row += 1
    return row


def _bar(sheet: Sheet, plan: Cutting, bar: CutBar, row: int, widths: Sequence[float], rule: dict[str, Any]) -> None:
    pieces = pieces_words(bar, sheet.look.units)
    values = [
        plan.code,
        bar.count,
        plan.description,
        bar.length,
        "",
        "",
        "",
        "",
        "",
        bar.price,
        "",
        None,
        bar.off_cut,
        "",
        "",
    ]
    made = line(sheet, row, BARS, values, widths, **rule)
    sheet.across(row, PIECES, LAST_PIECE, pieces, text_wrap=True, align="left", indent=1, **made)
    sheet.height(
        row,
        max(
            lines_high(pieces, sum(widths[PIECES : LAST_PIECE + 1]) - 2), lines_high(plan.description, widths[2] - 1.5)
        ),
    )
    formula = f"ROUND({cell(row, COUNT)}*{cell(row, EACH)},2)"
    sheet.formula(row, COST, formula, bar.count * bar.price, sheet.look.money(), **made)


def pieces_words(bar: CutBar, units: str) -> str:
    """The pieces of one bar, the longest first."""
    return ", ".join(
        (f"{count} x " if count > 1 else "") + f"{name} {show_length(length, units)}"
        for name, length, count in bar.pieces
    )


def verdict(plan: Cutting, units: str) -> str:
    """How far a plan may be from the cheapest, and what a cut takes."""
    if plan.kind == "chain":
        cut = "a cut spoils one link"
    else:
        cut = f"a cut takes {show_length(plan.kerf, units)}" if plan.kerf else "a cut takes nothing"
    if plan.proved:
        return f"{plan.code}: no other plan costs less (proved); {cut}."
    late = "; the time for it ran out" if plan.out_of_time else ""
    gap = f"{plan.gap * 100:.2f}"
    return f"{plan.code}: not proved; another plan could save {gap} % at the very most{late}; {cut}."


def concrete(sheet: Sheet, order: Order, row: int, columns: Sequence[Col], currency: str) -> int:
    """Every way to buy and place the concrete of each site, the taken one first. Gives the row after."""
    row = section(sheet, row, "Concrete, by hand, with a mixer or by truck")
    if not order.concrete:
        sheet.text(row, 0, "none: no hole to fill, or its concrete was typed", font_color=look.FAINT)
        return row + 1
    widths = [c.width for c in columns]
    headings(sheet, row, WAYS, widths)
    row += 1
    for site in order.concrete:
        for number, way in enumerate(site.ways):
            said = ", ".join(["taken"] * (not number) + ["in the bill"] * _billed(site, number))
            values = [
                "" if number else site.site, "", way_words(way), said, way.quantity, way.price,
                way.unit, None, way.hours, way.labour, *_beside(way), None, way.words,
            ]  # fmt: skip
            rule: dict[str, Any] = {"top": 1, "top_color": RULE if number else INK}
            made = line(sheet, row, WAYS, values, widths, bold=not number, **rule)
            money = sheet.look.money()
            goods = f"ROUND({cell(row, QUANTITY)}*{cell(row, PRICE)},2)"
            sheet.formula(row, GOODS, goods, way.goods, money, **made)
            parts = "+".join(cell(row, c) for c in (GOODS, LABOUR, WAITING, HIRE))
            sheet.formula(row, TOGETHER, f"ROUND({parts},2)", way.total, money, **made)
            row += 1
        words = reserve_words(site, currency)
        sheet.across(row, 0, len(columns) - 1, words, text_wrap=True, font_color=look.FAINT)
        sheet.height(row, lines_high(words, sum(widths)))
        row += 1
    return row


def _billed(site: ConcreteSite, number: int) -> bool:
    """Whether the bill prices this way; it knows no mixer."""
    way = site.ways[number]
    return way.code == site.billed and way.how != WITH_MIXER


def way_words(way: ConcreteWay) -> str:
    """What is bought, and how it is mixed."""
    return way.description if way.how == BY_TRUCK else f"{way.description}, {way.how}"


def _beside(way: ConcreteWay) -> list[Decimal | None]:
    """Waiting hours, what waiting costs, and hire; blank where they do not come up."""
    truck = way.how == BY_TRUCK
    return [way.waiting_hours if truck else None, way.waiting if truck else None, way.hire if way.days else None]


def reserve_words(site: ConcreteSite, currency: str) -> str:
    """What is ordered to spare, beside what running short by as much would cost."""
    kept = site.reserve
    if not kept.volume:
        return f"{site.site}: {kept.words}."
    return (
        f"{site.site}: {site.net:.3f} m3 in place and {kept.volume:.3f} m3 to spare, which cost "
        f"{money_words(kept.cost, currency)}. Running short by as much would cost {money_words(kept.short, currency)} "
        f"({kept.words}), a late hour or another visit not counted."
    )
