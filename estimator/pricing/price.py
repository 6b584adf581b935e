"""Lines to a bill, bills to the totals of a job."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimator.job.model import Header
from estimator.pricing.charges import Step, profit_of, steps_for, take_charges
from estimator.pricing.model import Bill, JobTotals, PricedOption, Totals
from estimator.pricing.taxes import take_taxes
from estimator.rates.model import RateBook, Tax
from estimator.takeoff.model import Apart, Line

ZERO = Decimal("0.00")


def make_bill(
    book: RateBook, header: Header, lines: Sequence[Line], taxes: Sequence[Tax], margin: Decimal | None
) -> Bill:
    """A block of lines with its charges, taxes and totals."""
    return bill_of(lines, steps_for(book, header, margin), taxes, book.text("tax by") == "line")


def bill_of(lines: Sequence[Line], steps: Sequence[Step], taxes: Sequence[Tax], by_line: bool) -> Bill:
    """The same from steps and taxes alone."""
    cost = sum((line.cost for line in lines), ZERO)
    charges = take_charges(lines, steps)
    before = cost + sum((c.amount for c in charges), ZERO)
    taken, prices = take_taxes(lines, before, taxes, by_line)
    tax = sum((t.amount for t in taken), ZERO)
    margin, markup = profit_of(charges, before)
    return Bill(tuple(lines), charges, taken, Totals(cost, before, tax, before + tax, margin, markup), prices)


def apart_prices(
    book: RateBook, header: Header, apart: Sequence[Apart], taxes: Sequence[Tax], margin: Decimal | None
) -> tuple[tuple[Apart, Decimal], ...]:
    """Lines outside the total, each with its price with tax: charged like the rest, never rounded to a step."""
    steps = [s for s in steps_for(book, header, margin) if s.taken_on != "step"]
    return tuple((a, bill_of([a.line], steps, taxes, False).totals.price) for a in apart)


def job_totals(options: Sequence[PricedOption], job_bill: Bill | None, sites: Sequence[str]) -> JobTotals:
    """Sums over the chosen options that have a price, and the job's own lines; the sites that are missing."""
    counted = {o.site.name: o.bill for o in options if o.chosen and o.bill is not None}
    bills = [*counted.values(), *([job_bill] if job_bill else [])]
    missing = tuple(name for name in sites if name not in counted)

    def total(field: str) -> Decimal:
        return sum((getattr(b.totals, field) for b in bills), ZERO)

    return JobTotals(
        cost=total("cost"),
        price_before_tax=total("price_before_tax"),
        tax=total("tax"),
        price=total("price"),
        complete=not missing and bool(sites),
        missing=missing,
        nothing=not bills,
    )
