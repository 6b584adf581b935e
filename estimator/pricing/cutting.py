"""Which bars to buy and how to cut them at the least cost: posts from stock lengths, rope and chain from reels.

Lengths are whole numbers of one unit: millimetres, tenths of them, or the links of a chain.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor, gcd, lcm

MOST_LENGTH, MOST_COUNT, MOST_PRICE, FINEST = 1_000_000, 10_000, Decimal(10_000_000), Decimal("0.0001")
Waiting = dict[
    int, deque[tuple[str, int]]
]  # of each length the names, in the order given, with how many are still to cut
HAIR = 1e-6  # of a link: what a float may lie beside a whole number

# Every `why` with what it means.
WHYS = {
    "length": "a length that is not a whole number, or not one from 1 to 1 000 000",
    "count": "a count that is not a whole number, or not one from 1 to 10 000",
    "price": "a price that is missing, below nothing, or not reckoned to 4 decimals",
    "available": "a number of bars that is not a whole number, or below nothing",
    "kerf": "a cut that is not a whole number, or below nothing",
    "no stock": "no bar to cut from",
    "too long": "a piece longer than the longest bar",
    "not enough": "more pieces than the bars that there are can give",
}


@dataclass(frozen=True, slots=True)
class Piece:
    """Pieces of one length, and what they are for."""

    length: int
    count: int
    name: str


@dataclass(frozen=True, slots=True)
class Stock:
    """A bar that can be bought, or that lies in the yard. available None: any number of them."""

    length: int
    price: Decimal | None
    code: str
    available: int | None = None


@dataclass(frozen=True, slots=True)
class Bar:
    """Bars cut alike. pieces: what one of them gives, the longest first; left_over: of one of them."""

    code: str
    length: int
    price: Decimal
    pieces: tuple[Piece, ...]
    left_over: int
    count: int


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The bars in the order of the stocks.

    cost: what they cost; bound: what no plan costs less than; left_over: of all bars together. out_of_time: the clock
    ended the search, so that a faster machine may find another plan; otherwise the same question gives the same plan.
    """

    bars: tuple[Bar, ...]
    cost: Decimal
    bound: Decimal
    left_over: int
    out_of_time: bool

    @property
    def proved(self) -> bool:
        """Whether no plan is cheaper."""
        return self.cost == self.bound

    @property
    def gap(self) -> Decimal:
        """The share of the cost that another plan might save at the very most; 0 where proved."""
        return (self.cost - self.bound) / self.cost if self.cost else Decimal(0)


@dataclass(frozen=True, slots=True)
class NotCut:
    """What cannot be cut, or cut from. name: of the piece, code of the stock, or blank; why: a key of WHYS."""

    name: str
    why: str
    words: str


def pieces_from(length: int, piece: int, kerf: int) -> int:
    """How many equal pieces a bar gives when every cut takes `kerf`: the last piece needs no cut behind it.

    Source: n pieces and n - 1 cuts on a bar: n = floor((L + k) / (p + k)).

    >>> pieces_from(6000, 1500, 3), pieces_from(6000, 1500, 0)
    (3, 4)
    """
    return (length + kerf) // (piece + kerf)


def links_of_piece(length: float, pitch: float) -> int:
    """Whole links of a chain that are at least so long; both in one unit. No pitch gives none.

    >>> links_of_piece(0.418, 0.024)  # 17.4
    18
    """
    return max(0, ceil(length / pitch - HAIR)) if pitch > 0 else 0


def links_on_reel(length: float, pitch: float) -> int:
    """Whole links of a chain on a reel of such a length; both in one unit. No pitch gives none.

    A cut through a link spoils it: the cut is then one link wide.

    >>> links_on_reel(30, 0.024)
    1250
    """
    return max(0, floor(length / pitch + HAIR)) if pitch > 0 else 0


def plan_cuts(
    pieces: Sequence[Piece], stocks: Sequence[Stock], kerf: int = 0, seconds: float = 5.0
) -> CutPlan | tuple[NotCut, ...]:
    """The cheapest bars that give all pieces and how each is cut, or everything that keeps them from being cut.

    kerf: what a cut takes. Cost is what counts and not what is left over. The plan is proved to be the cheapest, or
    says how far it may be from it: few long pieces are proved at once, many short ones may not be within `seconds`.

    >>> plan = plan_cuts([Piece(2400, 3, "P1")], [Stock(6000, Decimal(80), "6 m"), Stock(3000, Decimal(45), "3 m")], 3)
    >>> [(bar.code, bar.count, bar.left_over) for bar in plan.bars], plan.cost, plan.proved
    ([('6 m', 1, 1194), ('3 m', 1, 597)], Decimal('125'), True)
    """
    wrong = _refused(pieces, stocks, kerf)
    if wrong:
        return wrong
    if not pieces:
        return CutPlan((), Decimal(0), Decimal(0), 0, False)
    from estimator.pricing.cutting_search import search
    from estimator.pricing.cutting_worth import UNCUT, Asked

    units, unit = _in_units([stock.price or Decimal(0) for stock in stocks])
    wanted: Counter[int] = Counter()
    for piece in pieces:
        wanted[piece.length] += piece.count
    lengths = sorted(wanted, reverse=True)
    whole = sum((length + kerf) * n for length, n in wanted.items())  # a bar longer than all pieces is as good as that
    found = search(
        Asked(
            widths=tuple(length + kerf for length in lengths),
            wanted=tuple(wanted[length] for length in lengths),
            rooms=tuple(min(stock.length + kerf, whole) for stock in stocks),
            prices=units,
            available=tuple(stock.available for stock in stocks),
        ),
        seconds,
    )
    waiting: Waiting = {length: deque() for length in lengths}
    for piece in pieces:
        waiting[piece.length].append((piece.name, piece.count))
    bars: Counter[tuple[int, tuple[Piece, ...]]] = Counter()
    for (stock, counts), times in sorted(found.bars, key=lambda bar: (bar[0][0], [-n for n in bar[0][1]])):
        for _ in range(times if stock != UNCUT else 0):
            bars[stock, _named(waiting, lengths, counts)] += 1
    lacking = tuple(
        NotCut(name, "not enough", f"{left} of length {length} find no bar: those that there are give too little")
        for length in lengths
        for name, left in waiting[length]
        if left
    )
    if lacking:
        return lacking
    cut = tuple(_bar(stocks[stock], on, kerf, count) for (stock, on), count in bars.items())
    return CutPlan(
        bars=cut,
        cost=sum((bar.count * bar.price for bar in cut), Decimal(0)),
        bound=Decimal(unit.numerator * found.bound) / Decimal(unit.denominator),
        left_over=sum(bar.count * bar.left_over for bar in cut),
        out_of_time=found.out_of_time,
    )


def _bar(stock: Stock, pieces: tuple[Piece, ...], kerf: int, count: int) -> Bar:
    used = sum(p.count * (p.length + kerf) for p in pieces)
    # what is left behind the last cut; where it is narrower than the cut, the cut takes it
    return Bar(stock.code, stock.length, stock.price or Decimal(0), pieces, max(0, stock.length - used), count)


def _named(waiting: Waiting, lengths: Sequence[int], counts: Sequence[int]) -> tuple[Piece, ...]:
    """The next pieces of each length in the order they were given; takes them off `waiting`."""
    found = []
    for length, count in zip(lengths, counts, strict=True):
        ready = waiting[length]
        while count and ready:
            name, there = ready.popleft()
            taken = min(count, there)
            if taken:
                found.append(Piece(length, taken, name))
            if there > taken:
                ready.appendleft((name, there - taken))
            count -= taken
    return tuple(found)


def _in_units(prices: Sequence[Decimal]) -> tuple[tuple[int, ...], Fraction]:
    """Prices as whole numbers of the largest unit that allows it, and that unit.

    >>> _in_units([Decimal("89.50"), Decimal("61")])
    ((179, 122), Fraction(1, 2))
    """
    exact = [Fraction(price) for price in prices]
    whole = lcm(*(price.denominator for price in exact))
    numbers = [int(price * whole) for price in exact]
    common = gcd(*numbers) or 1
    return tuple(number // common for number in numbers), Fraction(common, whole)


def _refused(pieces: Sequence[Piece], stocks: Sequence[Stock], kerf: int) -> tuple[NotCut, ...]:
    found = []
    if not _whole(kerf, 0, MOST_LENGTH):
        found.append(NotCut("", "kerf", f"a cut of {kerf} is not a whole number from 0"))
    for stock in stocks:
        if not _whole(stock.length, 1, MOST_LENGTH):
            found.append(NotCut(stock.code, "length", f"a bar of {stock.length} is not a whole number from 1"))
        if stock.price is None:
            found.append(NotCut(stock.code, "price", "the bar has no price"))
        elif not isinstance(stock.price, Decimal) or not (
            stock.price.is_finite() and 0 <= stock.price <= MOST_PRICE and stock.price % FINEST == 0
        ):
            found.append(NotCut(stock.code, "price", f"{stock.price} is not a price from 0 with at most 4 decimals"))
        if stock.available is not None and not _whole(stock.available, 0, MOST_LENGTH):
            found.append(NotCut(stock.code, "available", f"{stock.available} bars are not a whole number from 0"))
    bars = [s.length for s in stocks if s.available != 0 and _whole(s.length, 1, MOST_LENGTH)]
    if pieces and not bars and not found:
        found.append(NotCut("", "no stock", "there is no bar to cut from"))
    for piece in pieces:
        if not _whole(piece.length, 1, MOST_LENGTH):
            found.append(NotCut(piece.name, "length", f"a piece of {piece.length} is not a whole number from 1"))
        elif bars and piece.length > max(bars):
            found.append(NotCut(piece.name, "too long", f"{piece.length} is longer than the longest bar, {max(bars)}"))
        if not _whole(piece.count, 1, MOST_COUNT):
            found.append(NotCut(piece.name, "count", f"{piece.count} pieces: write a whole number from 1 to 10000"))
    return tuple(found)


def _whole(value: object, least: int, most: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most
