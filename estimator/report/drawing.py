"""Drawings to scale: plan and elevation for the crew, a plain plan for the customer.

One style, the same everywhere; lengths in the units of the job. The pictures are PNG bytes, grey, 180 dots to the
inch, and the same for the same option.
"""

from __future__ import annotations

from math import cos, radians, sin

from estimator.core.units import show_length
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import drawing_plan, drawing_side
from estimator.report.drawing_paper import (
    FILL,
    FINE,
    FIRM,
    INK,
    LARGE,
    PALE,
    PLAIN,
    SMALL,
    SOFT,
    THICK,
    Pair,
    Paper,
    text_size,
)
from estimator.report.drawing_plan import Shown, arrow
from estimator.report.drawing_scene import Scene, scene_of
from estimator.report.table import metric
from estimator.takeoff.model import SailTaken

WIDE, HIGH = 172.0, 232.0  # mm: what a page of the set-out sheet has room for
PLAIN_WIDE = 164.0  # mm: what the customer's page has room for
AROUND, UNDER, RIGHT, HEAD, FOOT = 20.0, 14.5, 32.0, 5.0, 20.0
ABOVE, BELOW, HEADING, MARKS = 8.0, 12.0, 5.0, 13.0
SCALES = (20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000)
# inches of paper for a foot
FEET = {
    24: '1/2"', 32: '3/8"', 48: '1/4"', 64: '3/16"', 96: '1/8"', 128: '3/32"', 192: '1/16"', 384: '1/32"', 768: '1/64"',
}  # fmt: skip


def plan_and_elevation(priced: PricedJob, option: PricedOption, room: Pair = (WIDE, HIGH)) -> bytes:
    """Plan and elevation of an option that has points, as PNG. room: the most width and height [mm]; the picture
    takes the full width and no more height than it needs."""
    scene, shown = scene_of(priced, option), _shown(priced.job.header.units)
    across, deep = scene.high[0] - scene.low[0], scene.high[1] - scene.low[1]
    tall = max(scene.top, 0.0) - min(scene.bottom, 0.0)
    under = UNDER + (MARKS if any(h.marks for h in scene.houses) else 0.0)
    used = HEAD + 2 * HEADING + UNDER + under + ABOVE + BELOW + FOOT
    scale = _scale((across, room[0] - AROUND - RIGHT), (deep + tall, room[1] - used), priced.job.header.units)
    mm = 1000 / scale
    paper = Paper(room[0], used + (deep + tall) * mm)
    left = AROUND + (room[0] - AROUND - RIGHT - across * mm) / 2
    plan_low = FOOT + BELOW + tall * mm + ABOVE + HEADING + under
    side_low = FOOT + BELOW
    _title(paper, priced, option)
    y = plan_low + deep * mm + UNDER + HEADING / 2
    _heading(paper, y, "Plan, seen from above; distances from fixing to fixing are level")
    _heading(paper, side_low + tall * mm + ABOVE + HEADING / 2, "Elevation, seen from the datum, looking out")
    bottom = min(scene.bottom, 0.0)
    _foot(paper, scene, option, scale, priced.job.header.units, full=True)

    def on_plan(x: float, y: float) -> Pair:
        return left + (x - scene.low[0]) * mm, plan_low + (y - scene.low[1]) * mm

    def on_side(x: float, z: float) -> Pair:
        return left + (x - scene.low[0]) * mm, side_low + (z - bottom) * mm

    drawing_plan.draw(paper, scene, on_plan, mm, shown, full=True)
    right = min(left + across * mm + 9, room[0] - RIGHT + 7)
    drawing_side.draw(paper, scene, on_side, mm, shown, right)
    return paper.png()


def plain_plan(priced: PricedJob, option: PricedOption, room: Pair = (PLAIN_WIDE, 112.0)) -> bytes:
    """The plan of an option for the customer, as PNG: sail, posts, house, sizes; nothing of holes or marks."""
    scene, shown = scene_of(priced, option), _shown(priced.job.header.units)
    across, deep = scene.high[0] - scene.low[0], scene.high[1] - scene.low[1]
    under = 15.0
    used = 2 * under + FOOT - 4
    scale = _scale((across, room[0] - 2 * AROUND), (deep, room[1] - used), priced.job.header.units)
    mm = 1000 / scale
    paper = Paper(room[0], used + deep * mm)
    left, low = (room[0] - across * mm) / 2, FOOT - 4 + under
    _foot(paper, scene, option, scale, priced.job.header.units, full=False)

    def on_plan(x: float, y: float) -> Pair:
        return left + (x - scene.low[0]) * mm, low + (y - scene.low[1]) * mm

    drawing_plan.draw(paper, scene, on_plan, mm, shown, full=False)
    return paper.png()


def sail_plan(priced: PricedJob, option: PricedOption, sail: SailTaken, room: Pair = (WIDE, 100.0)) -> bytes:
    """One sail alone, seen from above, as PNG: corners by the names of their fixings, sides and diagonals."""
    shown = _shown(priced.job.header.units)
    cloth = next(c for c in scene_of(priced, option).cloths if c.name == sail.sail)
    xs, ys = [c[0] for c in sail.corners], [c[1] for c in sail.corners]
    across, deep = max(xs) - min(xs), max(ys) - min(ys)
    scale = _scale((across, room[0] - 2 * AROUND), (deep, room[1] - 24.0), priced.job.header.units)
    mm = 1000 / scale
    paper = Paper(room[0], deep * mm + 24.0)
    left = (room[0] - across * mm) / 2

    def put(x: float, y: float) -> Pair:
        return left + (x - min(xs)) * mm, 12.0 + (y - min(ys)) * mm

    drawing_plan.alone(paper, cloth, sail.fixings, put, shown)
    return paper.png()


def _shown(units: str) -> Shown:
    """Lengths on a drawing: metres without their unit, which the foot of the drawing states; or feet and inches."""
    return lambda length: show_length(length, units).removesuffix(" m")


def _scale(across: Pair, up: Pair, units: str) -> int:
    """The largest usual scale at which metres fit into mm of paper. across, up: what is there [m], room [mm]."""
    least = max(across[0] * 1000 / max(across[1], 1.0), up[0] * 1000 / max(up[1], 1.0))
    usual = SCALES if metric(units) else tuple(FEET)
    found = next((s for s in usual if s >= least - 1e-9), None)
    if found:
        return found
    step = usual[-1]
    while step < least:
        step *= 2
    return step


def _title(paper: Paper, priced: PricedJob, option: PricedOption) -> None:
    words = f"{option.site.name}: option {option.option.name}"
    job = priced.job.header.reference or priced.job.header.name
    words, job = words[:70], job[:40]
    paper.text((0.5, paper.high - 2.6), words, LARGE, bold=True, align="left")
    paper.text((paper.width - 0.5, paper.high - 2.6), job, SMALL, ink=SOFT, align="right")


def _heading(paper: Paper, y: float, words: str) -> None:
    paper.line([(0.5, y - 2.4), (paper.width - 0.5, y - 2.4)], FINE, PALE, kept=False)
    paper.text((0.5, y), words, PLAIN, ink=SOFT, align="left")


def _foot(paper: Paper, scene: Scene, option: PricedOption, scale: int, units: str, *, full: bool) -> None:
    """Scale in words, scale bar, key and north."""
    top = FOOT - 4
    paper.line([(0.5, top), (paper.width - 0.5, top)], FINE, PALE, kept=False)
    paper.boxes.append((0.0, 0.0, paper.width, top))
    words = f"1:{scale}" if metric(units) else f"{FEET.get(scale, '')} = 1' 0\" (1:{scale})".removeprefix(" = 1' 0\" ")
    paper.text((0.5, top - 3.2), f"Scale {words}", SMALL, align="left")
    said = f"at full size; {'metres' if metric(units) else 'feet, inches'}"
    paper.text((0.5, top - 6.6), said, SMALL, align="left")
    _bar(paper, 1000 / scale, units, top - 9.4)
    _key(paper, scene, full, top)
    if option.site.facing is not None:
        _north(paper, option.site.facing, top)


def _bar(paper: Paper, mm: float, units: str, y: float) -> None:
    """A bar of whole metres or feet, about 40 mm long."""
    unit = 1.0 if metric(units) else 0.3048
    usual = (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if metric(units) else (1, 2, 5, 10, 20, 50, 100, 200, 500)
    long = max((n for n in usual if n * unit * mm <= 42), default=usual[0])
    part = long / (5 if long in (5, 50, 500, 0.5) else 4) * unit * mm
    count = 5 if long in (5, 50, 500, 0.5) else 4
    for n in range(count):
        x = 0.6 + n * part
        corners = [(x, y), (x + part, y), (x + part, y - 1.4), (x, y - 1.4)]
        paper.area(corners, INK if n % 2 == 0 else "1.0", edge=INK, weight=FINE, level=3)
    name = "m" if metric(units) else "ft"
    paper.text((0.6, y - 3.4), "0", SMALL, align="left")
    paper.text((0.6 + part * count, y - 3.4), f"{long:g} {name}", SMALL)


def _key(paper: Paper, scene: Scene, full: bool, top: float) -> None:
    """What the strokes mean: only those that occur."""
    entries = [("sail", "sail, sides along the straight in bold"), ("link", "link from sail to fixing")]
    if scene.posts:
        entries.append(("post", "new post at ground, arrow: leans this way" if full else "new post"))
    if full and scene.footings:
        entries.append(("hole", "hole"))
    if scene.houses:
        entries.append(("house", "house"))
    if any(s.kind == "other" for s in scene.spots):
        entries.append(("other", "post or frame that stands already"))
    if any(s.kind == "tree" for s in scene.spots):
        entries.append(("tree", "tree"))
    if full and scene.sides:
        entries.append(("side", "fixing to fixing, level"))
    x, y, first, last = 52.0, top - 3.2, 52.0, paper.width - 12
    for mark, words in entries:
        wide = 8.0 + text_size(words, SMALL)[0] + 3.0
        if x + wide > last and x > first:
            x, y = first, y - 4.0
        _mark(paper, mark, x, y)
        paper.text((x + 7.5, y), words, SMALL, align="left")
        x += wide


def _mark(paper: Paper, mark: str, x: float, y: float) -> None:
    middle = x + 3.0
    if mark == "sail":
        paper.area([(x, y - 1.3), (x + 6, y - 1.3), (x + 6, y + 1.3), (x, y + 1.3)], FILL)
        paper.line([(x, y - 1.3), (x + 6, y - 1.3)], THICK)
    elif mark == "link":
        paper.line([(x, y), (x + 6, y)], FIRM)
        paper.ring((x + 0.8, y), 0.7, fill="1.0", weight=FIRM)
        paper.ring((x + 5.2, y), 0.95, fill="1.0", weight=FIRM)
        paper.ring((x + 5.2, y), 0.25, fill=INK, level=8)
    elif mark == "post":
        paper.area([(x, y - 0.8), (x + 1.6, y - 0.8), (x + 1.6, y + 0.8), (x, y + 0.8)], SOFT, edge=INK, weight=FIRM)
        paper.line([(x + 0.8, y), (x + 6, y)], FIRM)
        arrow(paper, (x + 6, y), (1.0, 0.0))
    elif mark == "hole":
        paper.ring((middle, y), 1.5, weight=FIRM, dash="dashed")
    elif mark == "house":
        paper.line([(x, y + 0.8), (x + 6, y + 0.8)], THICK)
        for n in range(3):
            paper.line([(x + n * 2, y + 0.8), (x + n * 2 + 1.4, y - 1.2)], FINE, SOFT)
    elif mark == "other":
        paper.area([(middle + a * 1.4, y + b * 1.4) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))], "1.0", edge=INK)
    elif mark == "tree":
        points = [
            (middle + cos(radians(n * 15)) * (1.7 - n % 2 * 0.6), y + sin(radians(n * 15)) * (1.7 - n % 2 * 0.6))
            for n in range(25)
        ]
        paper.line(points, FIRM, SOFT)
    else:
        paper.line([(x, y), (x + 6, y)], FINE, SOFT, "dotted")


def _north(paper: Paper, facing: float, top: float) -> None:
    """An arrow to the north; facing: compass bearing of Out, which is up the page."""
    turn = radians(facing)
    ux, uy = -sin(turn), cos(turn)
    at = (paper.width - 6.0, top - 6.2)
    tail, tip = (at[0] - ux * 3.2, at[1] - uy * 3.2), (at[0] + ux * 3.6, at[1] + uy * 3.6)
    paper.line([tail, tip], FIRM)
    arrow(paper, tip, (ux, uy), 2.4)
    paper.text((at[0] + ux * 5.2, at[1] + uy * 5.2), "N", SMALL, bold=True)
