"""Sheet `Sail order`: what a sailmaker needs for one sail that is made to fit. No money on it."""

from __future__ import annotations

from itertools import combinations
from math import dist

from estimator.core.money import from_float, plain
from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import crew_tables, look
from estimator.report.look import RULE, Sheet
from estimator.report.setout_page import LAST, WIDTHS, note, place_picture, small_heading
from estimator.report.table import Col, table
from estimator.takeoff.model import SailTaken

MADE = "made to fit"
ACROSS, HIGH = 172.0, 90.0  # mm of the drawing
SIDES = (Col("Side"), Col("Between"), Col("Finished", "length"), Col("As sewn", "length"))
DIAGONALS = (Col("Diagonal"), Col("Between"), Col("Finished", "length"), Col("As sewn", "length"))
CORNERS = (Col("Corner"), Col("Held by"), Col("Height", "length"), Col("Run"), Col("Cut", "length"))


def wanted(options: list[PricedOption]) -> list[tuple[PricedOption, SailTaken]]:
    """The sails that have to be made, option by option."""
    return [(o, s) for o in options for s in o.taken.sails if s.origin == MADE]


def write(sheet: Sheet, priced: PricedJob, option: PricedOption, sail: SailTaken, drawing: bool = True) -> None:
    """One sail on one page; drawing: with it."""
    header = priced.job.header
    look.page(sheet, look.CREW, header.name, WIDTHS, landscape=False)
    sheet.ws.fit_to_pages(1, 1)
    look.title(sheet, look.CREW, f"Sail order: {option.site.name}, sail {sail.sail}", LAST)
    row = 3
    for name, value in _facts(priced, option, sail):
        sheet.text(row, 0, name, font_color=look.FAINT)
        row = _value(sheet, row, value)
    row += _draw(sheet, row, priced, option, sail) if drawing else 0
    stretch = _stretch(priced, sail)
    count = len(sail.sides)
    sewn = sail.sewn or tuple(s / (1 + stretch) for s in sail.sides)
    sides = [
        [n + 1, f"{sail.fixings[n]}, {sail.fixings[(n + 1) % count]}", sail.sides[n], sewn[n]] for n in range(count)
    ]
    row = small_heading(sheet, row, f"Sides, straight from ring to ring, {_way(sail)} seen from above")
    row = table(sheet, row, SIDES, [[str(r[0]), *r[1:]] for r in sides], 0, WIDTHS) + 1
    pairs = [(a, b) for a, b in combinations(range(count), 2) if b - a > 1 and (a, b) != (0, count - 1)]
    across = [(f"{sail.fixings[a]}, {sail.fixings[b]}", dist(sail.corners[a], sail.corners[b])) for a, b in pairs]
    if across:
        row = small_heading(sheet, row, "Diagonals, straight")
        rows = [[str(n), words, long, long / (1 + stretch)] for n, (words, long) in enumerate(across, 1)]
        row = table(sheet, row, DIAGONALS, rows, 0, WIDTHS) + 1
    held = {key(p.fixing): p.held_by for p in option.taken.points}
    corners = {key(c.fixing): c for c in option.taken.corners if key(c.sail) == key(sail.sail)}
    rows = [
        [f, held.get(key(f), ""), at[2], corners[key(f)].run, corners[key(f)].cut_length]
        for f, at in zip(sail.fixings, sail.corners, strict=False)
        if key(f) in corners
    ]
    row = small_heading(sheet, row, "Corners; height of the ring above the datum, at rest")
    row = table(sheet, row, CORNERS, rows, 0, WIDTHS) + 1
    row = small_heading(sheet, row, "At each corner")
    groups: dict[str, list[str]] = {}
    for f in sail.fixings:
        if key(f) in corners:
            groups.setdefault(crew_tables.hardware(priced, corners[key(f)]), []).append(f)
    for words, names in groups.items():
        row = note(sheet, row, f"{', '.join(names)}: {words}.")
    row = _sign(sheet, row + 1, ("Measured by", "Measured on", "Checked by", "Checked on", "Signature"))


def _facts(priced: PricedJob, option: PricedOption, sail: SailTaken) -> list[tuple[str, str]]:
    cloth = priced.book.cloths.get(key(sail.cloth))
    hollow = f"{plain(from_float(cloth.edge_hollow * 100))} % of each side" if cloth and cloth.edge_hollow else "none"
    high, low = crew_tables.high_and_low(sail)
    job = " ".join(x for x in (priced.job.header.name, priced.job.header.reference) if x)
    return [
        ("Job", job),
        ("Option", option.option.name),
        ("Cloth", (cloth.description if cloth else "") or sail.cloth),
        ("Colour", sail.colour or "to be named"),
        ("Hollow", hollow),
        ("Stretch", f"{plain(from_float(_stretch(priced, sail) * 100))} % from as sewn to finished"),
        ("High at", high or "all corners at one height"),
        ("Low at", low or "all corners at one height"),
        ("First", "the fixings are measured as built; the sail is sewn after that"),
    ]


def _stretch(priced: PricedJob, sail: SailTaken) -> float:
    cloth = priced.book.cloths.get(key(sail.cloth))
    return cloth.stretch if cloth else 0.0


def _way(sail: SailTaken) -> str:
    """Which way round the corners are named, seen from above."""
    ring = [(x, y) for x, y, _ in sail.corners]
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))
    return "anticlockwise" if twice > 0 else "clockwise"


def _value(sheet: Sheet, row: int, value: str) -> int:
    from estimator.report.words import lines_high

    sheet.across(row, 1, LAST, value, text_wrap=True, align="left")
    sheet.height(row, lines_high(value, sum(WIDTHS[1:]) - 2))
    return row + 1


def _sign(sheet: Sheet, row: int, names: tuple[str, ...]) -> int:
    """Lines to write on, two beside each other."""
    for n in range(0, len(names), 2):
        for name, column in zip(names[n : n + 2], (0, 3), strict=False):
            sheet.text(row, column, name, font_color=look.FAINT, valign="bottom")
            for free in (column + 1, column + 2) if column == 0 else range(column + 2, LAST + 1):
                sheet.blank(row, free, bottom=1, bottom_color=RULE)
        sheet.height(row, 24)
        row += 1
    return row


def _draw(sheet: Sheet, row: int, priced: PricedJob, option: PricedOption, sail: SailTaken) -> int:
    """The sail from above. Gives how many rows it takes."""
    from estimator.report.drawing import sail_plan
    from estimator.report.drawing_paper import POINT, size_of

    png = sail_plan(priced, option, sail, (ACROSS, HIGH))
    place_picture(sheet, row, 1, size_of(png)[1] / POINT + 8, png, f"Sail {sail.sail} from above")
    return 1
