"""The concrete of a site by hand, with a mixer or by truck: least load, waiting, hire and hours counted, all shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from math import ceil

from estimator.core.money import cents, from_float, plain
from estimator.core.names import key
from estimator.pricing.order_buy import buy, price_at
from estimator.pricing.order_model import ConcreteSite, ConcreteWay, Reserve
from estimator.rates.model import Break, Concrete, Item, RateBook
from estimator.takeoff.lines import number
from estimator.takeoff.model import Pour

BY_HAND, WITH_MIXER, BY_TRUCK = "by hand", "with a mixer", "by truck"
NOTHING = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Placed:
    """Who places the concrete. hour: what one costs; crew: people; day: hours of one day; free: hours that a load may
    stand for nothing; factor: of ground and access on the hours."""

    hour: Decimal
    crew: float
    day: float
    free: float
    factor: float


def placed(book: RateBook, crew: float, day: float, factor: float = 1.0) -> Placed:
    """Who places the concrete of a job, by its rate book."""
    trade = book.trades.get(key(book.text("concrete trade")))
    free = book.known("truck free time") or 0.0
    return Placed(trade.cost_per_hour if trade else Decimal(0), crew, day, free, factor)


def compare(book: RateBook, site: str, pour: Pour, by: Placed) -> ConcreteSite:
    """Every way to buy and place the concrete of a site, the cheapest first."""
    gross = pour.net * (1 + pour.waste)
    found = sorted(ways(book, gross, by), key=lambda w: w.total)
    return ConcreteSite(site, pour.net, gross, tuple(found), pour.code, reserve(book, found[0], pour.net, by))


def ways(book: RateBook, gross: float, by: Placed) -> list[ConcreteWay]:
    """Every way to buy and place a volume [m3], in the order of the rate book."""
    found = []
    for row in book.concrete.values():
        breaks = _breaks(book, row)
        if row.form == "truck":
            found.append(_by_truck(row, gross, breaks, by))
            continue
        found.append(_by_bag(row, gross, breaks, by))
        mixer = book.items.get(key(row.mixer)) if row.mixer else None
        if mixer and row.mixer_hours is not None:
            found.append(_by_bag(row, gross, breaks, by, mixer))
    return found


def _by_bag(row: Concrete, gross: float, breaks: Sequence[Break], by: Placed, mixer: Item | None = None) -> ConcreteWay:
    """Bags mixed by hand, or in a mixer that is hired by the day."""
    needed = bags_for(row, gross)
    bought = buy(needed, row.price, row.pack or Decimal(1), None, breaks)
    a_cube = row.hours if mixer is None else row.mixer_hours or 0.0
    hours = from_float(gross * a_cube * by.factor)
    days = ceil(float(hours) / (by.crew * by.day) - 1e-9) if mixer else 0
    words = f"{number(gross)} m3 / {number(row.yield_, 6)} m3 a bag = {number(float(needed), 2)}" + (
        f"; {bought.words}" if bought.words else ""
    )
    return _way(
        row, WITH_MIXER if mixer else BY_HAND, needed, bought.quantity, "bag", float(bought.quantity) * row.yield_, 0,
        bought.price, hours, by, words, days=max(1, days) if mixer else 0, day=mixer.price if mixer else NOTHING,
    )  # fmt: skip


def _by_truck(row: Concrete, gross: float, breaks: Sequence[Break], by: Placed) -> ConcreteWay:
    """Loads alike, each paid as a least load at least; a truck that stands longer than is free is paid by the hour."""
    loads = max(1, ceil(gross / row.largest_load - 1e-9)) if row.largest_load else 1
    least = max(gross, row.minimum_load * loads)
    quantity = from_float(least)
    if row.pack:  # 12 digits: whole steps to the last float bit are not one step more
        quantity = (Decimal(f"{least:.12g}") / row.pack).quantize(Decimal(1), ROUND_CEILING) * row.pack
    hours = from_float(gross * row.hours * by.factor)
    stands = float(hours) / by.crew
    waiting = from_float(max(0.0, stands - by.free * loads)) if row.waiting else Decimal(0)
    words = f"{number(gross)} m3" + (f", least load {number(row.minimum_load)} m3" if least > gross else "")
    words += f", ordered {plain(quantity)} m3" + (f" in {loads} loads" if loads > 1 else "")
    if row.waiting:
        words += f"; stands {number(stands, 2)} h, {number(by.free * loads, 2)} h are free"
    return _way(
        row, BY_TRUCK, from_float(gross), quantity, "m3", float(quantity), loads, price_at(row.price, breaks, quantity),
        hours, by, words, waiting=waiting,
    )  # fmt: skip


def _way(
    row: Concrete, how: str, needed: Decimal, quantity: Decimal, unit: str, volume: float, loads: int, price: Decimal,
    hours: Decimal, by: Placed, words: str, waiting: Decimal = NOTHING, days: int = 0, day: Decimal = NOTHING,
) -> ConcreteWay:  # fmt: skip
    goods, labour = cents(quantity * price), cents(hours * by.hour)
    waited, hired = cents(waiting * (row.waiting or 0)), cents(day * days)
    return ConcreteWay(
        code=row.code, description=row.description, how=how, needed=needed, quantity=quantity, unit=unit, volume=volume,
        loads=loads, price=price, goods=goods, hours=hours, hour=by.hour, labour=labour, waiting_hours=waiting,
        waiting_price=row.waiting or Decimal(0), waiting=waited, days=days, day=day, hire=hired,
        total=goods + labour + waited + hired, words=words,
    )  # fmt: skip


def bags_for(row: Concrete, volume: float) -> Decimal:
    """Bags that a volume takes [m3], before they are whole.

    12 digits: a volume that is whole bags to the last float bit is not one bag more.
    """
    return Decimal(f"{volume / row.yield_:.12g}")


def reserve(book: RateBook, taken: ConcreteWay, net: float, by: Placed) -> Reserve:
    """What is ordered over the concrete in place, and what running short by as much would cost."""
    volume = max(0.0, taken.volume - net)
    if volume < 1e-9:
        return Reserve(0.0, NOTHING, NOTHING, "nothing is ordered over what is in place")
    row = book.concrete[key(taken.code)]
    each = from_float(volume) if taken.how == BY_TRUCK else from_float(volume / row.yield_)
    short, words = running_short(book, volume, by)
    return Reserve(volume, cents(each * taken.price), short, words)


def running_short(book: RateBook, volume: float, by: Placed) -> tuple[Decimal, str]:
    """The cheapest cost of a volume [m3] that is found to be missing, and how: bags by hand, or one more load.

    Nobody is ready for it, so no mixer is on site; a second visit is not counted.
    """
    found = sorted((w for w in ways(book, volume, by) if w.how != WITH_MIXER), key=lambda w: w.total)
    if not found:
        return NOTHING, "no way to buy more is in the rate book"
    best = found[0]
    what = f"{plain(best.quantity)} {'bags' if best.unit == 'bag' else 'm3'} {best.how}"
    return best.total, f"{what} and {number(float(best.hours), 2)} h"


def _breaks(book: RateBook, row: Concrete) -> Sequence[Break]:
    found = book.buying.get(("concrete", key(row.code)))
    return found.breaks if found else ()
