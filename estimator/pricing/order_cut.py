"""Posts from stock lengths, chain and wire rope from reels: the pieces of all chosen options cut from what costs least.

Posts are cut in whole millimetres, or tenths where a stock length has no whole number of them; chain in links, of which
a cut spoils one; wire rope in centimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, floor
from time import monotonic

from estimator.core.money import cents, from_float
from estimator.core.units import convert
from estimator.pricing.cutting import CutPlan, NotCut, Piece, Stock, links_of_piece, links_on_reel, plan_cuts
from estimator.pricing.order_buy import price_at
from estimator.pricing.order_model import CutBar, Cutting
from estimator.rates.model import Buying, Part, PostSection, StockLength

SECONDS, AT_MOST = 10.0, 30.0  # for one plan, and for all plans of a job together
MOST_LENGTHS = 50  # different lengths that are told apart; more are rounded up to steps, which counts against the plan
STEPS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 150, 200, 300, 500, 1000)
HAIR = 1e-6


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to be cut from one row. pieces: for what, length [m]; kerf [m] of a saw, of posts only."""

    row: PostSection | Part
    table: str
    colour: str
    pieces: tuple[tuple[str, float], ...]
    buying: Buying
    kerf: float


@dataclass(frozen=True, slots=True)
class Units:
    """Whole numbers for one plan. unit [m]; pieces, stocks and kerf in units."""

    unit: float
    pieces: tuple[int, ...]
    stocks: tuple[int, ...]
    kerf: int


def kind_of(row: PostSection | Part) -> str:
    """post, chain or wire rope."""
    return row.kind if isinstance(row, Part) else "post"


def in_units(wanted: Wanted) -> Units:
    """Lengths as whole numbers: pieces never shorter and stocks never longer than they are."""
    lengths, stocks = [length for _, length in wanted.pieces], [s.length for s in wanted.buying.stock]
    row = wanted.row
    if isinstance(row, Part) and row.kind == "chain" and row.pitch:
        return Units(
            row.pitch,
            tuple(links_of_piece(length, row.pitch) for length in lengths),
            tuple(links_on_reel(length, row.pitch) for length in stocks),
            1,
        )
    by = 100 if isinstance(row, Part) else 1000 if all(_whole(s * 1000) for s in stocks) else 10_000
    return Units(
        1 / by,
        tuple(ceil(length * by - HAIR) for length in lengths),
        tuple(floor(length * by + HAIR) for length in stocks),
        0 if isinstance(row, Part) else ceil(wanted.kerf * by - HAIR),
    )


def cut(wanted: Wanted, seconds: float = SECONDS) -> Cutting | NotCut:
    """The cheapest bars or reels for all pieces, or the first reason why they cannot be cut."""
    row, units = wanted.row, in_units(wanted)
    step = _step(units)
    prices = [bar_price(row, wanted.buying, s) for s in wanted.buying.stock]
    plan = _plan(units, prices, _rounded_up(units, step), seconds)
    if not isinstance(plan, CutPlan):
        return plan[0]
    bought = _bought(wanted, plan)
    if price_at(row.price, wanted.buying.breaks, bought) < row.price:
        # bars by length all fall alike, so the plan stays the cheapest but for cents
        less = [bar_price(row, wanted.buying, s, bought) for s in wanted.buying.stock]
        again = _plan(units, less, _rounded_up(units, step), seconds)
        if isinstance(again, CutPlan) and _bought(wanted, again) >= bought:
            plan, prices = again, less
    least, late = plan.bound, plan.out_of_time
    if step > 1:  # shorter pieces never need dearer bars, so theirs is a bound on all plans
        lower = _plan(units, prices, tuple(max(1, p // step * step) for p in units.pieces), seconds)
        least, late = (lower.bound, late or lower.out_of_time) if isinstance(lower, CutPlan) else (Decimal(0), late)
    bars = tuple(_bar(wanted, units, prices, int(b.code), [int(p.name) for p in b.pieces], b.count) for b in plan.bars)
    return Cutting(
        table=wanted.table,
        code=row.code,
        description=row.description,
        colour=wanted.colour,
        kind=kind_of(row),
        kerf=units.kerf * units.unit,
        bars=bars,
        cost=plan.cost,
        least=least,
        out_of_time=late,
    )


def cut_all(all_wanted: Sequence[Wanted], seconds: float = AT_MOST) -> list[Cutting | NotCut]:
    """Every plan of a job, within so many seconds together."""
    until = monotonic() + seconds
    return [cut(w, min(SECONDS, max(0.0, until - monotonic()))) for w in all_wanted]


def bar_price(row: PostSection | Part, buying: Buying, stock: StockLength, bought: Decimal = Decimal(0)) -> Decimal:
    """The price of one bar or reel: its own, else by its length, to the cent. bought: in the unit of the price."""
    if stock.price is not None:
        return stock.price
    return cents(price_at(row.price, buying.breaks, bought) * _in_price_unit(row, stock.length))


def _in_price_unit(row: PostSection | Part, length: float) -> Decimal:
    """A length in the unit that the row is priced in: a length, a mass, or one piece whatever its length."""
    metres = from_float(length)
    by_length = convert(metres, "m", row.per)
    if by_length is not None:
        return by_length
    by_mass = convert(metres * from_float(row.mass or 0.0), "kg", row.per)
    return Decimal(1) if by_mass is None else by_mass


def _bought(wanted: Wanted, plan: CutPlan) -> Decimal:
    """What a plan buys, in the unit of the price."""
    lengths = wanted.buying.stock
    return sum((_in_price_unit(wanted.row, lengths[int(b.code)].length) * b.count for b in plan.bars), Decimal(0))


def _plan(
    units: Units, prices: Sequence[Decimal], lengths: Sequence[int], seconds: float
) -> CutPlan | tuple[NotCut, ...]:
    pieces = [Piece(length, 1, str(i)) for i, length in enumerate(lengths)]
    stocks = [Stock(s, p, str(i)) for i, (s, p) in enumerate(zip(units.stocks, prices, strict=True))]
    return plan_cuts(pieces, stocks, units.kerf, seconds)


def _step(units: Units) -> int:
    """The least step with which no more than so many lengths are told apart."""
    return next((s for s in STEPS if len(set(_rounded_up(units, s))) <= MOST_LENGTHS), STEPS[-1])


def _rounded_up(units: Units, step: int) -> tuple[int, ...]:
    """Pieces up to whole steps, but never longer than the shortest bar that takes them."""
    stocks = sorted(units.stocks)
    return tuple(min([-(-p // step) * step, *[s for s in stocks if s >= p][:1]]) for p in units.pieces)


def _bar(
    wanted: Wanted, units: Units, prices: Sequence[Decimal], stock: int, pieces: Sequence[int], count: int
) -> CutBar:
    used = sum(units.pieces[i] + units.kerf for i in pieces)
    on: dict[tuple[str, float], int] = {}
    for i in sorted(pieces, key=lambda i: (-units.pieces[i], i)):
        on[wanted.pieces[i]] = on.get(wanted.pieces[i], 0) + 1
    left = max(0, units.stocks[stock] - used) * units.unit
    length = wanted.buying.stock[stock].length
    return CutBar(length, count, tuple((*p, n) for p, n in on.items()), float(f"{left:.9g}"), prices[stock])


def _whole(value: float) -> bool:
    return abs(value - floor(value + 0.5)) < HAIR
