"""Our sheets of the priced workbook, as a workbook of their own that is then put into the user's."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.pricing.model import PricedJob
from estimator.report import (
    basis,
    bill,
    bill_tax,
    blocks,
    consent_sheet,
    corners,
    labour,
    look,
    order_sheet,
    posts,
    screening_sheet,
    setout,
    side_by_side,
    summary,
    tocheck,
    used_sheet,
)
from estimator.report.names import SHEETS, USED
from estimator.report.terms import terms_of

ORDERED = frozenset({"Corners", "Posts", "Consent", "Labour", "To check", "Basis"})


def render_sheets(
    priced: PricedJob, names: Mapping[str, str] | None = None, bill_rows: int = blocks.SHEET_ROWS, drawings: bool = True
) -> bytes:
    """Our sheets, in the order of `SHEETS`, with as many of the bill as it needs: the bytes of an .xlsx workbook.

    names: what a sheet is called, by our own name for it, where that differs; formulas follow.
    bill_rows: the most rows on one bill sheet; drawings: with them. The same job gives the same bytes.
    """
    names = names or {}
    header = priced.job.header
    book = look.start(terms_of(priced).currency, header.units, header.paper, header.priced_on)
    plan = blocks.plan(priced, names, bill_rows)
    first = look.add_sheet(book, "Summary", names)
    by_line = bool(bill_tax.line_taxes(plan))  # which are written beside lines that are long past
    bills = [look.add_sheet(book, name, names, ordered=not by_line) for name in plan.sheets]
    left_out = ("Summary", "Bill") if priced.used else ("Summary", "Bill", USED)
    rest = {name: look.add_sheet(book, name, names, ordered=name in ORDERED) for name in SHEETS if name not in left_out}
    summary.write(first, plan, priced)
    bill.write(bills, plan, priced)
    side_by_side.write(rest["Side by side"], plan, priced)
    corners.write(rest["Corners"], priced)
    posts.write(rest["Posts"], priced)
    screening_sheet.write(rest["Screening"], priced)
    consent_sheet.write(rest["Consent"], plan, priced)
    labour.write(rest["Labour"], priced)
    order_sheet.write(rest["Order"], plan, priced)
    if priced.used:
        used_sheet.write(rest[USED], plan, priced)
    setout.write(rest["Set-out"], priced, drawings=drawings)
    tocheck.write(rest["To check"], priced)
    basis.write(rest["Basis"], plan, priced)
    return look.finish(book)
