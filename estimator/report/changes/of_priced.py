"""A priced job as its workbook will print it, without writing one: so that it can be held against an earlier one."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.pricing.model import Bill, PricedJob, PricedOption
from estimator.report import basis
from estimator.report.changes.model import (
    Printed,
    PrintedBill,
    PrintedLine,
    PrintedOption,
    PrintedPoint,
    PrintedStep,
)
from estimator.report.side_facts import option_facts, whole_facts
from estimator.report.terms import terms_of


def of_priced(priced: PricedJob, file: str) -> Printed:
    """The same as `read_printed` gives of the workbook."""
    header = priced.job.header
    whole = None
    if priced.job_bill is not None or priced.job_apart:
        bill = printed_bill(priced.job_bill)
        facts = whole_facts(priced)
        whole = PrintedOption("", "", True, "", header.status, bill, facts, accepted=priced.job_accepted)
    rates = {
        (str(t), key(code), str(per)): _cell(rate) for t, code, rate, per, *_ in basis.rates(priced) if t != "Extras"
    }
    steps = {(str(t), str(name)): _cell(rate) for t, name, rate, *_ in basis.steps(priced.book)}
    settings = {str(n): f"{value} {unit}".strip() for _, n, value, unit, *_ in basis.settings(priced.book)}
    return Printed(
        file=file,
        job=header.name,
        revision=header.revision,
        day=header.priced_on,
        currency=terms_of(priced).currency,
        units=header.units,
        options=tuple(printed_option(priced, o) for o in priced.options),
        whole=whole,
        rates=rates,
        steps=steps,
        settings=settings,
    )


def _cell(value: Decimal) -> Decimal:
    """A figure as a cell holds it."""
    return from_float(float(value))


def printed_option(priced: PricedJob, o: PricedOption) -> PrintedOption:
    """One option as it will stand printed."""
    status = o.status if o.bill else "NOT PRICED"
    points = tuple(PrintedPoint(p.fixing, p.held_by, p.across, p.out, p.height) for p in o.taken.points)
    facts: Mapping[str, str] = option_facts(priced, o)
    return PrintedOption(
        o.site.name, o.option.name, o.chosen, status, o.quote_status, printed_bill(o.bill), facts, points, o.accepted
    )


def printed_bill(bill: Bill | None) -> PrintedBill | None:
    """A bill as its block will stand printed."""
    if bill is None:
        return None
    t = bill.totals
    return PrintedBill(
        tuple(
            PrintedLine(x.code, x.description, x.kind, _cell(x.quantity), x.unit, _cell(x.rate), x.cost)
            for x in bill.lines
        ),
        tuple(
            PrintedStep(
                c.step, c.taken_on if c.rate is not None else "", c.base, None if c.rate is None else _cell(c.rate),
                c.amount,
            )
            for c in bill.charges
        ),
        tuple(
            PrintedStep(
                x.name, "tax" if not x.kinds else "tax on " + ", ".join(x.kinds), x.base, _cell(x.rate), x.amount
            )
            for x in bill.taxes
        ),
        t.cost,
        t.price_before_tax,
        t.tax,
        t.price,
    )  # fmt: skip
