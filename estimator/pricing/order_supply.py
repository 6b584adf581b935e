"""Suppliers of an order: their goods, the least they deliver, what delivery costs, by when they have to be asked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Job
from estimator.pricing.order_model import Ordered, SupplierTotal
from estimator.rates.model import RateBook

NOTHING = Decimal("0.00")
IN_THE_GROUND = ("posts", "concrete")  # tables of what the footings need


def supplier_totals(job: Job, book: RateBook, rows: Sequence[Ordered]) -> tuple[SupplierTotal, ...]:
    """One for each supplier of the rows, in their order."""
    by_name: dict[str, list[Ordered]] = {}
    for row in rows:
        by_name.setdefault(key(row.supplier), []).append(row)
    return tuple(_total(job, book, own) for own in by_name.values())


def _total(job: Job, book: RateBook, rows: Sequence[Ordered]) -> SupplierTotal:
    name = rows[0].supplier
    known = book.suppliers.get(key(name)) if name else None
    goods = sum((r.cost for r in rows), NOTHING)
    minimum = known.minimum if known else NOTHING
    free = known is None or (known.free_from is not None and goods >= known.free_from)
    leads = [r.lead_days for r in rows if r.lead_days is not None]
    lead = max(leads, default=None)
    stone = key(book.text("stone item"))
    footings = any(r.table in IN_THE_GROUND or key(r.code) == stone for r in rows)
    return SupplierTotal(
        name=name,
        goods=goods,
        minimum=minimum,
        short=max(NOTHING, minimum - goods),
        delivery=NOTHING if known is None or free else known.delivery,
        lead_days=lead,
        order_by=order_by(job.header.finish_by, lead, book.known("cure before hanging") or 0.0 if footings else 0.0),
        footings=footings,
    )


def order_by(finish: date | None, lead: int | None, cure: float) -> date | None:
    """The last day to order so that goods are there in time; None where a day or the lead is not known.

    cure: days that concrete rests between these goods and the end. Days of work are not taken off.

    >>> order_by(date(2026, 6, 30), 14, 7.0)
    datetime.date(2026, 6, 9)
    """
    return None if finish is None or lead is None else finish - timedelta(days=lead + int(-(-cure // 1)))


def late(job: Job, suppliers: Sequence[SupplierTotal]) -> list[Problem]:
    """Suppliers that cannot bring their goods in time, seen from the day of the price."""
    header = job.header
    return [
        problem(
            "order-late",
            header.source.place("Finish by"),
            name=s.name or "a supplier",
            lead=s.lead_days,
            cure=" and concrete rests before the sail is hung" if s.footings else "",
            order_by=s.order_by.isoformat(),
            finish=header.finish_by.isoformat() if header.finish_by else "",
            day=header.priced_on.isoformat(),
            site="?",
        )
        for s in suppliers
        if s.order_by is not None and s.order_by < header.priced_on
    ]
