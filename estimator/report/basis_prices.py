"""Blocks of the sheet `Basis`: what the price rests on, the cost of an hour, taxes both ways, digging, payment."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from estimator.core.money import cents, plain
from estimator.pricing.digging import Digging, digging_of
from estimator.pricing.model import PricedJob, PricedOption
from estimator.pricing.payment import payment_of
from estimator.pricing.price_checks import at_risk, is_old, percent
from estimator.pricing.rests import Rests, counted_in, given_of, price_of, rests_on
from estimator.pricing.taxes import other_way
from estimator.report import look
from estimator.report.blocks import COST, Block, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.rows import cell
from estimator.report.table import Col, headings, line, section, table
from estimator.report.words import money_words, plural
from estimator.takeoff.model import Line

RESTS = (
    Col("Option"),
    Col("At cost"),
    Col("Money", "money"),
    Col("Of the cost", "share"),
    Col("Should it rise", "money"),
    Col("Which, and what a rise would take"),
)
WAGES = (
    Col("Trade"),
    Col("Built up from"),
    Col("Wages say", "money"),
    Col("Is used", "money"),
    Col("Holds from"),
    Col("Source"),
)
TAXES = (
    Col("Option"),
    Col("How"),
    Col("Tax taken", "money"),
    Col("Other way", "money"),
    Col("Difference", "money"),
    Col("What to do"),
)
DIGGING = (
    Col("Option"),
    Col("Holes, and how"),
    Col("Minutes by row", "whole"),
    Col("Minutes priced", "whole"),
    Col("Minutes told", "whole"),
    Col("An hour beyond"),
)
SHARE = "0.0%"


def write(sheet: Sheet, plan: Plan, priced: PricedJob, row: int, widths: Sequence[float]) -> int:
    """Every block that has something to say. Gives the row after."""
    row = _rests(sheet, plan, priced, row, widths)
    if priced.book.wages:
        row = table(sheet, section(sheet, row + 1, "Cost of an hour, built up"), WAGES, _wages(priced), 1, widths)
    ways = _ways(plan, priced)
    if ways:
        row = table(sheet, section(sheet, row + 1, "Tax by line and on the total"), TAXES, ways, 1, widths)
    digging = _digging(plan, priced)
    if digging:
        row = table(sheet, section(sheet, row + 1, "Digging in the price, a hole"), DIGGING, digging, 1, widths)
    return row


def _rests(sheet: Sheet, plan: Plan, priced: PricedJob, row: int, widths: Sequence[float]) -> int:
    """Shares as live formulas over the cost on the bill."""
    row = section(sheet, row + 1, "What the price rests on")
    headings(sheet, row, RESTS, widths)
    row += 1
    counted = counted_in(priced.book)
    for block in plan.blocks:
        if block.bill is None:
            continue
        rests = rests_on(priced.job, priced.book, block.bill, block.option, counted)
        whole = row
        for number, (words, money, rise, which) in enumerate(_parts(priced, rests)):
            style: dict[str, Any] = {"top": 1, "top_color": RULE if number else INK}
            name = "" if number else _name(block)
            style = line(sheet, row, RESTS, [name, words, money, None, rise, which], widths, **style)
            if number == 0:
                sheet.formula(row, 2, plan.ref(block.cost, COST), money, sheet.look.money(), **style)
            elif rests.cost:
                share = money / rests.cost
                formula = f"IF({cell(whole, 2)}=0,0,{cell(row, 2)}/{cell(whole, 2)})"
                sheet.formula(row, 3, formula, share, SHARE, **style)
            row += 1
    if all(b.bill is None for b in plan.blocks):
        sheet.text(row, 0, "none", font_color=look.FAINT)
        row += 1
    return row


def _name(block: Block) -> str:
    return f"{block.option.site.name}: option {block.option.option.name}" if block.option else "Whole job"


def _parts(priced: PricedJob, rests: Rests) -> list[tuple[str, Decimal, Decimal | None, str]]:
    """Words, money, what a rise would make of it, and which: only what is there, the cost always."""
    verbal, unmeasured = (at_risk(priced.book, n, m) for n, m in _risky(rests))
    told = [f"told at {', '.join(rests.told_at)}"] if rests.told_at else []
    assumed = [f"assumed at {', '.join(rests.assumed_at)}"] if rests.assumed_at else []
    found: list[tuple[str, Decimal, Decimal | None, str]] = [
        ("Cost", rests.cost, None, ""),
        ("Prices in writing", rests.firm, None, ""),
        ("Prices by word of mouth", rests.verbal, verbal, _which(rests.verbal_codes, verbal, rests)),
        ("Prices not said to be firm or verbal", rests.unsaid, None, ""),
        ("Hours of our own", rests.own, None, ""),
        (
            "Posts and holes where sizes are told or assumed",
            rests.told + rests.assumed,
            unmeasured,
            _which([*told, *assumed], unmeasured, rests),
        ),
        ("Profit, after discount and rounding", rests.profit or Decimal(0), None, ""),
    ]
    return [f for n, f in enumerate(found) if n == 0 or f[1]]


def _risky(rests: Rests) -> tuple[tuple[str, Decimal], ...]:
    return (("verbal rise", rests.verbal), ("told rise", rests.told + rests.assumed))


def _which(names: Sequence[str], rise: Decimal | None, rests: Rests) -> str:
    words = "; ".join(names)
    if not rise or not rests.profit or rests.profit <= 0:
        return words
    return f"{words}. The rise would take {percent(rise, rests.profit)} % of the profit"


def given(priced: PricedJob, of: Line) -> list[str]:
    """How the price of a line was given and whether it is old, and until when it is held."""
    price = price_of(priced.book, of)
    words = [given_of(priced.book, of), "old" if price and is_old(priced, price) else ""]
    until = price.valid_until.isoformat() if price and price.valid_until else ""
    return [", ".join(w for w in words if w), until]


def _wages(priced: PricedJob) -> list[list[Any]]:
    rows = []
    for name, wage in priced.book.wages.items():
        trade = priced.book.trades.get(name)
        since = wage.origin.valid_from
        rows.append([wage.trade, wage.working, wage.built_up, trade.cost_per_hour if trade else None,
                     since.isoformat() if since else "always", wage.origin.source])  # fmt: skip
    return rows


def _ways(plan: Plan, priced: PricedJob) -> list[list[Any]]:
    """Bills whose tax differs by the way it is taken."""
    rows: list[list[Any]] = []
    for block in plan.blocks:
        if block.bill is None:
            continue
        tax, other = block.bill.totals.tax, other_way(block.bill)
        if tax != other:
            by_line = any(t.by_line for t in block.bill.taxes)
            how = "taken line by line; the other way is on the total"
            if not by_line:
                how = "taken on the total; the other way is line by line"
            words = "Both are done; take the one that your place wants, by the setting 'tax by'."
            rows.append([_name(block), how, tax, other, other - tax, words])
    return rows


def tax_words(priced: PricedJob) -> str:
    """Whether the two ways to take tax come to the same."""
    bills = [b for b in (*(o.bill for o in priced.options), priced.job_bill) if b is not None and b.taxes]
    if not bills or any(b.totals.tax != other_way(b) for b in bills):
        return ""
    return " The other way comes to the same cent here."


def _digging(plan: Plan, priced: PricedJob) -> list[list[Any]]:
    rows: list[list[Any]] = []
    for block in plan.blocks:
        found = dug(priced, block.option) if block.option else None
        if found:
            what = f"{plural(found.holes, 'hole')}, {found.digging}, minutes of "
            what += "the machine" if found.by_machine else "one person"
            rows.append([_name(block), what, found.row, cents(found.priced), found.minutes, _hour(priced, found)])
    return rows


def dug(priced: PricedJob, option: PricedOption) -> Digging | None:
    """The digging in the price of an option."""
    return digging_of(priced.book, priced.job.header, option)


def _hour(priced: PricedJob, found: Digging) -> str:
    if found.hour is None:
        return "no rate in force"
    parts = " + ".join(f"{x.description} {plain(cents(x.cost))}" for x in found.lines)
    return f"{parts}; with charges {found.hour.price_before_tax}, with tax {found.hour.price}"


def payment_words(priced: PricedJob, currency: str) -> str:
    """The deposit with its cap, and the stages."""
    payment = payment_of(priced)
    parts = [
        f"{p.name} {plain(cents(p.share * 100))} %" + (f" {money_words(p.amount, currency)}" if p.amount else "")
        for p in payment.parts
    ]
    words = "; ".join(parts) or "nothing is said of it"
    if payment.cap:
        cap = payment.cap
        words += (
            f". Asked for was a deposit of {plain(payment.asked * 100)} %; {cap.place} allows {plain(cap.cap * 100)} %"
        )
        words += f" ({cap.origin.source})"
    return words + "."
