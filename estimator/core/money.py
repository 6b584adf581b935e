"""Money: Decimal only, half up, one gate from float."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import lru_cache

CENT = Decimal("0.01")


@lru_cache(maxsize=20_000)  # the same sizes and prices come again and again; one object serves all
def from_float(value: float) -> Decimal:
    """The one gate from float to Decimal, through 15 significant digits.

    >>> from_float(0.1 + 0.2)
    Decimal('0.3')
    """
    return Decimal(f"{value:.15g}") + 0  # + 0 turns -0 into 0


@lru_cache(maxsize=20_000)
def cents(amount: Decimal) -> Decimal:
    """To the cent, half up and away from zero.

    >>> cents(Decimal("1.005")), cents(Decimal("-0.165"))
    (Decimal('1.01'), Decimal('-0.17'))
    """
    return amount.quantize(CENT, ROUND_HALF_UP) + 0


def to_step(amount: Decimal, step: Decimal) -> Decimal:
    """To a whole number of steps, half up; step > 0.

    >>> to_step(Decimal("1234.56"), Decimal("5"))
    Decimal('1235.00')
    """
    return cents((amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step)


def plain(value: Decimal) -> str:
    """A Decimal without exponent or trailing zeros.

    >>> plain(Decimal("1E+2")), plain(Decimal("0.2500"))
    ('100', '0.25')
    """
    text = f"{value:f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


def share_out(total: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    """A total shared out by weight to the cent; the last share takes what rounding leaves.

    The same rule can be written as a spreadsheet formula. Weights that sum to nothing share nothing but
    the last. An empty list of weights gives an empty list.

    >>> share_out(Decimal("1.00"), [Decimal(1), Decimal(1), Decimal(1)])
    [Decimal('0.33'), Decimal('0.33'), Decimal('0.34')]
    """
    if not weights:
        return []
    whole = sum(weights, Decimal(0))
    shares = [cents(total * w / whole) if whole else Decimal("0.00") for w in weights[:-1]]
    return [*shares, total - sum(shares, Decimal(0))]


def largest_remainders(total: Decimal, shares: Sequence[Decimal]) -> list[Decimal]:
    """A total in parts that sum to it to the cent: each part down to the cent, the cents that are left to those
    parts that lost most; of equal ones the first. Shares sum to 1; an empty list gives an empty list.

    >>> largest_remainders(Decimal("100.00"), [Decimal("0.3333"), Decimal("0.3333"), Decimal("0.3334")])
    [Decimal('33.33'), Decimal('33.33'), Decimal('33.34')]
    >>> largest_remainders(Decimal("0.05"), [Decimal("0.5"), Decimal("0.5")])
    [Decimal('0.03'), Decimal('0.02')]
    """
    exact = [total * s for s in shares]
    parts = [e.quantize(CENT, ROUND_FLOOR) for e in exact]
    left = int((total - sum(parts, Decimal(0))) / CENT) if parts else 0
    for n in sorted(range(len(parts)), key=lambda n: (parts[n] - exact[n], n))[:left]:
        parts[n] += CENT
    return parts
