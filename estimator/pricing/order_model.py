"""What to buy for the chosen options of a job: information, never part of a price. Lengths m, volumes m3."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

BAR, REEL = "bar", "reel"


@dataclass(frozen=True, slots=True)
class Ordered:
    """One thing to buy. needed, quantity, pack and left_over in `unit`; packs None: bought to measure.

    price: of what `per` says: the unit, or a whole bar or reel; billed: what the bill has for it, 0 where another row
    of the same code holds that; lines: block and line of the bill; sites: what each of them needs.
    """

    table: str
    code: str
    description: str
    colour: str
    supplier: str
    supplier_code: str
    needed: Decimal
    quantity: Decimal
    unit: str
    pack: Decimal | None
    packs: int | None
    price: Decimal
    per: str
    cost: Decimal
    left_over: Decimal
    billed: Decimal
    lead_days: int | None
    words: str
    lines: tuple[tuple[int, int], ...]
    sites: tuple[tuple[str, Decimal], ...]
    asked: tuple[str, ...] = ()  # colours to choose from, where none was named

    @property
    def by_pack(self) -> bool:
        """Whether the price is of a whole bar or reel."""
        return self.per in (BAR, REEL)


@dataclass(frozen=True, slots=True)
class CutBar:
    """Bars cut alike. pieces: for what, length, how often on one bar; off_cut: of one bar; price: of one bar."""

    length: float
    count: int
    pieces: tuple[tuple[str, float, int], ...]
    off_cut: float
    price: Decimal


@dataclass(frozen=True, slots=True)
class Cutting:
    """How the bars or reels of one row are cut. kind: post, chain, wire rope; least: no plan costs less;
    out_of_time: the clock ended the search."""

    table: str
    code: str
    description: str
    colour: str
    kind: str
    kerf: float
    bars: tuple[CutBar, ...]
    cost: Decimal
    least: Decimal
    out_of_time: bool

    @property
    def proved(self) -> bool:
        """Whether no plan is cheaper."""
        return self.cost <= self.least

    @property
    def gap(self) -> Decimal:
        """The share of the cost that another plan might save at the very most."""
        return Decimal(0) if self.proved else (self.cost - self.least) / self.cost


@dataclass(frozen=True, slots=True)
class ConcreteWay:
    """One way to buy and place the concrete of a site. how: by hand, with a mixer, by truck; hours: to mix or barrow
    and place; waiting_hours: that trucks wait beyond what is free; days: of the mixer."""

    code: str
    description: str
    how: str
    needed: Decimal
    quantity: Decimal
    unit: str
    volume: float  # that is bought, m3
    loads: int
    price: Decimal
    goods: Decimal
    hours: Decimal
    hour: Decimal
    labour: Decimal
    waiting_hours: Decimal
    waiting_price: Decimal
    waiting: Decimal
    days: int
    day: Decimal
    hire: Decimal
    total: Decimal
    words: str


@dataclass(frozen=True, slots=True)
class Reserve:
    """What is ordered over the concrete in place, and what it would cost to run short by as much."""

    volume: float
    cost: Decimal
    short: Decimal
    words: str


@dataclass(frozen=True, slots=True)
class ConcreteSite:
    """The concrete of one site, the cheapest way first. billed: code of the way that the bill prices."""

    site: str
    net: float
    gross: float
    ways: tuple[ConcreteWay, ...]
    billed: str
    reserve: Reserve


@dataclass(frozen=True, slots=True)
class SupplierTotal:
    """What one supplier is to bring. name blank: nobody is named; short: what the goods lack of the least order;
    order_by: the last day, None where the job has no day to finish or nobody says how long it takes."""

    name: str
    goods: Decimal
    minimum: Decimal
    short: Decimal
    delivery: Decimal
    lead_days: int | None
    order_by: date | None
    footings: bool  # it brings what the footings need


@dataclass(frozen=True, slots=True)
class Order:
    """rows: by supplier, in the order of the rate book, those without one last; goods, delivery: of all suppliers;
    billed: what the bills of the chosen options have for the same things; missing: sites without a price."""

    rows: tuple[Ordered, ...]
    suppliers: tuple[SupplierTotal, ...]
    cuttings: tuple[Cutting, ...]
    concrete: tuple[ConcreteSite, ...]
    goods: Decimal
    delivery: Decimal
    billed: Decimal
    missing: tuple[str, ...]
