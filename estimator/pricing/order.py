"""The order: everything that the chosen options need, pooled and rounded once, from whom it comes, and what it costs.

It takes the whole job as one purchase. The bill prices each option alone; both are shown, and how far apart they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.core.units import convert
from estimator.job.model import Job
from estimator.pricing.cutting import NotCut
from estimator.pricing.model import Bill, PricedOption
from estimator.pricing.order_concrete import compare, placed
from estimator.pricing.order_cut import Wanted, cut_all, kind_of
from estimator.pricing.order_model import ConcreteSite, Cutting, Order, Ordered
from estimator.pricing.order_pool import Pool, Poured, pools, uses
from estimator.pricing.order_rows import bought, buying, merged, of_concrete, of_plan
from estimator.pricing.order_supply import late, supplier_totals
from estimator.rates.model import Part, PostSection, RateBook

NOTHING = Decimal("0.00")
LEAST = Decimal("0.000001")  # m; shorter is nothing to cut


def make_order(
    job: Job, book: RateBook, options: Sequence[PricedOption], job_bill: Bill | None, missing: Sequence[str] = ()
) -> tuple[Order | None, list[Problem]]:
    """What to buy for the chosen, priced options and the whole job; None where that is nothing.

    missing: names of sites without a price, which the order then says it is without. Nothing of it changes a price, so
    its problems are warnings.
    """
    found, poured = uses(options, job_bill)
    if not found and not poured:
        return None, []
    concrete = _concrete(job, book, poured)
    rows: list[Ordered] = [of_concrete(book, p, site) for p, site in zip(poured, concrete, strict=True)]
    pooled = pools(book, found)
    several = len({o.site.name for o in options}) > 1
    to_cut = {n: w for n, p in enumerate(pooled) if (w := _wanted(book, p, several))}
    plans = dict(zip(to_cut, cut_all(list(to_cut.values())), strict=True))
    problems: list[Problem] = []
    for number, pool in enumerate(pooled):
        plan = plans.get(number)
        if isinstance(plan, Cutting):
            rows += of_plan(book, pool, plan)
            continue
        if isinstance(plan, NotCut):
            problems.append(_not_cut(book, pool, plan))
        rows.append(bought(book, pool))
    rows = sorted(merged(book, rows), key=lambda r: _place_of(book, r.supplier))
    suppliers = supplier_totals(job, book, rows)
    order = Order(
        rows=tuple(rows),
        suppliers=suppliers,
        cuttings=tuple(p for p in plans.values() if isinstance(p, Cutting)),
        concrete=tuple(concrete),
        goods=sum((r.cost for r in rows), NOTHING),
        delivery=sum((s.delivery for s in suppliers), NOTHING),
        billed=sum((r.billed for r in rows), NOTHING),
        missing=tuple(missing),
    )
    return order, [*problems, *late(job, suppliers)]


def _concrete(job: Job, book: RateBook, poured: Sequence[Poured]) -> list[ConcreteSite]:
    """Each site's ways to buy its concrete."""
    crew = job.header.crew or book.number("crew")
    day = job.header.hours_a_day or book.number("hours a day")
    return [compare(book, p.use.site, p.pour, placed(book, crew, day, p.pour.factor)) for p in poured]


def _wanted(book: RateBook, pool: Pool, several: bool) -> Wanted | None:
    """What has to be cut from stock lengths; None for what is not. Typed chain or rope is one piece.

    several: sites; the pieces then say whose they are.
    """
    row, line = pool.row, pool.line
    if not isinstance(row, Part | PostSection):
        return None
    by = buying(book, line.table, line.code)
    if not by.stock or (isinstance(row, PostSection) and not line.pieces):
        return None
    pieces: list[tuple[str, float]] = []
    for use in pool.uses:
        whose = f"{use.site}: " if several and use.site else ""
        typed = None if use.line.pieces else convert(use.needed, use.line.unit, "m")
        pieces += [(whose + name, length) for name, length in use.line.pieces if from_float(length) > LEAST]
        pieces += [(whose + use.line.description, float(typed))] if typed else []
    return Wanted(row, line.table, line.colour, tuple(pieces), by, book.known("saw kerf") or 0.0) if pieces else None


def _place_of(book: RateBook, supplier: str) -> tuple[int, str]:
    """Suppliers in the order of the rate book, then those it does not know by name, nobody last."""
    known = list(book.suppliers)
    if not supplier:
        return len(known) + 1, ""
    return (known.index(key(supplier)) if key(supplier) in known else len(known)), key(supplier)


def _not_cut(book: RateBook, pool: Pool, why: NotCut) -> Problem:
    by = buying(book, pool.line.table, pool.line.code)
    place = Place(book.name, pool.line.table, by.cell)
    return problem("order-not-cut", place, code=pool.line.code, what=kind_of(pool.row), why=why.words, site="?")
