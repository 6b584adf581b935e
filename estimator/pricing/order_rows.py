"""Rows of the order: things in whole packs or to measure, bars and reels by the cutting plan, concrete by its site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from estimator.core.money import cents, from_float
from estimator.core.names import key
from estimator.core.units import convert
from estimator.pricing.order_buy import buy, pack_of
from estimator.pricing.order_concrete import BY_TRUCK
from estimator.pricing.order_model import BAR, REEL, ConcreteSite, Cutting, Ordered
from estimator.pricing.order_pool import Pool, Poured
from estimator.rates.model import Buying, Part, PostSection, RateBook

NOTHING = Decimal("0.00")


def buying(book: RateBook, table: str, code: str) -> Buying:
    """How a row is bought; blank where the rate book says nothing."""
    return book.buying.get((table, key(code)), Buying())


def bought(book: RateBook, pool: Pool) -> Ordered:
    """One thing in whole packs, or to measure."""
    line, row = pool.line, pool.row
    run = isinstance(row, Part | PostSection) and convert(Decimal(1), "m", row.per) is not None
    pack = None if run else pack_of(line.unit, getattr(row, "pack", None))
    by = buying(book, line.table, line.code)
    found = buy(pool.needed, line.rate, pack, getattr(row, "minimum", None), by.breaks)
    return replace(
        _row(book, pool),
        quantity=found.quantity,
        pack=pack,
        packs=found.packs,
        price=found.price,
        cost=found.cost,
        left_over=found.quantity - pool.needed,
        words=found.words,
    )


def of_plan(book: RateBook, pool: Pool, plan: Cutting) -> list[Ordered]:
    """A row for each length that is bought, in metres, priced by the bar or reel."""
    rows: list[Ordered] = []
    for length in dict.fromkeys(b.length for b in plan.bars):
        bars = [b for b in plan.bars if b.length == length]
        count = sum(b.count for b in bars)
        row = replace(
            _row(book, pool),
            needed=sum((from_float(size) * n * b.count for b in bars for _, size, n in b.pieces), Decimal(0)),
            quantity=from_float(length) * count,
            unit="m",
            pack=from_float(length),
            packs=count,
            price=bars[0].price,
            per=BAR if plan.kind == "post" else REEL,
            cost=cents(count * bars[0].price),
            left_over=sum((from_float(b.off_cut) * b.count for b in bars), Decimal(0)),
            words="see the cutting plan",
        )
        # the first row stands for what the bill has, so that it counts once
        rows.append(replace(row, billed=NOTHING, lines=(), sites=()) if rows else row)
    return rows


def _row(book: RateBook, pool: Pool) -> Ordered:
    """What every row of a pool has in common; quantity, pack and cost as needed."""
    line = pool.line
    by = buying(book, line.table, line.code)
    return Ordered(
        table=line.table,
        code=line.code,
        description=pool.description,
        colour=line.colour,
        supplier=by.supplier,
        supplier_code=by.code,
        needed=pool.needed,
        quantity=pool.needed,
        unit=line.unit,
        pack=None,
        packs=None,
        price=line.rate,
        per=line.unit,
        cost=NOTHING,
        left_over=Decimal(0),
        billed=pool.billed,
        lead_days=_lead(book, by),
        words="",
        lines=pool.at,
        sites=pool.sites,
        asked=_colours(pool),
    )


def _lead(book: RateBook, by: Buying) -> int | None:
    """Days from the order to the yard: the row's, else its supplier's."""
    supplier = book.suppliers.get(key(by.supplier)) if by.supplier else None
    return by.lead_days if by.lead_days is not None else supplier.lead_days if supplier else None


def _colours(pool: Pool) -> tuple[str, ...]:
    """The colours to choose from where none was named."""
    return () if pool.line.colour else tuple(getattr(pool.row, "colours", ()))


def of_concrete(book: RateBook, poured: Poured, site: ConcreteSite) -> Ordered:
    """The cheapest way for a site. A truck goes to one site; bags of several are put together by `merged`."""
    way = site.ways[0]
    row, by, truck = book.concrete[key(way.code)], buying(book, "concrete", way.code), way.how == BY_TRUCK
    pack = row.pack if truck else row.pack or Decimal(1)
    return Ordered(
        table="concrete",
        code=way.code,
        description=f"{way.description}, for {site.site}" if truck else way.description,
        colour="",
        supplier=by.supplier,
        supplier_code=by.code,
        needed=way.needed,
        quantity=way.quantity,
        unit=way.unit,
        pack=pack,
        packs=int(way.quantity / pack) if pack else None,
        price=way.price,
        per=way.unit,
        cost=way.goods,
        left_over=way.quantity - way.needed,
        billed=poured.use.line.cost,
        lead_days=_lead(book, by),
        words=f"{way.how}: {way.words}",
        lines=(poured.use.at,),
        sites=((site.site, way.needed),),
    )


def merged(book: RateBook, rows: Sequence[Ordered]) -> list[Ordered]:
    """Bags of all sites, and those that were typed, in whole bags together."""
    found: list[Ordered] = []
    at: dict[str, int] = {}
    for row in rows:
        bag = row.table == "concrete" and row.unit == "bag"
        if not bag or key(row.code) not in at:
            if bag:
                at[key(row.code)] = len(found)
            found.append(row)
            continue
        first = found[at[key(row.code)]]
        needed = first.needed + row.needed
        again = buy(
            needed, book.concrete[key(row.code)].price, first.pack, None, buying(book, "concrete", row.code).breaks
        )
        found[at[key(row.code)]] = replace(
            first,
            needed=needed,
            quantity=again.quantity,
            packs=again.packs,
            price=again.price,
            cost=again.cost,
            left_over=again.quantity - needed,
            billed=first.billed + row.billed,
            words=again.words,
            lines=(*first.lines, *row.lines),
            sites=(*first.sites, *row.sites),
        )
    return found
