"""What a price may come to when some of its quantities are not known: three-point values, drawn together.

Money enters as Decimal and leaves as Decimal, rounded to the cent; between the two it is reckoned in floats.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from math import isfinite, sqrt
from typing import TYPE_CHECKING, Any

from estimator.core.money import cents, from_float
from estimator.pricing.three_point import mean, value_at, value_at_score, variance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SHOWN = 5  # movers that are named
LOW, HIGH = 0.1, 0.9


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A quantity that is not known, and what a unit of it adds to the price.

    weight: money per unit, negative where more of it makes the job cheaper; group: what goes up and down with it,
    such as everything that hangs on one soil; blank: it stands alone.
    """

    name: str
    low: float
    likely: float
    high: float
    weight: Decimal
    group: str = ""


@dataclass(frozen=True, slots=True)
class Unclear:
    """Why a row, or what the whole was asked with (name blank), cannot be drawn, in words."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Mover:
    """What one row alone does to the price, the others as likely.

    at_low, at_high: change of the price where the row is so low, or so high, that one in ten lies beyond.
    """

    name: str
    at_low: Decimal
    at_high: Decimal

    @property
    def swing(self) -> Decimal:
        """The distance between the two, never negative."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, slots=True)
class Spread:
    """The price with its chances: one in ten lies under low10, half under middle50, nine in ten under high90.

    sd: standard deviation; movers: at most five rows, those that move the price most first; drawn: every price, sorted.
    """

    low10: Decimal
    middle50: Decimal
    high90: Decimal
    mean: Decimal
    sd: Decimal
    movers: tuple[Mover, ...]
    drawn: tuple[float, ...] = field(repr=False)

    def at(self, share: float) -> Decimal:
        """The price under which so large a share (0 to 1) of all prices lies, between draws in a straight line."""
        return _between(self.drawn, share)

    def chance(self, price: Decimal) -> float:
        """Share of the prices drawn that lie at or under a price; of those equal to it, half."""
        at = float(price)
        return (bisect_left(self.drawn, at) + bisect_right(self.drawn, at)) / 2 / len(self.drawn)


def simulate(
    rows: Sequence[Uncertain], base: Decimal, count: int = 20000, seed: int = 1, correlation: float = 0.5
) -> Spread | tuple[Unclear, ...]:
    """The price drawn `count` times: base + the sum of weight x (value drawn - likely).

    base: the price with every row as likely. correlation: between any two rows of a group, of the normal scores behind
    them (a Gaussian copula: each row keeps its own distribution). Rows without a group, and groups among each other,
    are independent. Every row and every group has its own stream of the seed, by its place, so that another figure in
    one row leaves the draws of the others as they are.
    """
    found = simulate_all(rows, [(base, [row.weight for row in rows])], count, seed, correlation)
    return found[0] if isinstance(found[0], Spread) else tuple(u for u in found if isinstance(u, Unclear))


def simulate_all(
    rows: Sequence[Uncertain],
    sums: Sequence[tuple[Decimal, Sequence[Decimal]]],
    count: int = 20000,
    seed: int = 1,
    correlation: float = 0.5,
) -> tuple[Spread, ...] | tuple[Unclear, ...]:
    """Several sums over the same draws, such as the cost and the price: as `simulate`, once for all of them.

    sums: what each is with every row as likely, and its money per unit of each row, instead of the rows' own weights.
    """
    import numpy as np

    wrong = _refused(rows, sums, count, correlation)
    if wrong:
        return wrong
    totals = [np.full(count, float(base)) for base, _ in sums]
    for i, off in enumerate(_off_likely(rows, count, seed, correlation)):
        for total, (_, weights) in zip(totals, sums, strict=True):
            total += float(weights[i]) * off
    return tuple(
        _spread(total, movers([replace(row, weight=w) for row, w in zip(rows, weights, strict=True)]))
        for total, (_, weights) in zip(totals, sums, strict=True)
    )


def _off_likely(rows: Sequence[Uncertain], count: int, seed: int, correlation: float) -> Iterator[NDArray[np.float64]]:
    """Row by row the draws of it, less what is likely."""
    from scipy.special import ndtri

    groups = list(dict.fromkeys(row.group for row in rows if row.group))
    common = {g: ndtri(_shares((seed, 1, i), count)) for i, g in enumerate(groups)}
    for i, row in enumerate(rows):
        score = ndtri(_shares((seed, 0, i), count))
        if row.group:
            score = sqrt(correlation) * common[row.group] + sqrt(1 - correlation) * score
        yield value_at_score(row.low, row.likely, row.high, score) - row.likely


def _spread(total: NDArray[np.float64], moving: tuple[Mover, ...]) -> Spread:
    total.sort()
    drawn = tuple(total.tolist())
    return Spread(
        low10=_between(drawn, LOW),
        middle50=_between(drawn, 0.5),
        high90=_between(drawn, HIGH),
        mean=cents(from_float(float(total.mean()))),
        sd=cents(from_float(float(total.std(ddof=1)))),
        movers=moving,
        drawn=drawn,
    )


def movers(rows: Sequence[Uncertain]) -> tuple[Mover, ...]:
    """The rows that move the price most, worked out and not drawn; those that move it by nothing are left out."""
    import numpy as np

    found = []
    for row in rows:
        low, high = value_at(row.low, row.likely, row.high, np.array([LOW, HIGH])) - row.likely
        weight = float(row.weight)
        found.append(Mover(row.name, cents(from_float(weight * float(low))), cents(from_float(weight * float(high)))))
    return tuple(sorted((m for m in found if m.swing), key=lambda m: -m.swing)[:SHOWN])


def by_formula(rows: Sequence[Uncertain], base: Decimal) -> tuple[Decimal, Decimal]:
    """Mean and standard deviation of the price where no row hangs on another; unrounded.

    Source: means add up, and so do the variances of independent values: sum of weight^2 x variance.

    >>> by_formula([Uncertain("holes", 4, 6, 14, Decimal(30))], Decimal(1000))  # mean 7; sqrt(3 x 7 / 7) x 30
    (Decimal('1030'), Decimal('51.9615242270663'))
    """
    middle = sum(float(r.weight) * (mean(r.low, r.likely, r.high) - r.likely) for r in rows)
    squares = sum(float(r.weight) ** 2 * variance(r.low, r.likely, r.high) for r in rows)
    return base + from_float(middle), from_float(sqrt(squares))


def contingency_for(spread: Spread, base: Decimal, at: float = 0.8) -> Decimal | None:
    """The contingency, a fraction of base, with which so large a share of the prices drawn is met; never under 0.

    None where base is nothing or less: a share of it says nothing.
    """
    if base <= 0:
        return None
    return max(Decimal(0), (spread.at(at) - base) / base)


def _refused(
    rows: Sequence[Uncertain], sums: Sequence[tuple[Decimal, Sequence[Decimal]]], count: int, correlation: float
) -> tuple[Unclear, ...]:
    """What keeps rows from being drawn; nothing where all is well."""
    found = []
    for i, row in enumerate(rows):
        finite = all(isfinite(v) for v in (row.low, row.likely, row.high))
        if not (finite and all(weights[i].is_finite() for _, weights in sums)):
            found.append(Unclear(row.name, "low, likely, high and the money per unit have to be numbers"))
        elif not row.low <= row.likely <= row.high:
            words = f"low {row.low:g}, likely {row.likely:g}, high {row.high:g} do not stand in that order"
            found.append(Unclear(row.name, words))
    if not all(base.is_finite() for base, _ in sums):
        found.append(Unclear("", "the price has to be a number"))
    if count < 2:
        found.append(Unclear("", f"{count} draws give no spread; draw 2 or more, such as 20000"))
    if not 0 <= correlation <= 1:
        found.append(Unclear("", f"a correlation of {correlation:g}: write one from 0 (each alone) to 1 (all as one)"))
    return tuple(found)


def _between(drawn: Sequence[float], share: float) -> Decimal:
    place = min(max(share, 0.0), 1.0) * (len(drawn) - 1)
    below = min(int(place), len(drawn) - 2)
    return cents(from_float(drawn[below] + (place - below) * (drawn[below + 1] - drawn[below])))


def _shares(seed: Any, count: int) -> NDArray[np.float64]:
    """Even shares between 0 and 1, neither of them reached, so that a normal score is finite."""
    import numpy as np

    return np.clip(np.random.default_rng(seed).random(count), 2.0**-54, 1 - 2.0**-53)
