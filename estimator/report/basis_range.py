"""What the range of the price rests on, for the sheet `Basis`: the rule in words, and every low and high value used."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.pricing.model import PricedJob
from estimator.pricing.price_range import why_not
from estimator.report.look import Sheet
from estimator.report.table import Col, section, table

COLUMNS = (
    Col("Together with"),
    Col("What may come out otherwise"),
    Col("Low", "percent"),
    Col("High", "percent"),
    Col("Price as likely", "money"),
    Col("Source"),
)


def words(priced: PricedJob) -> str:
    """How the range came about, or why there is none."""
    found = priced.ranged
    if found is None:
        return why_not(priced)
    return (
        "Each low, likely and high value of the rate book is drawn from its beta-PERT distribution, with the mean "
        "(low + 4 likely + high) / 6 and the variance (mean - low)(high - mean) / 7; hours and the cost of an hour of "
        "one trade, and prices of one table, go together. The price moves with each by the charges and taxes on its "
        "kind. The contingency is a share of the cost, whatever its step is taken on."
    )


def write(sheet: Sheet, priced: PricedJob, row: int, widths: Sequence[float]) -> int:
    """The low and high values used, at a row. Gives the row after; the same row where there are none."""
    found = priced.ranged
    if found is None:
        return row
    values = [
        [r.group or "alone", r.name, r.low, r.high, r.weight, source]
        for r, source in zip(found.rows, found.sources, strict=True)
    ]
    return table(
        sheet, section(sheet, row, "Low and high values used, as shares of what is likely"), COLUMNS, values, 1, widths
    )
