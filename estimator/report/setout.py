"""Sheet `Set-out`: what the crew needs on site, option by option. No money on it."""

from __future__ import annotations

from itertools import combinations
from math import dist
from typing import Any

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.table import Col, section, table
from estimator.report.words import lines_high, short_length

WIDTHS = [12.0, 20.0, 11.0, 11.0, 11.0, 11.0, 14.0]
POINTS = (
    Col("Fixing"),
    Col("Held by"),
    Col("Across", "length"),
    Col("Out", "length"),
    Col("Height", "length"),
    Col("Ground", "length"),
    Col("New post"),
)
DISTANCES = (Col("From"), Col("To"), Col("Straight", "length"), Col("Level", "length"))
CORNERS = (
    Col("Fixing"),
    Col("Hung by"),
    Col("Gap", "length"),
    Col("Cut length", "length"),
    Col("Links in use", "whole"),
    Col("Take up", "length"),
    Col("Tensioner"),
)
HOLES = (
    Col("Post"),
    Col("Section"),
    Col("Hole across", "length"),
    Col("Hole out", "length"),
    Col("Diameter", "length"),
    Col("Hole depth", "length"),
    Col("Base layers"),
)
CUTS = (
    Col("Post"),
    Col("Section"),
    Col("Cut to", "length"),
    Col("Above", "length"),
    Col("In ground", "length"),
    Col("Lean", "angle"),
    Col("From stock"),
)

SERVICES = {
    "": "have buried services located; nothing is known of them",
    "none": "no buried services are said to be there; look before each hole",
    "plans": "buried services are known from plans only; have them located",
    "located": "buried services are located; keep to the marks",
    "exposed": "buried services have been exposed; keep clear of them",
}


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet: a page or more for each option that has been taken off."""
    header = priced.job.header
    look.page(sheet, look.CREW, header.name, WIDTHS, landscape=False, frozen=2)
    look.title(sheet, look.CREW, "Set-out", len(WIDTHS) - 1)
    row, breaks = 3, []
    for option in priced.options:
        if not option.taken.points:
            continue
        if row > 3:
            breaks.append(row)
        row = _option(sheet, priced, option, row) + 1
    if row == 3:
        sheet.text(row, 0, "Nothing could be set out yet.", font_color=look.FAINT)
    sheet.ws.set_h_pagebreaks(breaks[:1000])


def _option(sheet: Sheet, priced: PricedJob, option: PricedOption, row: int) -> int:
    mark = ", chosen" if option.chosen else ""
    row = section(sheet, row, f"{option.site.name}: option {option.option.name}{mark}")
    words = (
        "Stand at the datum with your back to the house: Across is to your right, Out is straight ahead, Height is up."
    )
    row = _note(sheet, row, words)
    for words in _crew_notes(priced, option):
        row = _note(sheet, row, words)
    taken, units = option.taken, sheet.look.units
    points = [[p.fixing, p.held_by, p.across, p.out, p.height, p.ground, p.post_name] for p in taken.points]
    row = table(sheet, row, POINTS, points, 0, WIDTHS) + 1
    pairs = [
        [
            a.fixing,
            b.fixing,
            dist((a.across, a.out, a.height), (b.across, b.out, b.height)),
            dist((a.across, a.out), (b.across, b.out)),
        ]
        for a, b in combinations(taken.points, 2)
    ]
    row = table(sheet, row, DISTANCES, pairs, 0, WIDTHS) + 1
    if taken.corners:
        row = table(sheet, row, CORNERS, _corners(option), 0, WIDTHS) + 1
    if taken.footings:
        row = table(sheet, row, HOLES, _holes(option, units), 0, WIDTHS) + 1
    if taken.posts:
        row = table(sheet, row, CUTS, _cuts(option, units), 0, WIDTHS) + 1
    return row


def _note(sheet: Sheet, row: int, words: str) -> int:
    sheet.across(row, 0, len(WIDTHS) - 1, words, text_wrap=True)
    sheet.height(row, lines_high(words, sum(WIDTHS)))
    return row + 1


def _crew_notes(priced: PricedJob, option: PricedOption) -> list[str]:
    used = {key(p.fixing) for p in option.taken.points}
    fixings = priced.job.fixings.get(option.site.name, ())
    notes = [option.site.for_crew, *(f"{f.name}: {f.for_crew}" for f in fixings if f.for_crew and key(f.name) in used)]
    before = "" if not option.taken.footings else f"Before digging: {SERVICES.get(option.site.services, SERVICES[''])}."
    return [n for n in (*notes, before) if n]


def _corners(option: PricedOption) -> list[list[Any]]:
    return [
        [c.fixing, f"{c.set}, {c.run}", c.gap, c.cut_length, c.links, c.take_up_used, c.tensioner or "none"]
        for c in option.taken.corners
    ]


def _holes(option: PricedOption, units: str) -> list[list[Any]]:
    posts = {p.post_name: p for p in option.taken.posts}
    return [
        [
            f.post_name,
            posts[f.post_name].post if f.post_name in posts else "",
            f.hole_across,
            f.hole_out,
            f.diameter,
            f.hole_depth,
            short_length(f.hole_depth - f.depth, units),
        ]
        for f in option.taken.footings
    ]


def _cuts(option: PricedOption, units: str) -> list[list[Any]]:
    return [
        [
            p.post_name,
            p.post,
            p.length,
            p.above_ground,
            p.in_ground,
            p.lean,
            short_length(p.stock_length, units) + (" on a plate" if p.on_plate else ""),
        ]
        for p in option.taken.posts
    ]
