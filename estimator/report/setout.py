"""Sheet `Set-out`: what the crew needs on site, option by option: a drawing, then tables. No money on it.

The columns leave room on the paper, so that fitting them to its width does not shrink the drawing and its scale.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO
from math import ceil
from typing import Any

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import crew_tables, look
from estimator.report.look import Sheet
from estimator.report.table import Col, section, table
from estimator.report.words import lines_high, short_length

WIDTHS = [10.5, 14.0, 10.0, 10.0, 10.0, 10.0, 13.0]
LAST = len(WIDTHS) - 1
BESIDE = 9.8  # one column more, so that the drawing ends where it does: a page is fitted to whole columns
ALL_DRAWN, MOST_DRAWN = 50, 100  # options that are all drawn; chosen ones drawn at most
PAGE_HIGH = {"letter": 678.0}  # points between head and foot of a page; A4 otherwise
A4_HIGH, TITLE_HIGH = 728.0, 40.0
GAP = 7.0  # points between tables
LEAST_DRAWING = 320.0  # points: a drawing is not squeezed under this to save a page
POINT = 25.4 / 72
POINTS = (
    Col("Fixing"),
    Col("Held by"),
    Col("Across", "length"),
    Col("Out", "length"),
    Col("Height", "length"),
    Col("Ground", "length"),
    Col("To ground", "length"),
)
TAPES = (
    Col("Hole of"),
    Col("Tapes from"),
    Col("Tape 1", "length"),
    Col("Tape 2", "length"),
    Col("Across", "length"),
    Col("Out", "length"),
    Col("Side"),
)
HOLES = (
    Col("Hole of"),
    Col("Base layers"),
    Col("Diameter", "length"),
    Col("Deep", "length"),
    Col("Post in", "length"),
    Col("Lean", "angle"),
    Col("Leans to"),
)
CUTS = (
    Col("Post"),
    Col("Section"),
    Col("Cut to", "length"),
    Col("Above", "length"),
    Col("Below", "length"),
    Col("Stock", "length"),
    Col("Stands"),
)
DISTANCES = (
    Col("Between"),
    Col("Direct", "length"),
    Col("Level", "length"),
    Col(""),
    Col("Between"),
    Col("Direct", "length"),
    Col("Level", "length"),
)
MARKS = (Col("Mark"), Col("Wall"), Col("From start", "length"), Col("From end", "length"), Col("Height", "length"))
CORNERS = (
    Col("Fixing"),
    Col("Hung by"),
    Col("Gap", "length"),
    Col("Cut", "length"),
    Col("Take up", "length"),
    Col("Left", "length"),
    Col("Hook on"),
)
TAPED = (Col("From"), Col("To"), Col("Taped", "length"), Col("Off", "length"))

SERVICES = {
    "": "have buried services located; nothing is known of them",
    "none": "no buried services are said to be there; look before each hole",
    "plans": "buried services are known from plans only; have them located",
    "located": "buried services are located; keep to the marks",
    "exposed": "buried services have been exposed; keep clear of them",
}
AXES = "Stand at the datum with your back to the house: Across is to your right, Out is straight ahead, Height is up."
Block = Callable[[Sheet, int], int]


def write(
    sheet: Sheet, priced: PricedJob, options: Sequence[PricedOption] | None = None, *, repeat: bool = True
) -> None:
    """Write the sheet: a page or more for each option that has been taken off.

    options: only these; repeat: the first rows stand on every page, which takes a name in the workbook.
    """
    header = priced.job.header
    options = priced.options if options is None else options
    look.page(sheet, look.CREW, header.name, [*WIDTHS, BESIDE], landscape=False, frozen=2 if repeat else 0)
    sheet.ws.set_margins(left=0.5, right=0.5, top=0.75, bottom=0.7)  # the drawing keeps its scale in every program
    look.title(sheet, look.CREW, "Set-out", LAST)
    drawn = {id(o) for o in to_draw(options)}
    page = page_high(priced) - (TITLE_HIGH if repeat else 0.0)
    row, breaks = 3, []
    for option in options:
        if not option.taken.points:
            continue
        if row > 3:
            breaks.append(row)
        row, more = _option(sheet, priced, option, row, page, drawn=id(option) in drawn)
        breaks += more
    if row == 3:
        sheet.text(row, 0, "Nothing could be set out yet.", font_color=look.FAINT)
    sheet.ws.set_h_pagebreaks(breaks[:1000])


def to_draw(options: Sequence[PricedOption]) -> list[PricedOption]:
    """Options that get a drawing: those with sails; of very many only the chosen ones."""
    found = [o for o in options if o.taken.sails]
    return found if len(found) <= ALL_DRAWN else [o for o in found if o.chosen][:MOST_DRAWN]


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


def _option(
    sheet: Sheet, priced: PricedJob, option: PricedOption, row: int, page: float, *, drawn: bool
) -> tuple[int, list[int]]:
    """One option. Gives the row after, and rows that start a new page."""
    first = row
    whole = page
    page -= TITLE_HIGH if row == 3 and whole > page_high(priced) - TITLE_HIGH else 0.0  # a repeated title is counted
    mark = ", chosen" if option.chosen else ""
    row = section(sheet, row, f"{option.site.name}: option {option.option.name}{mark}")
    for words in (AXES, *_crew_notes(priced, option)):
        row = note(sheet, row, words)
    used = high(sheet, first, row)
    picture_row = row
    row += picture_rows(page - used) if drawn else 0
    starts, start = [], row
    for block in _blocks(priced, option):
        starts.append(row)
        row = block(sheet, row) + 1
        sheet.height(row - 1, GAP)
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


def place_picture(sheet: Sheet, row: int, rows: int, tall: float, png: bytes, words: str) -> None:
    """A picture over some rows of equal height. tall: points that all of them take."""
    for n in range(rows):
        sheet.height(row + n, tall / rows)
    how = {"image_data": BytesIO(png), "object_position": 2, "description": look.clean(words)[:200], "y_offset": 3}
    sheet.ws.insert_image(row, 0, "drawing.png", how)


def high(sheet: Sheet, first: int, end: int) -> float:
    """Points that rows take."""
    sizes = sheet.ws.row_sizes
    return float(sum(sizes[r][0] * 0.75 if r in sizes else 15.0 for r in range(first, end)))


def note(sheet: Sheet, row: int, words: str, **style: Any) -> int:
    """A sentence over the page. Gives the row after."""
    sheet.across(row, 0, LAST, words, text_wrap=True, **style)
    sheet.height(row, lines_high(words, sum(WIDTHS) - 2))
    return row + 1


def _crew_notes(priced: PricedJob, option: PricedOption) -> list[str]:
    used = {key(p.fixing) for p in option.taken.points}
    fixings = priced.job.fixings.get(option.site.name, ())
    notes = [option.site.for_crew, *(f"{f.name}: {f.for_crew}" for f in fixings if f.for_crew and key(f.name) in used)]
    before = "" if not option.taken.footings else f"Before digging: {SERVICES.get(option.site.services, SERVICES[''])}."
    survey = priced.surveys.get(option.site.name)
    return [n for n in (*notes, before, survey.mirror if survey else "") if n]


def _blocks(priced: PricedJob, option: PricedOption) -> list[Block]:
    """The tables and lists of an option, in the order of the work."""
    taken, units = option.taken, priced.job.header.units
    points = [
        [p.fixing, _held(p.held_by, p.post_name, p.fixing), p.across, p.out, p.height, p.ground, p.height - p.ground]
        for p in taken.points
    ]
    found = [_table("Fixings, heights above the datum", POINTS, points)]
    level = {key(p.fixing): p.height for p in taken.points}
    marks = [[n, w.wall, start, end, level.get(key(n))] for w in taken.marks for n, start, end, _ in w.marks]
    if marks:
        found.append(_table("Marks on the wall, measured from both of its ends", MARKS, marks))
    if taken.footings:
        tapes = [
            [t.post_name, t.marks, t.first, t.second, t.across, t.out, t.side]
            for t in crew_tables.tapes(priced, option)
        ]
        found.append(
            _table(
                "Centre of each hole: two tapes held level; the side as seen from the first mark to the second",
                TAPES,
                tapes,
            )
        )
        check = [f"{a} to {b} {show_length(d, units)}" for a, b, d in crew_tables.hole_pairs(option)]
        if check:
            words = "Check before digging, level, from centre to centre: " + "; ".join(check) + "."
            found.append(_list("", [words]))
        found.append(_table("Holes", HOLES, _holes(option, units)))
    if taken.posts:
        found.append(_table("Posts", CUTS, _cuts(option)))
    pairs = [[f"{a}, {b}", straight, level] for a, b, straight, level in crew_tables.fixing_pairs(option)]
    beside: list[list[Any]] = [*pairs[(len(pairs) + 1) // 2 :], ["", None, None]]
    distances = [[*pair, "", *beside[n]] for n, pair in enumerate(pairs[: (len(pairs) + 1) // 2])]
    found.append(_table("From fixing to fixing, to check by when the posts stand", DISTANCES, distances))
    if taken.corners:
        found.append(_table("Corners; links are counted from the fixing", CORNERS, _corners(option)))
    drills = crew_tables.drills(priced, option)
    if drills:
        found.append(_list("Drill", drills))
    order = crew_tables.tightening(option)
    if order:
        found.append(_list("Order of tightening", order))
    survey = priced.surveys.get(option.site.name)
    if survey:
        rows: list[list[Any]] = [[n.start, n.end, n.length, _off(n.residual, units)] for n in survey.lines]
        found.append(
            _table(
                "The tape, and how far each line is off the figure drawn", TAPED, rows, f"The tape: {survey.verdict}."
            )
        )
    return found


def _table(words: str, columns: Sequence[Col], rows: Sequence[Sequence[Any]], under: str = "") -> Block:
    def draw(sheet: Sheet, row: int) -> int:
        row = small_heading(sheet, row, words)
        row = table(sheet, row, columns, rows, 0, WIDTHS)
        return note(sheet, row, under) if under else row

    return draw


def _list(words: str, lines: Sequence[str]) -> Block:
    def draw(sheet: Sheet, row: int) -> int:
        row = small_heading(sheet, row, words) if words else row
        for text in lines:
            row = note(sheet, row, text)
        return row

    return draw


def small_heading(sheet: Sheet, row: int, words: str) -> int:
    """A heading over a table. Gives the row after."""
    sheet.text(row, 0, words, bold=True)
    sheet.height(row, 16.5)
    return row + 1


def _held(held_by: str, post_name: str, fixing: str) -> str:
    return f"{held_by} {post_name}" if post_name and key(post_name) != key(fixing) else held_by


def _off(residual: float, units: str) -> str:
    """A residual with its sign: plus where the figure is longer than the tape; one below what is shown is nought."""
    shown = show_length(abs(residual), units).removesuffix(" m")
    if not shown.strip("0.\"'"):
        return shown
    return ("+" if residual > 0 else "-") + shown


def _corners(option: PricedOption) -> list[list[Any]]:
    several = len(option.taken.sails) > 1
    return [
        [
            c.fixing,
            (f"{c.sail}: " if several else "") + f"{c.set}, {c.run}",
            c.gap,
            c.cut_length,
            c.take_up_used,
            c.take_up_left,
            crew_tables.hook(c),
        ]
        for c in option.taken.corners
    ]


def _holes(option: PricedOption, units: str) -> list[list[Any]]:
    posts = {p.post_name: p for p in option.taken.posts}
    found: list[list[Any]] = []
    for f in option.taken.footings:
        post = posts.get(f.post_name)
        layers = f"{short_length(f.hole_depth - f.depth, units)} {'pad and stone' if f.pad else 'stone'}"
        lean, way = (post.lean, crew_tables.leans_to(post)) if post else (None, "")
        found.append([f.post_name, layers if f.hole_depth > f.depth else "none", f.diameter, f.hole_depth, f.depth,
                      lean, way])  # fmt: skip
    return found


def _cuts(option: PricedOption) -> list[list[Any]]:
    return [
        [
            p.post_name,
            p.post,
            p.length,
            p.above_ground,
            p.in_ground,
            p.stock_length,
            "on a plate" if p.on_plate else "in ground",
        ]
        for p in option.taken.posts
    ]
