"""Pages for the crew: how wide and high they are, what stays together on them, pictures over their rows."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.words import lines_high

WIDTHS = [10.5, 14.0, 10.0, 10.0, 10.0, 10.0, 13.0]
LAST = len(WIDTHS) - 1
PAGE_HIGH = {"letter": 678.0}  # points between head and foot of a page; A4 otherwise
A4_HIGH, TITLE_HIGH = 728.0, 40.0


def page_high(priced: PricedJob) -> float:
    """Points that fit on a page of the job's paper, with a little to spare."""
    return PAGE_HIGH.get(priced.job.header.paper.casefold(), A4_HIGH)


def keep_together(sheet: Sheet, starts: Sequence[int], end: int, page: float, used: float = 0.0) -> list[int]:
    """Rows that have to start a page so that blocks stay whole. starts: first row of each block; used: points of the
    page that are taken before the first of them."""
    breaks: list[int] = []
    for begin, stop in zip(starts, [*starts[1:], end], strict=True):
        need = high(sheet, begin, stop)
        if used and used + need > page:
            breaks.append(begin)
            used = 0.0
        used += need
    return breaks


def high(sheet: Sheet, first: int, end: int) -> float:
    """Points that rows take."""
    return sheet.tall(first, end - 1) * 0.75


def place_picture(sheet: Sheet, row: int, rows: int, tall: float, png: bytes, words: str) -> None:
    """A picture over some rows of equal height. tall: points that all of them take."""
    for n in range(rows):
        sheet.gap(row + n, tall / rows)
    how = {"image_data": BytesIO(png), "object_position": 2, "description": look.clean(words)[:200], "y_offset": 3}
    sheet.picture(row, "drawing.png", how)


def note(sheet: Sheet, row: int, words: str, **style: Any) -> int:
    """A sentence over the page. Gives the row after."""
    sheet.across(row, 0, LAST, words, text_wrap=True, **style)
    sheet.height(row, lines_high(words, sum(WIDTHS) - 2))
    return row + 1


def small_heading(sheet: Sheet, row: int, words: str) -> int:
    """A heading over a table. Gives the row after."""
    sheet.text(row, 0, words, bold=True)
    sheet.height(row, 16.5)
    return row + 1
