"""Sheet `Job`: one item a row."""

from __future__ import annotations

from datetime import date

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Header
from estimator.job.rows import Read, understood, with_source
from estimator.sheets.cells import Book
from estimator.sheets.columns import JOB
from estimator.sheets.grammar import Context
from estimator.sheets.reader import Row, read_items


def read_header(book: Book, file: str, today: date) -> tuple[Header, Context, list[Problem]]:
    """The header with its defaults said aloud, and how numbers of the other sheets are meant."""
    first, _ = read_items(book, JOB, Context())
    context = Context(
        units=str(first.values.get("Units") or "metric"), decimal_mark=str(first.values.get("Decimal mark") or "")
    )
    row, found = read_items(book, JOB, context)
    read = with_source(row, file)
    problems = [*found, *row.problems]
    problems += _said(read)
    margin, markup = read.decimal("Margin"), read.decimal("Markup")
    if margin is not None and markup is not None:
        problems.append(problem("margin-and-markup", read.place("Markup"), margin=read.place("Margin").cell))
    priced_on = read.get("Priced on")
    if priced_on is None:
        priced_on = today
        if read.usable("Priced on"):
            problems.append(problem("priced-today", read.place("Priced on"), day=today.isoformat()))
    return (
        Header(
            name=read.text("Job name"),
            reference=read.text("Reference"),
            revision=int(read.number("Revision") or 1),
            customer=read.text("Customer"),
            customer_is=read.text("Customer is"),
            customer_address=read.text("Customer address"),
            customer_email=read.text("Customer email"),
            site_contact=read.text("Site contact"),
            prepared_by=read.text("Prepared by"),
            priced_on=priced_on,
            valid_days=_whole(read, "Valid for"),
            status=read.text("Status") or "budget",
            place=read.text("Place"),
            units=context.units,
            paper=read.text("Paper") or "A4",
            currency=read.text("Currency"),
            taxes=_taxes(row),
            prices_shown=read.text("Prices shown") or "with tax",
            margin=margin,
            markup=markup,
            contingency=read.decimal("Contingency"),
            discount=read.decimal("Discount"),
            deposit=read.decimal("Deposit"),
            round_to=read.decimal("Round price to"),
            crew=read.number("Crew"),
            hours_a_day=read.number("Hours a day"),
            notes=read.text("Notes"),
            source=read.source,
            rates=read.text("Rates"),
            finish_by=read.get("Finish by"),
            tax_reason=read.text("Tax reason"),
            off_site=bool(read.get("Made off site")),
            understood=understood(JOB, row),
        ),
        context,
        problems,
    )


def _whole(read: Read, column: str) -> int | None:
    value = read.number(column)
    return None if value is None else int(value)


def _taxes(row: Row) -> tuple[str, ...] | None:
    codes = row.values.get("Tax")
    if not codes:
        return None
    assert isinstance(codes, tuple | list)
    return () if [key(c) for c in codes] in (["none"], ["no"], ["0"]) else tuple(str(c) for c in codes)


def _said(read: Read) -> list[Problem]:
    """The defaults that were taken, in one note."""
    taken = [
        f"{item}: {value}"
        for item, value in (("Status", "budget"), ("Units", "metric"), ("Paper", "A4"), ("Prices shown", "with tax"))
        if read.get(item) is None and read.usable(item)
    ]
    return [problem("job-defaults", read.place("Job name"), taken="; ".join(taken))] if taken else []
