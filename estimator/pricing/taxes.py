"""Taxes on the kinds they fall on, on the total or line by line."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimator.core.money import cents, plain, share_out
from estimator.core.names import key
from estimator.core.problems import Problem, did_you_mean, problem
from estimator.job.model import Header
from estimator.pricing.model import Bill, TaxTaken
from estimator.rates.model import Origin, RateBook, Tax
from estimator.takeoff.model import Line

ZERO = Decimal("0.00")


def taxes_for(book: RateBook, header: Header) -> tuple[list[Tax], list[Problem]]:
    """The taxes of a job: those it names, else the usual ones of the book, which is said aloud."""
    place = header.source.place("Tax")
    if header.taxes is None:
        usual = [t for t in book.taxes.values() if t.usual]
        words = ", ".join(f"{t.code} {plain(t.rate * 100)} %" for t in usual) or "none"
        return usual, [problem("tax-usual", place, taken=words), *_unused(header)]
    found, problems = [], []
    for code in header.taxes:
        tax = book.taxes.get(key(code))
        if tax is None:
            known = [t.code for t in book.taxes.values()]
            problems.append(
                problem("not-in-rate-book", place, found=code, what="Tax", table="taxes",
                        allowed=", ".join(known) or "no rows in force on the job's day", hint=did_you_mean(code, known))
            )  # fmt: skip
        elif tax not in found:
            found.append(tax)
    if not header.taxes and not header.tax_reason:
        problems.append(problem("tax-none", place))
    return found, [*problems, *(_unused(header) if header.taxes else [])]


def _unused(header: Header) -> list[Problem]:
    """A reason for no tax where a tax is taken."""
    return [problem("tax-reason-unused", header.source.place("Tax reason"))] if header.tax_reason else []


def take_taxes(
    lines: Sequence[Line], price_before_tax: Decimal, taxes: Sequence[Tax], by_line: bool
) -> tuple[tuple[TaxTaken, ...], tuple[Decimal, ...]]:
    """Each tax, and the price before tax shared over the lines where tax is taken line by line.

    On the total: the base is the part of the price that the kinds have in the cost. Both ways are legal
    (for instance section 9-90 of the Australian act of 1999): they can differ by cents.
    """
    cost = sum((line.cost for line in lines), ZERO)
    prices = tuple(share_out(price_before_tax, [line.cost for line in lines])) if by_line else ()
    taken = []
    for tax in taxes:
        kinds = tuple(key(k) for k in tax.kinds)
        if by_line:
            each = tuple(
                cents(p * tax.rate) if not kinds or line.kind in kinds else ZERO
                for p, line in zip(prices, lines, strict=True)
            )
            base = sum((p for p, line in zip(prices, lines, strict=True) if not kinds or line.kind in kinds), ZERO)
            taken.append(TaxTaken(tax.code, tax.name, base, tax.rate, sum(each, ZERO), each, kinds))
            continue
        base = price_before_tax
        if kinds:
            part = sum((line.cost for line in lines if line.kind in kinds), ZERO)
            base = cents(price_before_tax * part / cost) if cost else ZERO
        taken.append(TaxTaken(tax.code, tax.name, base, tax.rate, cents(base * tax.rate), (), kinds))
    return tuple(taken), prices


def other_way(bill: Bill) -> Decimal:
    """The tax of a bill were it taken the other way: on the total instead of line by line, or line by line."""
    by_line = not any(t.by_line for t in bill.taxes)
    taxes = [Tax(t.code, t.name, t.rate, t.kinds, True, Origin("taxes", 0)) for t in bill.taxes]
    taken, _ = take_taxes(bill.lines, bill.totals.price_before_tax, taxes, by_line)
    return sum((t.amount for t in taken), ZERO)
