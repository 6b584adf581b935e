"""The block `Range of the price, indicative` of the sheet `Summary`: what the job may come to, the contingency, and
what moves the price most, as a chart with its numbers beside it.

What was drawn stands as values: a recalculation has nothing to draw with and leaves them.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.core.names import key
from estimator.pricing.chance import Mover
from estimator.pricing.charges import CONTINGENCY
from estimator.pricing.model import JobTotals, PricedJob, PriceRange
from estimator.report import look
from estimator.report.blocks import COST, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.setout_page import high
from estimator.report.table import HEAD, PLAIN, section
from estimator.report.words import lines_high

CHART_LAST, WORDS, WORDS_LAST = 4, 5, 10  # the chart over columns 0 to 4; words over 5 to 10
IN_COST, IN_BEFORE, IN_PRICE = 11, 12, 14  # under the money columns of the options
LONGEST = 8000  # letters of a formula
ROWS = (
    ("Low: one in ten comes out under it", "low10"),
    ("Middle: half come out under it", "middle50"),
    ("High: one in ten comes out over it", "high90"),
    ("Mean", "mean"),
    ("Standard deviation", "sd"),
)
NO_TICKS = {"major_tick_mark": "none", "minor_tick_mark": "none"}
LOW, HIGH = "when it is low", "when it is high"


def write(sheet: Sheet, plan: Plan, priced: PricedJob, row: int, totals: int, widths: Sequence[float]) -> int:
    """Write the block at a row of a sheet with these widths. totals: the row of the job's cost, its other totals stand
    below it. Gives the row after; the same row where the job has no range."""
    found = priced.ranged
    if found is None:
        return row
    first = row = section(sheet, row, "Range of the price, indicative")
    head = row - 1
    row = _prices(sheet, priced.totals, found, row, totals)
    row = _contingency(sheet, plan, priced, found, row + 1)
    start = row + 2
    row = _movers(sheet, found, row + 1)
    if row > start:
        wide = sum(int(w * 7 + 5) for w in widths[: CHART_LAST + 1])
        _chart(sheet, first, (start, row - 1), wide, found.price.movers)
    note = (
        f"Drawn {found.draws:,} times from low, likely and high values of the rate book (seed {found.seed}, "
        f"correlation {found.correlation:g} within a trade). Values, not formulas: a recalculation leaves them. Not in "
        "it: what two of them make of each other, whole packs and days, rounding to a step, what nobody listed."
    )
    sheet.across(row, 0, len(widths) - 1, note, text_wrap=True, font_color=look.FAINT)
    sheet.height(row, lines_high(note, sum(widths)))
    if not _fits(sheet, priced.job.header.paper, widths, head, row + 2):
        sheet.ws.set_h_pagebreaks([head])
    return row + 1


def _fits(sheet: Sheet, paper: str, widths: Sequence[float], first: int, end: int) -> bool:
    """Whether rows stand whole on the page where the rows before them end; near a page's edge nobody knows."""
    page = _page_high(paper, widths)
    used = high(sheet, 0, first) % page
    return page / 10 < used and used + high(sheet, first, end) < page


def _page_high(paper: str, widths: Sequence[float]) -> float:
    """Points of rows on a page turned sideways, shrunk until these columns fit; a little to spare."""
    across, down = (713.0, 500.0) if paper.casefold() == "letter" else (762.0, 483.0)
    return down * max(1.0, sum(int(w * 7 + 5) * 0.75 for w in widths) / across)


def _head(sheet: Sheet, row: int, words: str, heads: dict[int, str]) -> int:
    sheet.across(row, WORDS, WORDS_LAST, words, **HEAD)
    for column in range(IN_COST, max(heads) + 1):
        sheet.text(row, column, heads.get(column, ""), **HEAD, align="right")
    sheet.height(row, max(lines_high(h, 13, 9, bold=True) for h in ("", *heads.values())) + 3)
    return row + 1


def _words(sheet: Sheet, row: int, words: str, **style: Any) -> None:
    sheet.across(row, WORDS, WORDS_LAST, words, **style)
    sheet.height(row, PLAIN)


def _prices(sheet: Sheet, whole: JobTotals, found: PriceRange, row: int, totals: int) -> int:
    row = _head(sheet, row, "", {IN_COST: "Cost", IN_BEFORE: "Price before tax", IN_PRICE: "Price"})
    _words(sheet, row, "As priced, everything as likely")
    for column, down, value in (
        (IN_COST, 0, whole.cost),
        (IN_BEFORE, 1, whole.price_before_tax),
        (IN_PRICE, 3, whole.price),
    ):
        sheet.formula(row, column, cell(totals + down, 1), value, sheet.look.money())
    columns = ((IN_COST, found.cost), (IN_BEFORE, found.before_tax), (IN_PRICE, found.price))
    for words, name in ROWS:
        row += 1
        style: dict[str, Any] = {"top": 1, "top_color": RULE}
        style |= {"bold": True} if name in ("low10", "middle50", "high90") else {}
        _words(sheet, row, words, **style)
        sheet.blank(row, IN_PRICE - 1, **style)
        for column, spread in columns:
            sheet.number(row, column, getattr(spread, name), sheet.look.money(), **style)
    return row + 1


def _contingency(sheet: Sheet, plan: Plan, priced: PricedJob, found: PriceRange, row: int) -> int:
    row = _head(sheet, row, "Contingency", {IN_COST: "Money", IN_BEFORE: "Of the cost"})
    cost = priced.totals.cost
    _words(sheet, row, "In the price")
    formula = _in_price(plan)
    if formula and len(formula) < LONGEST:
        sheet.formula(row, IN_COST, f"ROUND({formula},2)", found.contingency, sheet.look.money())
    else:
        sheet.number(row, IN_COST, found.contingency, sheet.look.money())
    _share(sheet, row, found.contingency, cost)
    row += 1
    _words(sheet, row, f"Justified by the range: enough in {found.chance * 100:g} % of all cases", bold=True)
    if found.justified is not None:
        sheet.number(row, IN_COST, found.justified, sheet.look.money(), bold=True)
        _share(sheet, row, found.justified, cost, bold=True)
    for words, share in (
        ("Chance that the contingency in the price is enough", found.enough),
        ("Chance that the price covers the cost and the other charges", found.covered),
    ):
        row += 1
        _words(sheet, row, words, top=1, top_color=RULE)
        sheet.text(row, IN_COST, chance_words(share), align="right", top=1, top_color=RULE)
        sheet.blank(row, IN_BEFORE, top=1, top_color=RULE)
    return row + 1


def chance_words(share: float) -> str:
    """A share of the draws in whole per cent; the ends are never said for sure.

    >>> chance_words(0.9548), chance_words(1.0), chance_words(0.002)
    ('95 %', 'over 99 %', 'under 1 %')
    """
    if share > 0.99:
        return "over 99 %"
    return "under 1 %" if share < 0.01 else f"{share * 100:.0f} %"


def _share(sheet: Sheet, row: int, part: Decimal, cost: Decimal, **style: Any) -> None:
    if cost:
        sheet.number(row, IN_BEFORE, part / cost, look.PERCENT, **style)


def _in_price(plan: Plan) -> str:
    """The contingency of every bill that counts, on the bill sheets."""
    found = []
    for block in plan.blocks:
        if block.bill is None or (block.option is not None and not block.option.chosen):
            continue
        steps = [n for n, c in enumerate(block.bill.charges) if key(c.step) == CONTINGENCY]
        found += [plan.ref(block.charges + n, COST) for n in steps]
    return "+".join(found)


def _movers(sheet: Sheet, found: PriceRange, row: int) -> int:
    row = _head(sheet, row, "What moves the price most, each alone", {IN_COST: LOW, IN_BEFORE: HIGH})
    money = sheet.look.money()
    for mover in found.price.movers:
        style: dict[str, Any] = {"top": 1, "top_color": RULE, "valign": "top"}
        sheet.across(row, WORDS, WORDS_LAST, mover.name, text_wrap=True, **style)
        sheet.height(row, max(PLAIN, lines_high(mover.name, 48)))
        sheet.number(row, IN_COST, mover.at_low, money, **style)
        sheet.number(row, IN_BEFORE, mover.at_high, money, **style)
        row += 1
    return row


def _chart(sheet: Sheet, top: int, rows: tuple[int, int], wide: int, movers: Sequence[Mover]) -> None:
    """Bars to both sides of the price as it is. rows: first and last of the movers; top: the row the chart begins at.

    What it draws is kept in it as well, for programs that read no cells for a chart.
    """
    first, last = rows
    name = sheet.names.get(sheet.name, sheet.name)
    font = {"name": look.FONT, "size": 9, "color": INK}
    chart = sheet.look.workbook.add_chart({"type": "bar"})
    lows, highs = [float(m.at_low) for m in movers], [float(m.at_high) for m in movers]
    for column, words, fill, shown in ((IN_COST, LOW, RULE, lows), (IN_BEFORE, HIGH, INK, highs)):
        chart.add_series(
            {
                "name": words,
                "categories": [name, first, WORDS, last, WORDS],
                "values": [name, first, column, last, column],
                "categories_data": [m.name for m in movers],
                "values_data": shown,
                "fill": {"color": fill},
                "border": {"color": INK, "width": 0.75},
                "overlap": 100,
                "gap": 60,
            }
        )
    chart.set_title(
        {
            "name": "What moves the price most: change of the price, with tax",
            "name_font": {**font, "size": 10, "bold": True},
            "overlay": False,
        }
    )
    # of bars the library calls the money x and the inputs y; the first input stands on top, the money at the foot
    chart.set_y_axis({"reverse": True, "label_position": "low", "num_font": font, "line": {"color": INK}, **NO_TICKS})
    chart.set_x_axis(
        {
            "label_position": "high",
            "num_format": "#,##0",
            "num_font": font,
            "major_gridlines": {"visible": True, "line": {"color": RULE, "width": 0.5}},
            "line": {"none": True},
            **NO_TICKS,
        }
    )
    chart.set_legend({"position": "bottom", "font": font})
    chart.set_chartarea({"border": {"none": True}, "fill": {"none": True}})
    chart.set_size({"width": wide - 16, "height": _tall(sheet, top, last)})
    words = "Bars: how far each of the five inputs that move the price most takes it down and up"
    sheet.chart(top, chart, {"object_position": 1, "description": words, "x_offset": 4, "y_offset": 4})


def _tall(sheet: Sheet, first: int, last: int) -> int:
    """Pixels of the rows beside the chart, less a little."""
    return sheet.tall(first, last) - 8
