"""Sheet `Side by side`: the options of each site in columns, what they cost and give, and the difference to the chosen.

It is also where the next pricing finds what this one said: accepted prices, and what an option gave the customer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimator.core.money import cents, from_float
from estimator.pricing.model import Accepted, Bill, PricedJob, PricedOption
from estimator.report import look
from estimator.report.blocks import COST, Block, Plan
from estimator.report.look import RULE, Sheet
from estimator.report.rows import cell
from estimator.report.side_facts import TOLD, option_facts, whole_facts
from estimator.report.table import Col, headings, line, put, rows, section, unit
from estimator.screening.limit import printed_gust

BESIDE = 6  # options beside each other
WIDTHS = [32.0, *[22.0] * BESIDE]
OPTION, MARKED, STATUS, OFFER = "Option", "Marked", "Status", "The price is"
PRICE, BEFORE, COST_ROW, A_SQUARE = "Price with tax", "Price before tax", "Cost", "Price with tax of 1"
ACCEPTED = ("Accepted price with tax", "Accepted price before tax", "Tax in the accepted price")
SINCE, DAY, NOW = "Accepted in revision", "Accepted as priced on", "Worked out now, less accepted"
NET = "Net area"
GUST, SCREENED = "Take-down gust told (km/h)", "Screened: first part used up (km/h)"
POINTS = "Where the fixings are"
POINT_COLUMNS = (
    Col("Site"),
    Col("Option"),
    Col("Fixing"),
    Col("Held by"),
    Col("Across", "length"),
    Col("Out", "length"),
    Col("Height", "length"),
)
WHOLE = "Whole job"
DIFFERENCES = {PRICE: "money", BEFORE: "money", COST_ROW: "money", A_SQUARE: "money", NET: "area", "Hours": "hours"}
Chosen = dict[str, tuple[str, Decimal]]  # figure to the cell and the value of the chosen option


@dataclass(frozen=True, slots=True)
class Figure:
    """One row of figures. kind: as of a column; values: one an option, None where not known."""

    name: str
    kind: str
    values: tuple[Any, ...]


def write(sheet: Sheet, plan: Plan, priced: PricedJob) -> None:
    """Write the sheet."""
    look.page(sheet, look.OFFICE, priced.job.header.name, WIDTHS, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Options side by side", len(WIDTHS) - 1)
    row = 3
    of_site: dict[str, list[Block]] = {}
    for block in plan.blocks:
        if block.option is not None:
            of_site.setdefault(block.option.site.name, []).append(block)
    for site in priced.job.sites:
        blocks = of_site.get(site.name, [])
        chosen: Chosen = {}
        # the chosen one's cells have to be known before any difference is written
        parts = [blocks[n : n + BESIDE] for n in range(0, len(blocks), BESIDE)]
        parts.sort(key=lambda part: not any(b.option and b.option.chosen for b in part))
        for part in parts:
            row = _site(sheet, plan, priced, site.name, part, row, chosen) + 1
            sheet.settle()
    whole = next((b for b in plan.blocks if b.option is None), None)
    if whole is not None:
        row = _whole(sheet, plan, priced, whole, row) + 1
    _points(sheet, priced, row)


def _site(
    sheet: Sheet, plan: Plan, priced: PricedJob, site: str, blocks: Sequence[Block], row: int, chosen: Chosen
) -> int:
    """One table of options. chosen: name of a figure to the cell of the chosen option, filled on the way."""
    row = section(sheet, row, site)
    options = [b.option for b in blocks if b.option is not None]
    named = [(OPTION, [o.option.name for o in options])]
    named.append((MARKED, ["chosen" if o.chosen else "" for o in options]))
    named.append((STATUS, [o.status if o.bill else "NOT PRICED" for o in options]))
    named.append((OFFER, [o.quote_status for o in options]))
    for name, values in named:
        row = _texts(sheet, row, name, values)
    row, at = _prices(sheet, plan, blocks, row)
    row = _accepted(sheet, [o.accepted for o in options], [b.bill for b in blocks], at, row)
    for figure in _figures(priced, options):
        at[figure.name] = row
        row = _figure(sheet, row, figure)
    _by_area(sheet, at, options)
    row = _differences(sheet, at, options, row, chosen)
    facts = [option_facts(priced, o) for o in options]
    for name in dict.fromkeys(n for f in facts for n in f if n != TOLD):
        row = _texts(sheet, row, name, [f.get(name, "") for f in facts])
    return row


def _style(row_of: str = "") -> dict[str, Any]:
    return {"top": 1, "top_color": RULE, **({"bold": True} if row_of in (OPTION, PRICE) else {})}


def _texts(sheet: Sheet, row: int, name: str, values: Sequence[str]) -> int:
    columns = [Col(name, width=w) for w in WIDTHS[: 1 + len(values)]]
    line(sheet, row, columns, [name, *values], **_style(name))
    return row + 1


def _figure(sheet: Sheet, row: int, figure: Figure) -> int:
    name = unit(figure.kind, sheet.look.units)[0]
    style = _label(sheet, row, f"{figure.name} ({name})" if name else figure.name)
    for column, value in enumerate(figure.values, 1):
        put(sheet, row, column, "text" if isinstance(value, str) else figure.kind, value, **style)
    return row + 1


def _label(sheet: Sheet, row: int, name: str) -> dict[str, Any]:
    """The name of a row; gives the style of its figures, which stand under the words of other rows."""
    return {**line(sheet, row, [Col("", width=WIDTHS[0])], [name], **_style(name)), "align": "left"}


def _prices(sheet: Sheet, plan: Plan, blocks: Sequence[Block], row: int) -> tuple[int, dict[str, int]]:
    """The prices as formulas over the bill. Gives the row after, and the rows of the prices."""
    at = {}
    for name in (PRICE, BEFORE, COST_ROW):
        at[name] = row
        style = _label(sheet, row, name)
        for column, block in enumerate(blocks, 1):
            if block.bill is None:
                sheet.text(row, column, "NOT PRICED", **style)
                continue
            there, value = {
                PRICE: (block.price, block.bill.totals.price),
                BEFORE: (block.before_tax, block.bill.totals.price_before_tax),
                COST_ROW: (block.cost, block.bill.totals.cost),
            }[name]
            sheet.formula(row, column, plan.ref(there, COST), value, sheet.look.money(), **style)
        row += 1
    at[A_SQUARE] = row
    return row + 1, at


def _accepted(
    sheet: Sheet, held: Sequence[Accepted | None], bills: Sequence[Bill | None], at: dict[str, int], row: int
) -> int:
    """What was accepted, and how far the bill has gone from it; nothing where nothing is accepted."""
    if not any(held):
        return row
    for name, field in zip(ACCEPTED, ("price", "price_before_tax", "tax"), strict=True):
        at[name] = row
        row = _figure(sheet, row, Figure(name, "money", tuple(getattr(a, field) if a else None for a in held)))
    row = _figure(sheet, row, Figure(SINCE, "whole", tuple(a.revision if a else None for a in held)))
    row = _figure(sheet, row, Figure(DAY, "text", tuple(a.day.isoformat() if a else None for a in held)))
    style = _label(sheet, row, NOW)
    for column, (accepted, bill) in enumerate(zip(held, bills, strict=True), 1):
        if accepted is None or bill is None:
            sheet.blank(row, column, **style)
            continue
        formula = f"ROUND({cell(at[PRICE], column)}-{cell(at[ACCEPTED[0]], column)},2)"
        sheet.formula(row, column, formula, bill.totals.price - accepted.price, sheet.look.money(), **style)
    return row + 1


def _figures(priced: PricedJob, options: Sequence[PricedOption]) -> list[Figure]:
    def each(name: str, kind: str, value: Any) -> Figure:
        return Figure(name, kind, tuple(value(o) for o in options))

    return [
        each("Flat area", "area", lambda o: sum(s.flat_area for s in o.taken.sails) if o.taken.sails else None),
        each(NET, "area", lambda o: sum(s.net_area for s in o.taken.sails) if o.taken.sails else None),
        each("Plan area", "area", lambda o: sum(s.plan_area for s in o.taken.sails) if o.taken.sails else None),
        each("Hours", "hours", lambda o: from_float(sum(h.hours for h in o.taken.hours)) if o.bill else None),
        each("Visits", "whole", lambda o: len(o.taken.visits) if o.bill else None),
        each("New posts", "whole", lambda o: len(o.taken.posts) if o.bill or o.taken.posts else None),
        each("Concrete in place", "volume", lambda o: from_float(sum(f.concrete for f in o.taken.footings))),
        each(GUST, "whole", lambda o: (printed_gust(priced.book, o.screened) or "none") if o.taken.sails else None),
        each(SCREENED, "text", _screened),
    ]


def _screened(option: PricedOption) -> str:
    down = option.screened.take_down if option.screened else None
    if down is None:
        return "not known" if option.screened else "not screened"
    gust = f"{from_float(down.wind * 3.6):.1f}"
    return gust if down.reached else f"nothing by {gust}"


def _by_area(sheet: Sheet, at: dict[str, int], options: Sequence[PricedOption]) -> None:
    """What a square metre, or foot, of shade costs."""
    name, factor = unit("area", sheet.look.units)
    row = at[A_SQUARE]
    style = _label(sheet, row, f"{A_SQUARE} {name} of net area")
    for column, option in enumerate(options, 1):
        value = _value(A_SQUARE, option, factor)
        if value is None:
            sheet.blank(row, column, **style)
            continue
        price, net = cell(at[PRICE], column), cell(at[NET], column)
        sheet.formula(row, column, f"ROUND({price}/{net},2)", value, sheet.look.money(), **style)


def _area(option: PricedOption, factor: float) -> Decimal:
    return from_float(sum(s.net_area for s in option.taken.sails) * factor) if option.taken.sails else Decimal(0)


def _differences(sheet: Sheet, at: dict[str, int], options: Sequence[PricedOption], row: int, chosen: Chosen) -> int:
    """Each figure less that of the chosen option, where there is one with a price and something to hold against it."""
    area, factor = unit("area", sheet.look.units)
    values = {name: [_value(name, o, factor) for o in options] for name in DIFFERENCES}
    for number, option in enumerate(options):
        if option.chosen:
            known = {name: v for name in DIFFERENCES if (v := values[name][number]) is not None}
            chosen |= {name: (cell(at[name], 1 + number), value) for name, value in known.items()}
    if not chosen or all(o.chosen or o.bill is None for o in options):
        return row
    sheet.text(row, 0, "Less or more than the chosen", bold=True, font_size=9, font_color=look.ACCENT)
    row += 1
    for name in (n for n in DIFFERENCES if n in chosen):
        label = {A_SQUARE: f"{name} {area}", NET: f"{name} ({area})"}.get(name, name)
        style = _label(sheet, row, label)
        shown, digits = (sheet.look.money(), 2) if DIFFERENCES[name] == "money" else (look.AREA, 9)
        there, whole = chosen[name]
        for column, (option, value) in enumerate(zip(options, values[name], strict=True), 1):
            if option.chosen or value is None:
                sheet.blank(row, column, **style)
            else:
                formula = f"ROUND({cell(at[name], column)}-{there},{digits})"
                sheet.formula(row, column, formula, value - whole, shown, **style)
        row += 1
    return row


def _value(name: str, option: PricedOption, factor: float) -> Decimal | None:
    """A figure as it stands in its cell; None without a price, or for what is not known."""
    if option.bill is None:
        return None
    totals, area = option.bill.totals, _area(option, factor)
    if name == A_SQUARE:
        return cents(totals.price / area) if area else None
    if name == NET:
        return area if area else None
    if name == "Hours":
        return from_float(sum(h.hours for h in option.taken.hours))
    return {PRICE: totals.price, BEFORE: totals.price_before_tax, COST_ROW: totals.cost}[name]


def _whole(sheet: Sheet, plan: Plan, priced: PricedJob, block: Block, row: int) -> int:
    """The lines of the whole job, in one column."""
    row = section(sheet, row, WHOLE)
    row = _texts(sheet, row, OPTION, [""])
    row = _texts(sheet, row, OFFER, [priced.job.header.status])
    row, at = _prices(sheet, plan, [block], row)
    row = _accepted(sheet, [priced.job_accepted], [block.bill], at, row - 1)
    for name, words in whole_facts(priced).items():
        row = _texts(sheet, row, name, [words])
    return row


def _points(sheet: Sheet, priced: PricedJob, row: int) -> None:
    row = section(sheet, row, POINTS)
    headings(sheet, row, POINT_COLUMNS, WIDTHS)
    values = [
        [o.site.name, o.option.name, p.fixing, p.held_by, p.across, p.out, p.height]
        for o in priced.options
        for p in o.taken.points
    ]
    rows(sheet, row + 1, POINT_COLUMNS, values, 2, WIDTHS)
