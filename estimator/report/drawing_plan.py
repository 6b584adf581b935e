"""The plan: seen from above, Across to the right and Out up the page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, dist, hypot, pi, sin

from estimator.report.drawing_labels import Words, along_line, at_point
from estimator.report.drawing_paper import FILL, FINE, FIRM, INK, LARGE, PALE, PLAIN, SMALL, SOFT, THICK, Pair, Paper
from estimator.report.drawing_scene import Cloth, House, Scene, Spot, ground_at, head_of
from estimator.takeoff.model import Post

Put = Callable[[float, float], Pair]  # metres of the site to mm of the paper
Shown = Callable[[float], str]
HATCH = 2.2  # mm


def draw(paper: Paper, scene: Scene, put: Put, scale: float, shown: Shown, *, full: bool) -> None:
    """Draw the plan. scale: mm of paper for a metre; full: with holes, distances and marks, for the crew."""
    for house in scene.houses:
        wall(paper, house, put, rafters=full)
    for cloth in scene.cloths:
        paper.area([put(x, y) for x, y, _ in cloth.outline], FILL)
    if full:
        for a, b in scene.sides:
            paper.line([put(a.across, a.out), put(b.across, b.out)], FINE, SOFT, "dotted")
        for a, b in scene.diagonals:
            paper.line([put(a.across, a.out), put(b.across, b.out)], FINE, PALE, "chain")
    for cloth in scene.cloths:
        sail(paper, cloth, put, chords=full)
    if full:
        for f in scene.footings:
            paper.ring(put(f.hole_across, f.hole_out), max(f.diameter / 2 * scale, 1.2), weight=FIRM, dash="dashed")
    for post in scene.posts:
        _post(paper, post, scene, put, scale)
    for spot in scene.spots:
        _symbol(paper, spot, put(spot.across, spot.out))
    _labels(paper, scene, put, shown, full)


def sail(paper: Paper, cloth: Cloth, put: Put, *, chords: bool) -> None:
    """The edges of a sail, its corners, and its links as lines."""
    for edge in cloth.edges:
        if chords and len(edge.hollow) > 2:
            paper.line([put(*edge.start[:2]), put(*edge.end[:2])], FINE, PALE, "dashed", kept=False)
        paper.line([put(x, y) for x, y, _ in edge.hollow], THICK)
    for fixing, corner in cloth.links:
        paper.line([put(*fixing[:2]), put(*corner[:2])], FIRM)
        paper.ring(put(*corner[:2]), 0.7, fill="1.0", weight=FIRM)


def alone(paper: Paper, cloth: Cloth, names: Sequence[str], put: Put, shown: Shown) -> None:
    """A sail without its place: outline, sides, diagonals, and the name of each corner."""
    paper.area([put(x, y) for x, y, _ in cloth.outline], FILL)
    corners = [e.start for e in cloth.edges]
    pairs = [(a, b) for n, a in enumerate(corners) for b in corners[n + 2 :] if (a, b) != (corners[0], corners[-1])]
    for a, b in pairs:
        paper.line([put(*a[:2]), put(*b[:2])], FINE, PALE, "chain")
    sail(paper, Cloth(cloth.name, cloth.edges, ()), put, chords=True)
    middle = cloth.middle
    for name, at in zip(names, corners, strict=False):
        paper.ring(put(*at[:2]), 0.7, fill="1.0", weight=FIRM)
        at_point(paper, put(*at[:2]), [Words(name[:14], LARGE, bold=True)], 1.6, (at[0] - middle[0], at[1] - middle[1]))
    _edge_labels(paper, cloth, put, shown)
    for a, b in pairs:
        along_line(paper, put(*a[:2]), put(*b[:2]), Words(shown(dist(a, b)), PLAIN, ink=SOFT), 1.7)


def _edge_labels(paper: Paper, cloth: Cloth, put: Put, shown: Shown) -> None:
    """The length of each side, inside its hollow edge."""
    cx, cy, _ = cloth.middle
    for edge in cloth.edges:
        a, b = put(*edge.start[:2]), put(*edge.end[:2])
        mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        halfway = edge.hollow[len(edge.hollow) // 2]
        hx, hy = put(*halfway[:2]) if len(edge.hollow) > 2 else (mx, my)
        a, b = (a[0] + hx - mx, a[1] + hy - my), (b[0] + hx - mx, b[1] + hy - my)
        inward = put(cx, cy)
        side = (inward[0] - mx, inward[1] - my)
        along_line(paper, a, b, Words(shown(edge.length), PLAIN, bold=True), 2.4, side)


def wall(paper: Paper, house: House, put: Put, *, rafters: bool) -> None:
    """The line of a house with strokes on the side of the building; a broken end where the wall goes on."""
    a, b = put(*house.start), put(*house.end)
    bx, by = house.behind[0], house.behind[1]
    long = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    paper.line([a, b], THICK, INK, level=2)
    for n in range(int(long / HATCH)):
        x, y = a[0] + ux * n * HATCH, a[1] + uy * n * HATCH
        paper.line([(x, y), (x + ux * 1.6 + bx * 2.2, y + uy * 1.6 + by * 2.2)], FINE, SOFT, level=2, kept=False)
    paper.boxes.append(_around([a, b, (a[0] + bx * 2.4, a[1] + by * 2.4), (b[0] + bx * 2.4, b[1] + by * 2.4)]))
    for at, way, ends in ((a, -1, house.ends[0]), (b, 1, house.ends[1])):
        if ends:
            paper.line([(at[0] - bx * 1.2, at[1] - by * 1.2), (at[0] + bx * 3.2, at[1] + by * 3.2)], THICK, level=2)
        else:
            tail = [(0.0, 0.0), (1.4, 0.0), (1.9, 1.3), (2.9, -1.3), (3.4, 0.0), (4.4, 0.0)]
            points = [(at[0] + way * (ux * p - uy * q), at[1] + way * (uy * p + ux * q)) for p, q in tail]
            paper.line(points, FIRM, INK, level=2)
    for x, y in house.rafters if rafters else ():
        px, py = put(x, y)
        paper.line([(px, py), (px + bx * 5.0, py + by * 5.0)], FIRM, PALE, level=1)


def _around(points: list[Pair]) -> tuple[float, float, float, float]:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _post(paper: Paper, post: Post, scene: Scene, put: Put, scale: float) -> None:
    """The foot to size, and a line with a head from the foot to the top: the way the post leans."""
    foot = put(post.foot_across, post.foot_out)
    half = max(post.width / 2 * scale, 0.8)
    square = [(foot[0] + sx * half, foot[1] + sy * half) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    paper.area(square, SOFT, edge=INK, weight=FIRM, level=5)
    paper.boxes.append((foot[0] - half, foot[1] - half, foot[0] + half, foot[1] + half))
    if post.lean and any(post.toward):
        x, y, _ = head_of(post, ground_at(scene.spots, post))
        head = put(x, y)
        head = (head[0] - post.toward[0] * 2.0, head[1] - post.toward[1] * 2.0)
        paper.line([foot, head], FIRM)
        arrow(paper, head, (-post.toward[0], -post.toward[1]))


def arrow(paper: Paper, tip: Pair, way: Pair, size: float = 1.8) -> None:
    """A filled arrow head. way: unit vector it points along."""
    (ux, uy), half = way, size * 0.35
    base = (tip[0] - ux * size, tip[1] - uy * size)
    points = [tip, (base[0] - uy * half, base[1] + ux * half), (base[0] + uy * half, base[1] - ux * half)]
    paper.area(points, INK, level=6)


def _symbol(paper: Paper, spot: Spot, at: Pair) -> None:
    if spot.kind == "tree":
        points = [
            (at[0] + cos(n * pi / 12) * r, at[1] + sin(n * pi / 12) * r) for n in range(24) for r in [2.6 - n % 2]
        ]
        paper.line([*points, points[0]], FIRM, SOFT)
    elif spot.kind == "other":
        square = [(at[0] + x * 1.6, at[1] + y * 1.6) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        paper.area(square, "1.0", edge=INK, weight=FIRM, level=4)
    paper.ring(at, 0.95, fill="1.0", weight=FIRM, level=7)
    paper.ring(at, 0.25, fill=INK, level=8)


def _labels(paper: Paper, scene: Scene, put: Put, shown: Shown, full: bool) -> None:
    middle = _middle(scene)
    for spot in scene.spots:
        away = (spot.across - middle[0], spot.out - middle[1])
        at_point(paper, put(spot.across, spot.out), _spot_words(spot, scene, shown, full), 2.2, away)
    for cloth in scene.cloths:
        _edge_labels(paper, cloth, put, shown)
    if full:
        for one, two in scene.sides:
            side = ((one.across + two.across) / 2 - middle[0], (one.out + two.out) / 2 - middle[1])
            along_line(paper, _at(one, put), _at(two, put), Words(shown(_level(one, two)), PLAIN), 2.0, side)
        for one, two in scene.diagonals:
            words = Words(shown(_level(one, two)), SMALL, ink=SOFT)
            along_line(paper, _at(one, put), _at(two, put), words, 1.7)
    for cloth in scene.cloths if len(scene.cloths) > 1 else ():
        at_point(paper, put(*cloth.middle[:2]), [Words(f"Sail {cloth.name}", PLAIN)], 0.5)
    for house in scene.houses:
        _house_label(paper, house, put, full)


def _spot_words(spot: Spot, scene: Scene, shown: Shown, full: bool) -> list[Words]:
    names = [n if len(n) < 15 else n[:13] + "…" for n in spot.names]
    heights = " / ".join(dict.fromkeys(shown(h) for h in spot.heights))
    lines = [Words(" ".join(names), LARGE, bold=True)]
    if spot.kind != "post":
        lines.append(Words(spot.held_by, SMALL, ink=SOFT))
    lines.append(Words(f"high {heights}", SMALL))
    for _, start, end in (m for h in scene.houses for m in h.marks if full and m[0] in spot.names):
        lines += [Words(f"{shown(start)} from the start", SMALL), Words(f"{shown(end)} from the end", SMALL)]
    return lines


def _house_label(paper: Paper, house: House, put: Put, full: bool) -> None:
    a, b = put(*house.start), put(*house.end)
    at = ((a[0] + b[0]) / 2 + house.behind[0] * 2.4, (a[1] + b[1]) / 2 + house.behind[1] * 2.4)
    words = [Words(f"house, wall {house.name}" if house.name else "house", PLAIN, ink=SOFT)]
    if full and house.rafters:
        words.append(Words("long strokes: rafters", SMALL, ink=SOFT))
    at_point(paper, at, words, 5.5 if full and house.rafters else 1.5, house.behind)


def _at(spot: Spot, put: Put) -> Pair:
    return put(spot.across, spot.out)


def _level(one: Spot, two: Spot) -> float:
    return hypot(one.across - two.across, one.out - two.out)


def _middle(scene: Scene) -> Pair:
    count = len(scene.spots)
    return sum(s.across for s in scene.spots) / count, sum(s.out for s in scene.spots) / count
