"""Sheet `Set-out`: what the crew needs on site, option by option: a drawing, then tables. No money on it.

The columns leave room on the paper, so that fitting them to its width does not shrink the drawing and its scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.setout_blocks import blocks, crew_notes
from estimator.report.setout_page import LAST, TITLE_HIGH, WIDTHS, high, keep_together, note, page_high, place_picture
from estimator.report.table import section

BESIDE = 9.8  # one column more, so that the drawing ends where it does: a page is fitted to whole columns
ALL_DRAWN, MOST_DRAWN = 50, 100  # options that are all drawn; chosen ones drawn at most
GAP = 7.0  # points between tables
LEAST_DRAWING = 320.0  # points: a drawing is not squeezed under this to save a page
POINT = 25.4 / 72
AXES = "Stand at the datum with your back to the house: Across is to your right, Out is straight ahead, Height is up."


def write(
    sheet: Sheet,
    priced: PricedJob,
    options: Sequence[PricedOption] | None = None,
    *,
    repeat: bool = True,
    drawings: bool = True,
) -> None:
    """Write the sheet: a page or more for each option that has been taken off.

    options: only these; repeat: the first rows stand on every page, which takes a name in the workbook;
    drawings: with them.
    """
    header = priced.job.header
    options = priced.options if options is None else options
    look.page(sheet, look.CREW, header.name, [*WIDTHS, BESIDE], landscape=False, frozen=2 if repeat else 0)
    sheet.ws.set_margins(left=0.5, right=0.5, top=0.75, bottom=0.7)  # the drawing keeps its scale in every program
    look.title(sheet, look.CREW, "Set-out", LAST)
    drawn = {id(o) for o in to_draw(options)} if drawings else set()
    page = page_high(priced) - (TITLE_HIGH if repeat else 0.0)
    row, breaks = 3, []
    for option in options:
        if not option.taken.points:
            continue
        if row > 3:
            breaks.append(row)
        row, more = _option(sheet, priced, option, row, page, drawn=id(option) in drawn)
        breaks += more
        sheet.settle()
    if row == 3:
        sheet.text(row, 0, "Nothing could be set out yet.", font_color=look.FAINT)
    sheet.ws.set_h_pagebreaks(breaks[:1000])


def to_draw(options: Sequence[PricedOption]) -> list[PricedOption]:
    """Options that get a drawing: those with sails; of very many only the chosen ones."""
    found = [o for o in options if o.taken.sails]
    return found if len(found) <= ALL_DRAWN else [o for o in found if o.chosen][:MOST_DRAWN]


def _option(
    sheet: Sheet, priced: PricedJob, option: PricedOption, row: int, page: float, *, drawn: bool
) -> tuple[int, list[int]]:
    """One option. Gives the row after, and rows that start a new page."""
    first = row
    whole = page
    page -= TITLE_HIGH if row == 3 and whole > page_high(priced) - TITLE_HIGH else 0.0  # a repeated title is counted
    mark = ", chosen" if option.chosen else ""
    row = section(sheet, row, f"{option.site.name}: option {option.option.name}{mark}")
    for words in (AXES, *crew_notes(priced, option)):
        row = note(sheet, row, words)
    used = high(sheet, first, row)
    picture_row = row
    row += picture_rows(page - used) if drawn else 0
    starts, start = [], row
    for block in blocks(priced, option):
        starts.append(row)
        row = block(sheet, row) + 1
        sheet.gap(row - 1, GAP)
    tall = high(sheet, start, row)
    breaks: list[int] = []
    if drawn:
        beside = page - used - tall  # what is left on a page that holds drawing and tables
        room = beside if beside >= LEAST_DRAWING else page - used - 6
        taken = _draw(sheet, priced, option, picture_row, start, room)
        if beside < LEAST_DRAWING or taken > beside:
            breaks.append(start)
            used = 0.0
            page = whole
        else:
            used += taken
    return row, [*breaks, *keep_together(sheet, starts, row, page, used)]


def picture_rows(room: float) -> int:
    """How many rows are kept for a picture; a row holds at most 409 points."""
    return max(ceil(room / 300), 1)


def _draw(sheet: Sheet, priced: PricedJob, option: PricedOption, row: int, after: int, room: float) -> float:
    """The drawing over the rows kept for it. room: points. Gives the points it takes."""
    from estimator.report import drawing
    from estimator.report.drawing_paper import size_of

    wide = drawing.WIDE
    png = drawing.plan_and_elevation(priced, option, (wide, max(min(room, 690.0) - 8, 200.0) * POINT))
    tall = size_of(png)[1] / POINT + 8
    place_picture(sheet, row, after - row, tall, png, f"Plan and elevation of {option.option.name}")
    return tall
