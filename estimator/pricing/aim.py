"""The margin, or the markup, that gives a wanted price: searched on the charges as they are taken, cents, steps and
taxes included, so that whoever types it gets that price."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.job.model import Header
from estimator.pricing.model import Totals
from estimator.pricing.price import make_bill
from estimator.rates.model import RateBook, Tax
from estimator.takeoff.model import Line

ZERO = Decimal("0.00")
CENT = Decimal("0.01")
FINE = Decimal("1E-10")  # finer than a cent of any price that a job has
MOST_MARGIN, MOST_MARKUP = Decimal("0.99"), Decimal(20)  # what the job workbook takes
NEAR = 6  # cents before tax in which taxes rounded line by line may hide the price


@dataclass(frozen=True, slots=True)
class Priced:
    """Lines that are priced together. own: an option, whose own margin would win; else the whole job's lines, whose
    price is not rounded to a step."""

    lines: tuple[Line, ...]
    own: bool


@dataclass(frozen=True, slots=True)
class Found:
    """rate: the shortest one that gives `price`, None where none does; price: the nearest to the aim that can be had;
    exact: it is the aim; least: the price at nought, most: at the highest rate."""

    rate: Decimal | None
    price: Decimal
    exact: bool
    least: Decimal
    most: Decimal


def totals_at(
    book: RateBook, header: Header, blocks: Sequence[Priced], taxes: Sequence[Tax], rate: Decimal, markup: bool
) -> Totals:
    """What the blocks come to together at a margin, or a markup."""
    found = []
    for block in blocks:
        step = header.round_to if block.own else None
        typed = replace(header, margin=None if markup else rate, markup=rate if markup else None, round_to=step)
        found.append(make_bill(book, typed, block.lines, taxes, None).totals)
    return Totals(
        sum((t.cost for t in found), ZERO),
        sum((t.price_before_tax for t in found), ZERO),
        sum((t.tax for t in found), ZERO),
        sum((t.price for t in found), ZERO),
        found[0].margin if len(found) == 1 else None,
        found[0].markup if len(found) == 1 else None,
    )


def rate_for(
    book: RateBook,
    header: Header,
    blocks: Sequence[Priced],
    taxes: Sequence[Tax],
    aim: Decimal,
    *,
    before_tax: bool = False,
    markup: bool = False,
) -> Found:
    """The margin on the price, or the markup on cost, at which the blocks together come to the aim."""

    def totals(rate: Decimal) -> Totals:
        return totals_at(book, header, blocks, taxes, rate, markup)

    def price(rate: Decimal) -> Decimal:
        return totals(rate).price_before_tax if before_tax else totals(rate).price

    def before(rate: Decimal) -> Decimal:
        return totals(rate).price_before_tax

    highest = MOST_MARKUP if markup else MOST_MARGIN
    least, most = price(ZERO), price(highest)
    if aim < least or aim > most or least == most:
        nearest = least if aim < most else most
        return Found(ZERO if least == most == aim else None, nearest, nearest == aim, least, most)
    low = _first(price, aim, highest)
    tries = [low, max(low - FINE, ZERO)]
    if price(low) != aim and not before_tax:
        # taxes rounded line by line can fall by a cent where the price before tax rises by one
        about = before(low)
        steps = (about + CENT * n for n in range(-NEAR, NEAR + 1))
        tries += [rate for b in steps if before(rate := _first(before, b, highest)) == b]
    best = min(tries, key=lambda rate: (abs(price(rate) - aim), rate))
    rate = _shortest(price, best, highest)
    return Found(rate, price(rate), price(rate) == aim, least, most)


def _first(value: Callable[[Decimal], Decimal], wanted: Decimal, highest: Decimal) -> Decimal:
    """The lowest rate on a fine grid at which a rising value reaches what is wanted; the highest where none does."""
    low, high = 0, int(highest / FINE)
    while low < high:
        middle = (low + high) // 2
        if value(middle * FINE) >= wanted:
            high = middle
        else:
            low = middle + 1
    return low * FINE


def _shortest(value: Callable[[Decimal], Decimal], rate: Decimal, highest: Decimal) -> Decimal:
    """The rate with the fewest decimals, as a per cent, that gives the same value as this one."""
    wanted = value(rate)
    for places in range(9):
        step = Decimal(1).scaleb(-places - 2)
        for shown in (rate // step * step, (rate // step + 1) * step):
            if shown <= highest and value(shown) == wanted:
                return shown.normalize() + 0
    return rate
