"""Sheet `Summary`: what the job is, what it comes to, each option in one row, and what to look at first."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.problems import LEVELS
from estimator.pricing.model import JobTotals, PricedJob, PricedOption
from estimator.report import look, summary_changes, summary_range, summary_wind
from estimator.report.blocks import COST, Block, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.reasons import in_job, reason, said, where
from estimator.report.rows import cell
from estimator.report.table import PLAIN, Col, headings, line, section
from estimator.report.terms import terms_of
from estimator.report.words import lines_high, sail_words

COLUMNS = (
    Col("Site", "text", 22),
    Col("Option", "text", 17),
    Col("Marked", "text", 10),
    Col("Status", "text", 12),
    Col("Sail", "text", 30),
    Col("Flat area", "area", 9),
    Col("Net area", "area", 9),
    Col("Posts", "whole", 7),
    Col("Concrete", "volume", 10),
    Col("Hours", "hours", 8),
    Col("Visits", "whole", 7),
    Col("Cost", "money", 13),
    Col("Price before tax", "money", 13),
    Col("Tax", "money", 12),
    Col("Price", "money", 13),
    Col("Margin, on price", "percent", 9),
    Col("Markup, on cost", "percent", 9),
)
MARK, FIRST_MONEY = 2, 11
CHOSEN = "chosen"
LONG = 90  # letters of a job's name that the title shows
PROFIT = ("margin", "markup", "discount", "rounding")  # what the profit is left with


def write(sheet: Sheet, plan: Plan, priced: PricedJob) -> None:
    """Write the sheet."""
    header = priced.job.header
    look.page(sheet, look.OFFICE, header.name, [c.width for c in COLUMNS], landscape=True)
    name = header.name if len(header.name) <= LONG else header.name[: LONG - 1] + "…"
    look.title(sheet, look.OFFICE, name, len(COLUMNS) - 1)
    row = _head(sheet, priced, 3)
    totals_row = section(sheet, row + 1, "Job total")
    first = section(sheet, totals_row + 6, "Options, in the order typed")
    headings(sheet, first, COLUMNS)
    row = _options(sheet, plan, priced, first + 1)
    _totals(sheet, priced.totals, totals_row, first + 1, row - 1)
    row = summary_changes.write(sheet, plan, priced, row + 1, [c.width for c in COLUMNS])
    row = summary_wind.write(sheet, priced, row, [c.width for c in COLUMNS])
    row = _first_look(sheet, priced, row + 1)
    row = summary_range.write(sheet, plan, priced, row + 1, totals_row, [c.width for c in COLUMNS])
    _notes(sheet, row + 1)


def _head(sheet: Sheet, priced: PricedJob, row: int) -> int:
    header = priced.job.header
    terms = terms_of(priced)
    facts: list[tuple[str, Any]] = [
        ("Job", header.name if len(header.name) > LONG else ""),
        ("Customer", header.customer),
        ("Reference", header.reference),
        ("Revision", str(header.revision)),
        ("Priced on", header.priced_on.isoformat()),
        ("Valid until", terms.until.isoformat() if terms.until else "no day given"),
        ("Currency", terms.currency or "none given"),
        ("Status", header.status),
        ("Rate book", priced.book.name),
    ]
    for label, value in facts:
        if value:
            sheet.text(row, 0, label, font_color=look.FAINT)
            sheet.across(row, 1, len(COLUMNS) - 1, value, text_wrap=True)
            sheet.height(row, max(PLAIN, lines_high(value, sum(c.width for c in COLUMNS[1:]))))
            row += 1
    return row


def _totals(sheet: Sheet, totals: JobTotals, row: int, first: int, last: int) -> None:
    """The totals stand above the rows they add up, so that they are seen first. first, last: the rows."""
    if totals.nothing:
        sheet.text(row, 0, "NOT PRICED", bold=True)
        sheet.across(
            row + 1, 0, len(COLUMNS) - 1, "No chosen option has a price yet; To check says why.", text_wrap=True
        )
        return
    values = (totals.cost, totals.price_before_tax, totals.tax, totals.price)
    for number, (name, value) in enumerate(zip(("Cost", "Price before tax", "Tax", "Price"), values, strict=True)):
        style: dict[str, Any] = {"bold": True, "top": 1, "top_color": INK} if name == "Price" else {}
        sheet.text(row + number, 0, name, **style)
        marks = f"{cell(first, MARK)}:{cell(last, MARK)}"
        money = f"{cell(first, FIRST_MONEY + number)}:{cell(last, FIRST_MONEY + number)}"
        formula = f'ROUND(SUMIF({marks},"{CHOSEN}",{money})+SUMIF({marks},"whole job",{money}),2)'
        if last < first:
            formula = "0"
        sheet.formula(row + number, 1, formula, value, sheet.look.money(), **style)
    words = "COMPLETE: every site is in the total."
    if not totals.complete:
        words = f"INCOMPLETE: without {', '.join(totals.missing)}." if totals.missing else "INCOMPLETE."
    sheet.across(row + 4, 0, len(COLUMNS) - 1, words, bold=True, text_wrap=True)
    sheet.height(row + 4, max(PLAIN, lines_high(words, sum(c.width for c in COLUMNS), bold=True)))


def _options(sheet: Sheet, plan: Plan, priced: PricedJob, row: int) -> int:
    for block in plan.blocks:
        option = block.option
        marked = option is not None and option.chosen
        # the chosen row stands between two strong rules, so that it shows without colour
        style: dict[str, Any] = {"top": 1, "top_color": RULE}
        if marked:
            style = {"top": 2, "bottom": 2, "top_color": INK, "bottom_color": INK, "bold": True}
        if option is None:
            values: list[Any] = ["Whole job", "", "whole job", "", "", *[None] * 6]
        else:
            values = _facts(option, sheet.look.units)
        style = line(sheet, row, COLUMNS[: len(values)], values, **style)
        _prices(sheet, plan, priced, block, row, style)
        row += 1
    return row


def _facts(option: PricedOption, units: str) -> list[Any]:
    taken = option.taken
    concrete = sum(f.concrete for f in taken.footings)
    hours = sum(h.hours for h in taken.hours)
    areas = [sum(s.flat_area for s in taken.sails), sum(s.net_area for s in taken.sails)] if taken.sails else [None] * 2
    known = option.bill is not None
    status = option.status if known else "NOT PRICED"
    return [
        option.site.name,
        option.option.name,
        CHOSEN if option.chosen else "",
        status,
        "; ".join(sail_words(s, units) for s in taken.sails),
        *areas,
        len(taken.posts) if known or taken.posts else None,
        from_float(concrete) if known or taken.footings else None,
        from_float(hours) if known or taken.hours else None,
        len(taken.visits) if known or taken.visits else None,
    ]


def _sails(block: Block, units: str) -> str:
    return "; ".join(sail_words(s, units) for s in block.option.taken.sails) if block.option else ""


def _prices(sheet: Sheet, plan: Plan, priced: PricedJob, block: Block, row: int, style: dict[str, Any]) -> None:
    bill, money = block.bill, sheet.look.money()
    if bill is None:
        words = reason(priced, block.option) if block.option else ""
        sheet.text(row, FIRST_MONEY, "NOT PRICED" if block.option else "", **style)
        sheet.across(row, FIRST_MONEY + 1, len(COLUMNS) - 1, words, text_wrap=True, **style)
        high = lines_high(words, sum(c.width for c in COLUMNS[FIRST_MONEY + 1 :]))
        if high > PLAIN:
            sheet.height(row, max(high, lines_high(_sails(block, sheet.look.units), COLUMNS[4].width)))
        return
    places = ((block.cost, bill.totals.cost), (block.before_tax, bill.totals.price_before_tax))
    more = ((block.tax, bill.totals.tax), (block.price, bill.totals.price))
    for number, (at, value) in enumerate((*places, *more)):
        sheet.formula(row, FIRST_MONEY + number, plan.ref(at, COST), value, money, **style)
    _profit(sheet, plan, block, row, style)


def _profit(sheet: Sheet, plan: Plan, block: Block, row: int, style: dict[str, Any]) -> None:
    """Margin and markup: formulas over the steps that make the profit, else plain numbers."""
    bill = block.bill
    assert bill is not None
    money = [plan.ref(block.charges + n, COST) for n, c in enumerate(bill.charges) if key(c.step) in PROFIT]
    own = sum((c.amount for c in bill.charges if key(c.step) in PROFIT), Decimal(0))
    price, before = cell(row, FIRST_MONEY + 1), bill.totals.price_before_tax
    wholes = ((bill.totals.margin, before, price), (bill.totals.markup, before - own, f"({price}-({'+'.join(money)}))"))
    for column, (value, whole, words) in enumerate(wholes, FIRST_MONEY + 4):
        if value is None:
            sheet.blank(row, column, **style)
        elif whole and abs(own / whole - value) < Decimal("1e-9"):
            formula = f"IF({words}=0,0,({'+'.join(money)})/{words})"
            sheet.formula(row, column, formula, value, look.PERCENT, **style)
        else:
            sheet.number(row, column, value, look.PERCENT, **style)


def _first_look(sheet: Sheet, priced: PricedJob, row: int) -> int:
    row = section(sheet, row, "What to look at first")
    counts = {level: sum(p.level == level for p in priced.problems) for level in LEVELS}
    words = ", ".join(f"{n} {level}{'' if n == 1 else 's'}" for level, n in counts.items())
    sheet.text(row, 0, words + ": all on To check", font_color=look.FAINT)
    row += 1
    for problem in priced.problems[:8]:
        sheet.text(row, 0, problem.level, bold=problem.level == "error")
        if in_job(priced, problem):
            sheet.link(row, 1, problem.place.sheet, problem.place.cell, str(problem.place))
        else:
            sheet.text(row, 1, where(priced, problem), text_wrap=True)
        sheet.across(row, 2, len(COLUMNS) - 1, said(problem), text_wrap=True)
        high = lines_high(said(problem), sum(c.width for c in COLUMNS[2:]))
        sheet.height(row, max(PLAIN, high, lines_high(where(priced, problem), COLUMNS[1].width)))
        row += 1
    return row


def _notes(sheet: Sheet, row: int) -> None:
    sheet.text(
        row,
        0,
        "Parts are chosen by size, never by load. Nothing here says that a part holds: an engineer decides.",
        font_color=look.FAINT,
    )
