"""What a price holds of digging, and what an hour beyond that costs: the figures of the clause about rock."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from estimator.core.money import from_float, plain
from estimator.core.names import key
from estimator.job.model import Header
from estimator.pricing.charges import steps_for
from estimator.pricing.model import PricedOption, Totals
from estimator.pricing.price import bill_of
from estimator.pricing.taxes import taxes_for
from estimator.rates.model import DiggingLimit, RateBook
from estimator.takeoff.finish import crew_of
from estimator.takeoff.labour import DIG, slug
from estimator.takeoff.lines import make_line
from estimator.takeoff.model import Line

STEP = Decimal(5)  # minutes are told in these
HOURS = ("h", "hour", "hours")


@dataclass(frozen=True, slots=True)
class Digging:
    """minutes: a hole, in the price, of one person or of the machine (by_machine); row: as the rate book has them;
    priced: as the hours of this option have them; hour: what one more costs, None where no rate is in force."""

    holes: int
    digging: str
    minutes: Decimal
    by_machine: bool
    row: Decimal
    priced: Decimal
    hour: Totals | None
    lines: tuple[Line, ...]


def digging_of(book: RateBook, header: Header, option: PricedOption) -> Digging | None:
    """The digging in the price of an option; None where it has no holes to dig or the rate book says nothing of it.

    The price never holds less than the hours that are in it, so that nobody pays for a minute twice.
    """
    limit = book.digging_limits.get(key(option.site.digging))
    taken, bill = option.taken, option.bill
    if limit is None or bill is None or not taken.footings:
        return None
    if not any(key(line.code) == slug(DIG) for line in bill.lines):
        return None
    holes = len(taken.footings)
    hours = sum(h.hours for h in taken.hours if h.task == DIG)
    people = crew_of(book, header) if limit.by_machine else 1.0
    priced = from_float(hours * 60 / holes / people)
    lines = _hour(book, header, limit)
    hour = None
    if lines:
        steps = [s for s in steps_for(book, header, option.option.margin) if s.taken_on != "step"]
        hour = bill_of(lines, steps, taxes_for(book, header)[0], by_line=False).totals
    return Digging(
        holes, limit.digging, max(limit.minutes, _whole(priced)), limit.by_machine, limit.minutes, priced, hour, lines
    )


def _whole(minutes: Decimal) -> Decimal:
    return (minutes / STEP).quantize(Decimal(1), ROUND_CEILING) * STEP


def _hour(book: RateBook, header: Header, limit: DiggingLimit) -> tuple[Line, ...]:
    """The lines of one hour more: the trade, and the machine by the hour or a day's hire over its hours."""
    found = []
    trade, item = book.trades.get(key(limit.trade)), book.items.get(key(limit.item))
    if trade:
        found.append(make_line(slug(DIG), trade.name, "labour", Decimal(1), "h", trade.cost_per_hour, "one hour"))
    if item:
        day = from_float(header.hours_a_day or book.number("hours a day"))
        hours = Decimal(1) if key(item.unit) in HOURS else day
        words = "one hour" if hours == 1 else f"a day over {plain(day)} h"
        found.append(
            make_line(item.code, item.description, item.kind, 1 / hours, item.unit, item.price, words, item.origin)
        )
    return tuple(found)
