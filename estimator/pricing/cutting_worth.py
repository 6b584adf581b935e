"""What pieces are worth on a bar, in whole numbers: the fullest bars, a bound on every plan, the patterns near it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import isfinite
from time import monotonic

import numpy as np
from numpy.typing import NDArray

Column = tuple[int, tuple[int, ...]]  # the stock, and how many pieces of each width
Whole = NDArray[np.int64]
UNCUT = -1  # stands for the stock of a piece that no bar takes
MOST_SUMS = 2_000_000  # totals looked through for those that can be paid at all


@dataclass(frozen=True)
class Asked:
    """Pieces and bars in whole numbers, each with a cut added: pieces fit while their widths add up to the room.

    widths: longest first, no two the same; wanted: of each, 1 or more; rooms, prices, available: of each stock; a
    price is a whole number of any unit of money; available None: as many as are needed.
    """

    widths: tuple[int, ...]
    wanted: tuple[int, ...]
    rooms: tuple[int, ...]
    prices: tuple[int, ...]
    available: tuple[int | None, ...]

    @property
    def may_lack(self) -> bool:
        """Whether bars may run out: a piece that fits only stocks of which there are so many."""
        free = [room for room, many in zip(self.rooms, self.available, strict=True) if many is None]
        return max(self.widths, default=0) > max(free, default=0)

    @cached_property
    def uncut(self) -> int:
        """The price of leaving one piece uncut: more than that of any plan that cuts all."""
        return 1 + max(self.prices) * sum(self.wanted)

    @cached_property
    def scale(self) -> int:
        """Steps of worth to a unit of money, so many that sums on a bar stay whole numbers of 64 bits."""
        return int(max(1, min(2**30, 2**61 // (max(1, max(self.prices)) * self.on_a_bar))))

    @cached_property
    def on_a_bar(self) -> int:
        """At most so many pieces are cut from one bar."""
        return max(1, max(self.rooms) // min(self.widths))

    def cost(self, stock: int) -> int:
        """Price of one bar, or of a piece left uncut."""
        return self.uncut if stock == UNCUT else self.prices[stock]

    def only(self, piece: int, count: int) -> tuple[int, ...]:
        """A pattern of one piece alone."""
        return tuple(count if i == piece else 0 for i in range(len(self.widths)))


@dataclass(frozen=True)
class Worth:
    """Worth of a piece of each width, in steps, with which no bar is worth more than it costs.

    penalties: of each stock of which there are only so many, what a bar is worth above its price; bound: no plan costs
    less, in steps; tables: see `knapsack`.
    """

    each: tuple[int, ...]
    penalties: tuple[int, ...]
    bound: int
    tables: tuple[Whole, ...]

    def least(self, asked: Asked) -> int:
        """The bound in whole units of money, of which every price has a whole number."""
        return max(0, -(-self.bound // asked.scale))


def filled(widths: Sequence[int], left: Sequence[int], room: int, start: Sequence[int] = ()) -> tuple[int, ...]:
    """A pattern with as many of the longest pieces left as go into the room, then of the next; on top of `start`.

    >>> filled([30, 20, 7], [1, 5, 9], 64), filled([30, 20, 7], [1, 5, 9], 64, [0, 1, 0])
    ((1, 1, 2), (1, 1, 2))
    """
    counts = list(start) or [0] * len(widths)
    room -= sum(w * c for w, c in zip(widths, counts, strict=True))
    for i, width in enumerate(widths):
        more = min(left[i] - counts[i], room // width)
        counts[i] += more
        room -= more * width
    return tuple(counts)


def knapsack(asked: Asked, each: Sequence[int]) -> tuple[Whole, ...]:
    """tables[i][r]: the most worth that goes into room r of pieces i and after, each no more often than wanted.

    Source: the knapsack by stages; a piece wanted n times is taken in lots of 1, 2, 4 ..., which give every number up
    to n.
    """
    table = np.zeros(max(asked.rooms) + 1, dtype=np.int64)
    tables = [table]
    for i in range(len(asked.widths) - 1, -1, -1):
        width, table = asked.widths[i], table.copy()
        left, lot = min(asked.wanted[i], (len(table) - 1) // width), 1
        while left > 0 and each[i] > 0:
            lot = min(lot, left)
            np.maximum(table[lot * width :], table[: -lot * width] + lot * each[i], out=table[lot * width :])
            left, lot = left - lot, lot * 2
        tables.append(table)
    return tuple(reversed(tables))


def fullest(asked: Asked, each: Sequence[int], tables: Sequence[Whole], stock: int) -> Column:
    """A pattern with the most worth for a bar of a stock, and with whatever else still goes on it."""
    counts, room = [], asked.rooms[stock]
    for i, width in enumerate(asked.widths):
        count = 0
        while tables[i][room] != count * each[i] + tables[i + 1][room - count * width]:
            count += 1
        counts.append(count)
        room -= count * width
    return stock, filled(asked.widths, asked.wanted, asked.rooms[stock], counts)


def worth_of(asked: Asked, each: Sequence[int]) -> Worth:
    """Any worth of pieces, lessened until no bar of which there are any number is worth more than it costs."""
    tables = knapsack(asked, each)
    for stock, many in enumerate(asked.available):
        paid, value = asked.prices[stock] * asked.scale, int(tables[0][asked.rooms[stock]])
        if many is None and value > paid:
            each = [e * paid // value for e in each]
            tables = knapsack(asked, each)
    over = [
        max(0, int(tables[0][room]) - price * asked.scale) if many is not None else 0
        for room, price, many in zip(asked.rooms, asked.prices, asked.available, strict=True)
    ]
    bound = sum(e * n for e, n in zip(each, asked.wanted, strict=True))
    bound -= sum(p * (many or 0) for p, many in zip(over, asked.available, strict=True))
    return Worth(tuple(each), tuple(over), bound, tables)


def by_length(asked: Asked) -> Worth:
    """Pieces worth their length at the price of the cheapest bar by length: a first bound.

    >>> asked = Asked((2100, 1500), (3, 4), (6003, 4003), (60, 44), (None, None))
    >>> worth = by_length(asked)
    >>> round(worth.bound / asked.scale, 2)  # 12 300 of 6003 at 60
    122.94
    """
    bars = list(zip(asked.prices, asked.rooms, strict=True))
    return worth_of(asked, [min(price * asked.scale * width // room for price, room in bars) for width in asked.widths])


def in_steps(asked: Asked, worth: Sequence[float]) -> list[int]:
    """Worth in money as whole steps, none below nothing and none above a piece left uncut."""
    top = min(asked.uncut * asked.scale, 2**62 // asked.on_a_bar)
    return [min(top, max(0, int(w * asked.scale))) if isfinite(w) else 0 for w in worth]


def lifted(asked: Asked, worth: Worth, least: int, cost: int) -> int:
    """The least total, from `least` up to `cost`, for which bars can be bought that have room and worth enough.

    No plan costs less, if none costs less than `least`: money goes for whole bars, and the bars of a plan have at least
    the room of all pieces and can hold at least their worth.

    >>> asked = Asked((2100, 1500), (3, 4), (6003, 4003), (60, 44), (None, None))
    >>> lifted(asked, by_length(asked), 123, 500)  # 2 x 60 is too short and 44 + 2 x 44 = 132 as well
    148
    """
    if least >= cost or cost > MOST_SUMS or asked.may_lack:
        return min(least, cost)
    enough = np.ones(cost + 1, dtype=bool)
    values = tuple(int(worth.tables[0][room]) for room in asked.rooms)
    for sizes, rooms in ((asked.widths, asked.rooms), (worth.each, values)):
        need = sum(size * n for size, n in zip(sizes, asked.wanted, strict=True))
        most = np.full(cost + 1, -(2**62), dtype=np.int64)  # the most that goes on bars of exactly such a total
        most[0] = 0
        for price, room, many in zip(asked.prices, rooms, asked.available, strict=True):
            if price == 0:
                most += min(need, room * (sum(asked.wanted) if many is None else many))
                continue
            left, lot = min(cost // price, cost if many is None else many), 1
            while left > 0:
                lot = min(lot, left)
                more = most[: -lot * price] + min(need, lot * room)  # beyond the need nothing counts
                np.maximum(most[lot * price :], more, out=most[lot * price :])
                left, lot = left - lot, lot * 2
        enough &= most >= need
    enough[cost] = True
    return least + int(np.argmax(enough[least:]))


def patterns_within(asked: Asked, worth: Worth, cost: int, most: int, until: float) -> list[Column] | None:
    """Every full pattern that a plan of at most such a cost can hold; None where there are too many to list.

    A plan costs the worth of its pieces and what each of its bars loses against its price; so no bar loses more than
    the plan exceeds the bound.
    """
    slack = cost * asked.scale - worth.bound
    found: list[Column] = []
    looked = 0
    for stock, room in enumerate(asked.rooms):
        least = asked.prices[stock] * asked.scale + worth.penalties[stock] - slack
        left: list[tuple[int, int, tuple[int, ...]]] = [(room, 0, ())]
        while left:
            room, value, counts = left.pop()
            i = len(counts)
            looked += 1
            if len(found) > most or looked > 40 * most or (looked % 1000 == 0 and monotonic() >= until):
                return None
            if value + int(worth.tables[i][room]) < least:
                continue
            if i < len(asked.widths):
                width = asked.widths[i]
                for count in range(min(asked.wanted[i], room // width) + 1):
                    left.append((room - count * width, value + count * worth.each[i], (*counts, count)))
            elif any(counts) and not any(
                c < n and w <= room for c, n, w in zip(counts, asked.wanted, asked.widths, strict=True)
            ):
                found.append((stock, counts))
    return found
