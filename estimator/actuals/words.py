"""What was used and what is proposed, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from estimator.actuals.evidence import LABOUR
from estimator.actuals.propose import Proposal, Proposed, jobs_words
from estimator.pricing.model import PricedJob, Used
from estimator.pricing.used import after_job
from estimator.report.terms import terms_of
from estimator.report.words import money_words
from estimator.takeoff.lines import number

NOTHING = "no row is noted in the sheet Actuals"


def job_words(name: str, priced: PricedJob) -> list[str]:
    """What a job planned and used, row by row, and what is left of its price."""
    if not priced.used:
        return [f"{name}: {NOTHING}"]
    currency = terms_of(priced).currency
    after = after_job(priced)
    gap = "" if priced.totals.complete else f" (INCOMPLETE: without {', '.join(priced.totals.missing) or 'any site'})"
    return [
        f"{name}:",
        *(f"  {_used_words(u, currency)}" for u in priced.used),
        f"  cost in the price {money_words(after.cost, currency)}; hours {more_words(after.hours, currency)}, "
        f"quantities {more_words(after.quantities, currency)}; cost after the job "
        f"{money_words(after.cost_after, currency)}{gap}",
        f"  the price before tax, {money_words(after.price, currency)}, leaves "
        f"{money_words(after.left_after, currency)} over the cost; {money_words(after.left, currency)} were planned",
    ]


def more_words(amount: Decimal, currency: str) -> str:
    """A difference in words.

    >>> more_words(Decimal("12.00"), "EUR"), more_words(Decimal("-3.50"), "$"), more_words(Decimal(0), "$")
    ('EUR 12.00 more', '$3.50 less', 'as planned')
    """
    if not amount:
        return "as planned"
    return f"{money_words(abs(amount), currency)} {'more' if amount > 0 else 'less'}"


def _used_words(u: Used, currency: str) -> str:
    at = ", option ".join((u.site, u.option)) + ": " if u.site else ""
    unit = f" {u.unit}" if u.unit else ""
    planned = f"planned {number(float(u.planned_quantity))}{unit}" if u.planned else "not planned"
    counted = "" if u.counted else "; not chosen, so not counted below"
    more = more_words(u.used_cost - u.planned_cost, currency)
    return f"{at}{u.what}: {planned}, used {number(float(u.used))}{unit}, {more}{counted}"


def proposed_words(proposed: Proposed) -> list[str]:
    """The proposals, task by task."""
    if not proposed.proposals:
        return ["No hours were noted that a row of the rate book could learn from; nothing is proposed."]
    return [
        f"Rows for {proposed.since.isoformat()} and later; the weight of n jobs is n / (n + {proposed.worth:g}), the "
        "old hours keep the rest:",
        *(line for p in proposed.proposals for line in _proposal_words(p)),
    ]


def _proposal_words(p: Proposal) -> Iterator[str]:
    named = p.target.name if p.target.table == LABOUR else f"{p.target.table} {p.target.name}"
    if p.seen:
        yield (
            f"  {named}: {jobs_words(p.n)}, planned {number(p.planned, 2)} h by the present row, used "
            f"{number(p.used, 2)} h, ratio {p.used / p.planned:.3g}, weight {p.weight:.3g}"
        )
    else:
        yield f"  {named}: nothing to learn from"
    for job, why in p.left_out:
        yield f"    left out: {job}: {why}"
    for row in p.rows:
        yield f"    {row.what}: {number(row.old, 4)} now, {number(row.new, 4)} proposed"
    if p.seen and not p.rows:
        yield "    no row is proposed"


def last_words(proposed: Proposed, written: Sequence[tuple[str, str]]) -> list[str]:
    """What to do with the rows. written: table and file."""
    if written:
        return [
            f"Nothing is changed: add the rows of {file} to the table {table} to use them." for table, file in written
        ]
    if any(p.rows for p in proposed.proposals):
        return ["Nothing is changed; with --out FILE.csv the rows are written, to be added to the rate book."]
    return []
