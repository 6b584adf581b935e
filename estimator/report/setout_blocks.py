"""The tables and lists of the set-out, option by option, in the order of the work."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import crew_tables
from estimator.report.look import Sheet
from estimator.report.quote_text import TAKE_DOWN
from estimator.report.setout_page import WIDTHS, note, small_heading
from estimator.report.table import Col, table
from estimator.report.words import short_length
from estimator.screening.limit import told_words

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
Block = Callable[[Sheet, int], int]


def crew_notes(priced: PricedJob, option: PricedOption) -> list[str]:
    """What the crew is told in words before the tables."""
    used = {key(p.fixing) for p in option.taken.points}
    fixings = priced.job.fixings.get(option.site.name, ())
    notes = [option.site.for_crew, *(f"{f.name}: {f.for_crew}" for f in fixings if f.for_crew and key(f.name) in used)]
    before = "" if not option.taken.footings else f"Before digging: {SERVICES.get(option.site.services, SERVICES[''])}."
    survey = priced.surveys.get(option.site.name)
    gust = f"{TAKE_DOWN}: {told_words(priced.book, option.screened)}."
    return [n for n in (*notes, before, gust, survey.mirror if survey else "") if n]


def blocks(priced: PricedJob, option: PricedOption) -> list[Block]:
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
