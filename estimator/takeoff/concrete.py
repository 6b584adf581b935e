"""Concrete by bag or by truck: the cheaper with minimum load and hours counted, the other shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from estimator.core.money import cents, from_float, plain
from estimator.rates.model import Concrete
from estimator.takeoff.lines import make_line, number
from estimator.takeoff.model import Line


@dataclass(frozen=True, slots=True)
class Bought:
    """One way to buy the concrete of an option. hours: to mix or barrow and place it."""

    row: Concrete
    quantity: Decimal
    unit: str
    cost: Decimal
    hours: float
    with_labour: Decimal
    words: str
    needed: Decimal  # before whole bags, a least load and steps


def ways(rows: Sequence[Concrete], net: float, waste: float, hour: Decimal, factor: float) -> list[Bought]:
    """Every way to buy, the cheapest with its labour first.

    net: concrete in place [m3]; waste: fraction, once on the option; hour: cost of an hour; factor: of ground
    and access on the hours. Bags are rounded up once, on the option.
    """
    gross = net * (1 + waste)
    found = []
    for row in rows:
        hours = gross * row.hours * factor
        if row.form == "bag":
            # 12 digits: a volume that is whole bags to the last float bit must not buy one more
            needed = from_float(round(gross / row.yield_, 12))
            bags = needed.quantize(Decimal(1), ROUND_CEILING)
            if row.pack:
                bags = (bags / row.pack).quantize(Decimal(1), ROUND_CEILING) * row.pack
            quantity, unit = bags, "bag"
            words = f"{number(gross)} m3 / {number(row.yield_, 6)} m3 a bag, up to {plain(bags)} bags"
        else:
            least, needed = max(gross, row.minimum_load), from_float(gross)
            quantity, unit = from_float(least), "m3"
            if row.pack:  # a plant sells in steps
                quantity = (from_float(round(least, 12)) / row.pack).quantize(Decimal(1), ROUND_CEILING) * row.pack
            words = f"{number(gross)} m3" + (f", least load {number(row.minimum_load)} m3" if least > gross else "")
            words += f", ordered {plain(quantity)} m3"
        cost = cents(quantity * row.price)
        found.append(Bought(row, quantity, unit, cost, hours, cost + cents(from_float(hours) * hour), words, needed))
    return sorted(found, key=lambda b: b.with_labour)


def concrete_line(found: Sequence[Bought], net: float, waste: float) -> Line:
    """The line of the cheapest way; the others in its working."""
    best = found[0]
    others = "; ".join(f"{b.row.description}: {b.words}, {plain(b.cost)} and {number(b.hours, 2)} h" for b in found[1:])
    words = (
        f"net {number(net, 4)} m3 + {number(waste * 100)} % waste = gross {number(net * (1 + waste), 4)} m3; "
        f"{best.words}; {number(best.hours, 2)} h to place"
    )
    return make_line(
        best.row.code,
        best.row.description,
        "material",
        best.quantity,
        best.unit,
        best.row.price,
        words + (f". Other ways: {others}" if others else ""),
        best.row.origin,
        needed=best.needed,
    )
