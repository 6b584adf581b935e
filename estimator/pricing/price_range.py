"""What the chosen options and the lines of the whole job may come to: all that varies, drawn together.

The price is linear in every quantity and rate as long as the other ones stay as likely; what two of them make of each
other, whole packs and days, and rounding to a step are left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from estimator.core.money import cents, from_float
from estimator.core.names import key
from estimator.pricing.chance import Spread, Uncertain, contingency_for, simulate_all
from estimator.pricing.charges import CONTINGENCY, DISCOUNT, KINDS, PROFIT, ROUNDING
from estimator.pricing.model import Bill, PricedJob, PriceRange
from estimator.rates.model import RateBook
from estimator.takeoff.lines import source_of
from estimator.takeoff.model import Line, Varies

ZERO = Decimal(0)
SETTINGS = ("range seed", "range draws", "range correlation", "range chance")
PRICED_BY = ("items", "posts", "cloths")  # tables whose rows may say how far their price can come out otherwise


def price_range(priced: PricedJob) -> PriceRange | None:
    """The range of a priced job; None where `why_not` has a reason."""
    if why_not(priced):
        return None
    bills, book = counted(priced), priced.book
    seed, draws, correlation, chance = (book.known(name) or 0.0 for name in SETTINGS)
    rows, sources, sums = _rows_and_sums(book, bills)
    drawn = simulate_all(rows, sums, int(draws), int(seed), correlation)
    spreads = [s for s in drawn if isinstance(s, Spread)]
    if len(spreads) != len(sums):
        return None
    cost, before_tax, price = spreads
    whole = sums[0][0]
    held = _steps(bills, (CONTINGENCY,))
    justified = contingency_for(cost, whole, chance)
    return PriceRange(
        cost=cost,
        before_tax=before_tax,
        price=price,
        rows=rows,
        sources=sources,
        seed=int(seed),
        draws=int(draws),
        correlation=correlation,
        chance=chance,
        contingency=held,
        justified=None if justified is None else cents(justified * whole),
        enough=cost.chance(whole + held),
        covered=cost.chance(whole + held + _steps(bills, (*PROFIT, DISCOUNT, ROUNDING))),
    )


def why_not(priced: PricedJob) -> str:
    """Why a job has no range, in words; blank where it has one."""
    book = priced.book
    if priced.totals.nothing:
        return "Nothing that is chosen has a price."
    if not _has_ends(book):
        return "No row of the rate book has a low or high value, so the price has no range."
    missing = [name for name in SETTINGS if book.known(name) is None]
    if missing:
        word = "setting" if len(missing) == 1 else "settings"
        return f"The rate book lacks the {word} {', '.join(missing)}, so the price has no range."
    if not any(True for bill in counted(priced) for line in bill.lines for _ in _varying(book, line)):
        return "Nothing that this job uses has a low or high value in the rate book, so the price has no range."
    return ""


def counted(priced: PricedJob) -> list[Bill]:
    """The bills that the job's totals add up."""
    chosen = {o.site.name: o.bill for o in priced.options if o.chosen and o.bill is not None}
    return [*chosen.values(), *([priced.job_bill] if priced.job_bill else [])]


def before_tax_factor(bill: Bill, kind: str) -> Decimal:
    """What the price before tax goes up by for each money of cost of a kind, through the charges; without rounding.

    Source: each step is a rate on a sum that the cost is part of; on the price it is rate / (1 - rate) of it.
    """
    running = Decimal(1)
    for charge in bill.charges:
        if charge.rate is None:
            continue
        if charge.taken_on == "price":
            running += running * charge.rate / (1 - charge.rate)
        elif charge.taken_on == "running":
            running += running * charge.rate
        elif charge.taken_on == "cost" or KINDS.get(charge.taken_on, charge.taken_on) == kind:
            running += charge.rate
    return running


def price_factor(bill: Bill, kind: str) -> Decimal:
    """The same for the price with tax. Of a tax on some kinds only, near the price as it is: its base is the part of
    the price that they have in the cost, and that part moves too."""
    before, cost = before_tax_factor(bill, kind), bill.totals.cost
    found = before
    for tax in bill.taxes:
        if not tax.kinds:
            found += tax.rate * before
        elif cost:
            part = sum((line.cost for line in bill.lines if line.kind in tax.kinds), ZERO) / cost
            moved = bill.totals.price_before_tax * ((kind in tax.kinds) - part) / cost
            found += tax.rate * (before * part + moved)
    return found


def _rows_and_sums(
    book: RateBook, bills: Sequence[Bill]
) -> tuple[tuple[Uncertain, ...], tuple[str, ...], list[tuple[Decimal, list[Decimal]]]]:
    """What varies, each once over the whole job as a share of what is likely; where its low and high come from; cost,
    price before tax and price, each with the money that all of a row makes of it."""
    found: dict[Varies, list[Decimal]] = {}
    for bill in bills:
        factors: dict[str, tuple[Decimal, Decimal, Decimal]] = {}
        for line in bill.lines:
            for v in _varying(book, line):
                if line.kind not in factors:
                    before, price = before_tax_factor(bill, line.kind), price_factor(bill, line.kind)
                    factors[line.kind] = (Decimal(1), before, price)
                money = line.quantity * line.rate * from_float(v.share)
                weights = found.setdefault(_whole(v), [ZERO, ZERO, ZERO])
                for n, factor in enumerate(factors[line.kind]):
                    weights[n] += money * factor
    rows = tuple(Uncertain(v.name, v.low, 1.0, v.high, w[2], v.group) for v, w in found.items())
    totals = [b.totals for b in bills]
    bases = (
        sum((t.cost for t in totals), ZERO),
        sum((t.price_before_tax for t in totals), ZERO),
        sum((t.price for t in totals), ZERO),
    )
    return (
        rows,
        tuple(v.source for v in found),
        [(base, [w[n] for w in found.values()]) for n, base in enumerate(bases)],
    )


def _whole(v: Varies) -> Varies:
    return Varies(v.name, 1.0, v.low, v.high, v.group, v.source)


def _varying(book: RateBook, line: Line) -> Iterator[Varies]:
    """What of a line may come out otherwise: as the take-off says, and its price where the rate book says so."""
    yield from (v for v in line.varies if v.low < v.high)
    if line.table in PRICED_BY:
        row = getattr(book, line.table).get(key(line.code))
        if row is not None and row.ends is not None and row.ends.low < row.ends.high:
            name = f"{row.description or row.code}, price"
            yield Varies(name, 1.0, row.ends.low, row.ends.high, f"prices of {line.table}", source_of(row.origin))


def _has_ends(book: RateBook) -> bool:
    tables = (*(getattr(book, table).values() for table in (*PRICED_BY, "ground", "trades")), book.labour)
    on_the_way = any(book.known(name) not in (None, 1.0) for name in ("travel low", "travel high"))
    return on_the_way or any(row.ends is not None for rows in tables for row in rows)


def _steps(bills: Sequence[Bill], names: Sequence[str]) -> Decimal:
    return sum((c.amount for b in bills for c in b.charges if key(c.step) in names), ZERO)
