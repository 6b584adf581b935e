"""The block `Wind, indicative` of the sheet `Summary`: which part of each option is used up first, and what is told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import look
from estimator.report.look import RULE, Sheet
from estimator.report.table import Col, headings, line, section
from estimator.screening.limit import printed_gust, told_words
from estimator.screening.model import TakeDown

COLUMNS = (
    Col("Site"),
    Col("Option"),
    Col("Marked"),
    Col("Told to crew and customer (km/h)", "whole"),
    Col("First part used up"),
    Col("First", "speed"),
    Col("First", "km/h"),
    Col("First", "mph"),
    Col("Second", "speed"),
    Col("Second", "km/h"),
    Col("Second", "mph"),
)
SECOND = len(COLUMNS)  # its name runs over the free columns beside it
NOTE = (
    "For a structural engineer to confirm; the sheet Screening says how it came about. Only the first figure is told "
    "outside the office."
)


def write(sheet: Sheet, priced: PricedJob, row: int, widths: Sequence[float]) -> int:
    """Write the block at a row of a sheet with these widths. Gives the row after."""
    row = section(sheet, row, "Wind, indicative")
    if not any(o.screened for o in priced.options):
        told = told_words(priced.book, None)
        sheet.text(row, 0, f"No option is screened. Told to crew and customer is the firm's own limit: {told}.")
        return row + 1
    headings(sheet, row, (*COLUMNS, Col("Second part used up")), widths)
    for option in priced.options:
        row += 1
        style = line(sheet, row, COLUMNS, _row(priced, option), widths, top=1, top_color=RULE)
        down = option.screened.take_down if option.screened else None
        style = {**style, "indent": 1, "align": "left"}
        sheet.text(row, SECOND, down.second if down else "", **style)
        for free in range(SECOND + 1, len(widths)):
            sheet.blank(row, free, top=1, top_color=RULE)
    sheet.text(row + 1, 0, NOTE, font_color=look.FAINT)
    return row + 2


def _row(priced: PricedJob, option: PricedOption) -> list[Any]:
    told = printed_gust(priced.book, option.screened)
    head = [option.site.name, option.option.name, "chosen" if option.chosen else "", told or "none"]
    down = option.screened.take_down if option.screened else None
    if down is None:
        return [*head, "not known" if option.screened else "not screened", *[None] * 6]
    return [*head, _first(down), *[down.wind] * 3, *[down.second_wind] * 3]


def _first(down: TakeDown) -> str:
    if not down.reached:
        return f"nothing by the highest gust tried; most used: {down.first}" if down.first else "nothing"
    return down.first if down.wind else f"{down.first}, in still air"
