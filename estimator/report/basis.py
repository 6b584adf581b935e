"""Sheet `Basis`: what the price rests on: rates and settings with day and source, rules, defaults, counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from estimator import __version__
from estimator.core.money import plain
from estimator.core.names import key
from estimator.pricing.model import PricedJob
from estimator.rates.model import Origin, RateBook
from estimator.report import basis_prices, basis_range, basis_read, look
from estimator.report.basis_rows import row_counts
from estimator.report.blocks import Plan
from estimator.report.look import Sheet
from estimator.report.reasons import said
from estimator.report.table import Col, section, table
from estimator.report.terms import terms_of
from estimator.report.words import lines_high
from estimator.takeoff.model import Line

WIDTHS = [16.0, 30.0, 14.0, 12.0, 13.0, 40.0, 11.0, 12.0]
RATES = (
    Col("Table"),
    Col("Code"),
    Col("Rate", "rate"),
    Col("Per"),
    Col("Holds from"),
    Col("Source"),
    Col("Price is"),
    Col("Held until"),
)
SETTINGS = (Col("Table"), Col("Setting"), Col("Value"), Col("Unit"), Col("Holds from"), Col("Source"))
STEPS = (Col("Table"), Col("Step"), Col("Rate", "percent"), Col("Taken on"), Col("Holds from"), Col("Source"))
COUNTS = (
    Col("Sheet"),
    Col("Why rows were ignored"),
    Col("Rows read", "whole"),
    Col("In a price", "whole"),
    Col("Rows ignored", "whole"),
)


def write(sheet: Sheet, plan: Plan, priced: PricedJob) -> None:
    """Write the sheet."""
    header, book = priced.job.header, priced.book
    look.page(sheet, look.OFFICE, header.name, WIDTHS, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Basis", len(WIDTHS) - 1)
    row = 3
    states = [o.status for o in priced.options]
    for label, value in (
        ("Rate book", book.name),
        ("Rates of", book.day.isoformat()),
        ("Engine", f"version {__version__}"),
        ("Options", ", ".join(f"{states.count(s)} {s}" for s in ("priced", "provisional", "not priced"))),
        ("Read from", priced.job.file.replace("\\", "/").rsplit("/", 1)[-1]),
    ):
        sheet.text(row, 0, label, font_color=look.FAINT)
        sheet.text(row, 1, value)
        row += 1
    row = _said(sheet, section(sheet, row + 1, "Rules"), _rules(priced))
    row = _said(sheet, section(sheet, row + 1, "Defaults used, because a cell was blank"), _defaults(priced))
    row = basis_prices.write(sheet, plan, priced, row, WIDTHS)
    row = table(sheet, section(sheet, row + 1, "Rates used"), RATES, rates(priced), 1, WIDTHS)
    row = basis_range.write(sheet, priced, row + 1, WIDTHS)
    row = table(sheet, section(sheet, row + 1, "From cost to price"), STEPS, steps(book), 1, WIDTHS)
    row = table(sheet, section(sheet, row + 1, "Settings"), SETTINGS, settings(book), 1, WIDTHS)
    row = table(sheet, section(sheet, row + 1, "Rows of the job workbook"), COUNTS, row_counts(priced), 0, WIDTHS)
    basis_read.write(sheet, priced.job.understood, row + 1, WIDTHS)


def _said(sheet: Sheet, row: int, values: list[tuple[str, str]]) -> int:
    """Two columns, the second over the rest of the page."""
    for name, words in values or [("none", "")]:
        sheet.text(row, 0, name, font_color=look.FAINT)
        sheet.across(row, 1, len(WIDTHS) - 1, words, text_wrap=True)
        sheet.height(row, lines_high(words, sum(WIDTHS[1:])))
        row += 1
    return row


def _rules(priced: PricedJob) -> list[tuple[str, str]]:
    used = dict.fromkeys(f.rule for o in priced.options for f in o.taken.footings)
    setting = priced.book.settings.get("footing rule")
    rules = [
        ("Sizes", "Corner sets, posts, holes and depths are chosen by size, never by load."),
        ("Strength", "Any figure of strength is screening: indicative, for an engineer to confirm."),
        ("Money", "Each line is rounded once, half up to the cent; totals add rounded lines."),
        ("Total", "The job total counts the chosen option of each site and the lines of the whole job."),
    ]
    if setting:
        words = f"By the setting: {setting.shown or setting.value}."
        rules.append(("Footing depth", words + (f" Used here: {', '.join(used)}." if used else "")))
    tax = priced.book.settings.get("tax by")
    if tax:
        rules.append(("Tax", f"By {tax.shown or tax.value}.{basis_prices.tax_words(priced)}"))
    if priced.job.header.tax_reason and priced.job.header.taxes == ():
        rules.append(("No tax", f"{priced.job.header.tax_reason.rstrip('.')}."))
    rules.append(("Payment", basis_prices.payment_words(priced, terms_of(priced).currency)))
    rules.append(("Range of the price", basis_range.words(priced)))
    return rules


def _defaults(priced: PricedJob) -> list[tuple[str, str]]:
    """Defaults of the Job sheet that can be seen from its blanks, then every note that says one aloud."""
    header, book = priced.job.header, priced.book
    charges = "the charges of the rate book"
    blanks: tuple[tuple[str, Any, str], ...] = (
        ("Margin", header.margin if header.margin is not None else header.markup, charges),
        ("Contingency", header.contingency, charges),
        (
            "Tax",
            header.taxes,
            "the usual taxes of the rate book: " + _listed(t.code for t in book.taxes.values() if t.usual),
        ),
        ("Crew", header.crew, "the setting: " + _shown(book, "crew")),
        ("Hours a day", header.hours_a_day, "the setting: " + _shown(book, "hours a day")),
        ("Valid for", header.valid_days, "the setting: " + _shown(book, "valid for")),
        ("Round price to", header.round_to, "the price is not rounded to a step"),
        ("Deposit", header.deposit, "the setting: " + _shown(book, "deposit")),
    )
    found = [(f"Job: {name}", f"{words}.") for name, value, words in blanks if value is None]
    notes = [(str(p.place), said(p)) for p in priced.problems if p.level == "note"]
    return found + list(dict.fromkeys(notes))


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or "none"


def _shown(book: RateBook, name: str) -> str:
    setting = book.settings.get(name)
    return f"{setting.shown or setting.value}" if setting else "none"  # as written, with its unit


def rates(priced: PricedJob) -> list[list[Any]]:
    """Every rate that a line uses, once, in the order of the tables met."""
    found: dict[tuple[str, str, Decimal], list[Any]] = {}
    for line in _lines(priced):
        at = (line.table, key(line.code), line.rate)
        if at not in found:
            row = origin(priced.book, line.table, line.code)
            since = _day(row.valid_from) if row else ""
            words = line.source or (row.source if row else "") or ("typed in Extras" if not line.table else "")
            name = line.code or line.description
            said = basis_prices.given(priced, line)
            found[at] = [line.table or "Extras", name, line.rate, line.unit, since, words, *said]
    return sorted(found.values(), key=lambda r: str(r[0]))


def _lines(priced: PricedJob) -> Iterable[Line]:
    for option in priced.options:
        yield from option.bill.lines if option.bill else ()
        yield from (a.line for a, _ in option.apart)
    yield from priced.job_bill.lines if priced.job_bill else ()
    yield from (a.line for a, _ in priced.job_apart)


def origin(book: RateBook, table_name: str, code: str) -> Origin | None:
    """Where the row of a code came from; None where the table has no such row."""
    rows = getattr(book, table_name.strip().casefold().replace(" ", "_"), None)
    row = rows.get(key(code)) if isinstance(rows, Mapping) else None
    return getattr(row, "origin", None)


def _day(day: date | None) -> str:
    return day.isoformat() if day else "always"


def steps(book: RateBook) -> list[list[Any]]:
    """The charges and taxes of the rate book."""
    charges = [
        ["charges", c.step, c.rate, c.taken_on, _day(c.origin.valid_from), c.origin.source] for c in book.charges
    ]
    taxes = [
        [
            "taxes",
            f"{t.code} {t.name}",
            t.rate,
            _listed(t.kinds) if t.kinds else "all",
            _day(t.origin.valid_from),
            t.origin.source,
        ]
        for t in book.taxes.values()
    ]
    return charges + taxes


def settings(book: RateBook) -> list[list[Any]]:
    """The settings of the rate book, as they are shown."""
    return [
        ["settings", s.name, s.shown or _value(s.value), s.unit, _day(s.origin.valid_from), s.origin.source]
        for s in book.settings.values()
    ]


def _value(value: float | str) -> str:
    return value if isinstance(value, str) else plain(Decimal(f"{value:.15g}"))
