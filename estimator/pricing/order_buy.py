"""How much of one thing is bought: whole packs, the least that is sold, more where a price break makes it cheaper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from estimator.core.money import cents, plain
from estimator.core.units import convert
from estimator.rates.model import Break

MEASURED = ("m", "m2", "m3", "kg", "h", "day")


@dataclass(frozen=True, slots=True)
class Bought:
    """What is bought, at which price a unit. packs None: to measure; words: why it is more than whole packs."""

    quantity: Decimal
    packs: int | None
    price: Decimal
    words: str

    @property
    def cost(self) -> Decimal:
        """Rounded once."""
        return cents(self.quantity * self.price)


def price_at(price: Decimal, breaks: Sequence[Break], quantity: Decimal) -> Decimal:
    """The price of one unit when so many are bought.

    >>> steps = (Break(Decimal(10), Decimal("4.10")), Break(Decimal(50), Decimal("3.80")))
    >>> [str(price_at(Decimal("4.50"), steps, Decimal(n))) for n in (9, 10, 49, 50)]
    ['4.50', '4.10', '4.10', '3.80']
    """
    reached = [b.price for b in breaks if b.quantity <= quantity]
    return reached[-1] if reached else price


def pack_of(unit: str, pack: Decimal | None) -> Decimal | None:
    """What is sold at once: the row's pack, else one whole piece; None for what is sold to measure.

    >>> pack_of("each", None), pack_of("m3", None), pack_of("each", Decimal(10))
    (Decimal('1'), None, Decimal('10'))
    """
    if pack:
        return pack
    return None if any(convert(Decimal(1), unit, m) is not None for m in MEASURED) else Decimal(1)


def buy(
    needed: Decimal,
    price: Decimal,
    pack: Decimal | None = None,
    minimum: Decimal | None = None,
    breaks: Sequence[Break] = (),
) -> Bought:
    """The cheapest whole packs that are enough; of two that cost the same the fewer.

    A price that falls from a quantity on can make more cost less than just enough.

    >>> steps = (Break(Decimal(10), Decimal("4.10")),)
    >>> found = buy(Decimal(9), Decimal("5.00"), Decimal(1), None, steps)  # 9 x 5.00 = 45.00, 10 x 4.10 = 41.00
    >>> str(found.quantity), str(found.cost)
    ('10', '41.00')
    """
    wanted = max(needed, minimum or needed)
    enough = _packed(wanted, pack)
    tried = [enough, *(q for b in breaks if (q := _packed(b.quantity, pack)) > enough)]
    best = min(tried, key=lambda q: (cents(q * price_at(price, breaks, q)), q))
    packs = int(best / pack) if pack else None
    words = f"at least {plain(minimum)} are sold" if minimum and wanted > needed else ""
    if best > enough:
        dear = cents(enough * price_at(price, breaks, enough))
        words = f"{plain(enough)} would do and cost {plain(dear)}: from {plain(best)} on the price falls"
    return Bought(best, packs, price_at(price, breaks, best), words)


def _packed(quantity: Decimal, pack: Decimal | None) -> Decimal:
    return (quantity / pack).quantize(Decimal(1), ROUND_CEILING) * pack if pack else quantity
