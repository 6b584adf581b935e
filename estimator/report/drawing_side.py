"""The elevation: seen from the house looking out, so that Across runs to the right as in the plan above it."""

from __future__ import annotations

from math import cos, radians

from estimator.report.drawing_labels import Words, at_point, down_a_ladder
from estimator.report.drawing_paper import (
    FILL,
    FINE,
    FIRM,
    INK,
    PALE,
    PLAIN,
    SMALL,
    SOFT,
    THICK,
    Paper,
    text_size,
)
from estimator.report.drawing_plan import Put, Shown
from estimator.report.drawing_scene import Scene, below, ground_at, head_of

STEP = 3.2  # mm between heights that stand above each other


def draw(paper: Paper, scene: Scene, put: Put, scale: float, shown: Shown, right: float) -> None:
    """Draw the elevation. put: across and level to paper; right: where the column of heights stands [mm]."""
    left = put(scene.low[0], 0.0)[0] - 6
    _ground(paper, scene, put, left, right, shown)
    for cloth in scene.cloths:
        paper.area([put(x, z) for x, _, z in cloth.outline], FILL)
        for edge in cloth.edges:
            paper.line([put(x, z) for x, _, z in edge.hollow], THICK)
    _posts(paper, scene, put, scale)
    for spot in scene.spots:
        if spot.kind != "post":
            low, top = put(spot.across, spot.ground), put(spot.across, max(spot.heights))
            paper.line([low, top], FIRM, PALE, "dashed", level=1, kept=False)
    for cloth in scene.cloths:
        for (fx, _, fz), (cx, _, cz) in cloth.links:
            paper.line([put(fx, fz), put(cx, cz)], FIRM)
            paper.ring(put(cx, cz), 0.7, fill="1.0", weight=FIRM)
    for spot in scene.spots:
        for height in spot.heights:
            at = put(spot.across, height)
            paper.ring(at, 0.95, fill="1.0", weight=FIRM, level=7)
            paper.ring(at, 0.25, fill=INK, level=8)
    _heights(paper, scene, put, shown, right)
    _names(paper, scene, put)
    _depths(paper, scene, put, shown)


def _ground(paper: Paper, scene: Scene, put: Put, left: float, right: float, shown: Shown) -> None:
    """The datum over the whole width, and the ground where something stands on it."""
    datum = put(0.0, 0.0)[1]
    levels = dict.fromkeys(round(s.ground, 3) for s in scene.spots)
    if list(levels) == [0.0]:
        paper.line([(left, datum), (right - 2, datum)], THICK, level=2)
        _earth(paper, left, right - 2, datum)
        paper.text((right, datum), "ground = datum 0", SMALL, align="left")
        return
    paper.line([(left, datum), (right - 2, datum)], FINE, SOFT, "chain", level=2)
    for spot in scene.spots:
        x, y = put(spot.across, spot.ground)
        paper.line([(x - 7, y), (x + 7, y)], THICK, level=2)
        _earth(paper, x - 7, x + 7, y)
    rows = sorted({0.0: "datum 0", **{n: f"ground {shown(n)}" for n in levels if n}}.items())
    wanted = [put(0, level)[1] for level, _ in rows]
    for (_, words), y, at in zip(rows, wanted, down_a_ladder(wanted, STEP, min(wanted), max(wanted) + 20), strict=True):
        paper.line([(right - 2, y), (right - 0.6, at)], FINE, PALE, kept=False)
        paper.text((right, at), words, SMALL, align="left")


def _earth(paper: Paper, left: float, right: float, y: float) -> None:
    for n in range(int((right - left) / 3)):
        x = left + n * 3 + 1.5
        paper.line([(x, y), (x - 1.3, y - 1.6)], FINE, SOFT, level=2, kept=False)


def _posts(paper: Paper, scene: Scene, put: Put, scale: float) -> None:
    holes = {f.post_name: f for f in scene.footings}
    for post in scene.posts:
        ground = ground_at(scene.spots, post)
        foot_depth = post.in_ground * cos(radians(post.lean))
        x0, _, z0 = below(post, ground, foot_depth)
        x1, _, z1 = head_of(post, ground)
        half = max(post.width / 2 * scale, 0.6)
        low, top = put(x0, z0), put(x1, z1)
        corners = [(low[0] - half, low[1]), (low[0] + half, low[1]), (top[0] + half, top[1]), (top[0] - half, top[1])]
        paper.area(corners, "0.80", edge=INK, weight=FIRM, level=4)
        paper.line([low, top], FINE, INK, level=1)
        hole = holes.get(post.post_name)
        if hole:
            a = put(hole.hole_across - hole.diameter / 2, ground)
            b = put(hole.hole_across + hole.diameter / 2, ground - hole.hole_depth)
            paper.line([a, (a[0], b[1]), (b[0], b[1]), (b[0], a[1])], FIRM, INK, "dashed", level=3)
            base = put(0, ground - hole.depth)[1]
            if hole.hole_depth > hole.depth + 1e-6:
                paper.line([(a[0], base), (b[0], base)], FINE, SOFT, level=3)


def _heights(paper: Paper, scene: Scene, put: Put, shown: Shown, right: float) -> None:
    """A column of heights at the right, each with a fine line to its fixing."""
    at: dict[str, list[tuple[str, float, float]]] = {}
    for spot in scene.spots:
        for name, height in zip(spot.names, spot.heights, strict=True):
            at.setdefault(shown(height), []).append((name, spot.across, height))
    rows = sorted(at.items(), key=lambda item: item[1][0][2])
    ys = [put(0, row[1][0][2])[1] for row in rows]
    placed = down_a_ladder(ys, STEP, put(0, 0)[1] + STEP, max(ys) + len(ys) * STEP)
    for (words, members), y, label in zip(rows, ys, placed, strict=True):
        x = put(min(m[1] for m in members), 0)[0] + 1.2
        paper.line([(x, y), (right - 5, y), (right - 1, label)], FINE, PALE, level=1, kept=False)
        paper.text((right, label), words, PLAIN, bold=True, align="left")
        wide = text_size(words, PLAIN, True)[0]
        names = ", ".join(m[0] if len(m[0]) < 9 else m[0][:7] + "…" for m in members[:4])
        names += " …" if len(members) > 4 else ""
        paper.text((right + wide + 1.2, label), names, SMALL, ink=SOFT, align="left")


def _names(paper: Paper, scene: Scene, put: Put) -> None:
    for spot in scene.spots:
        for name, height in zip(spot.names, spot.heights, strict=True):
            shown = name if len(name) < 15 else name[:13] + "…"
            at_point(paper, put(spot.across, height), [Words(shown, PLAIN, bold=True)], 1.8, (0.0, 1.0))


def _depths(paper: Paper, scene: Scene, put: Put, shown: Shown) -> None:
    """Size of each hole below it; holes of one size that stand close say it once."""
    said: dict[tuple[str, int], list[str]] = {}
    where: dict[tuple[str, int], list[float]] = {}
    posts = {p.post_name: p for p in scene.posts}
    lowest = 1e9
    for f in scene.footings:
        ground = ground_at(scene.spots, posts[f.post_name]) if f.post_name in posts else 0.0
        x, y = put(f.hole_across, ground - f.hole_depth)
        words = f"{shown(f.diameter)} wide|{shown(f.hole_depth)} deep"
        slot = (words, round(x / 30))
        said.setdefault(slot, []).append(f.post_name)
        where.setdefault(slot, []).append(x)
        lowest = min(lowest, y)
    room = put(scene.high[0], 0)[0] - put(scene.low[0], 0)[0] + 30
    if len(said) * 22 > room:
        paper.text((put(scene.low[0], 0)[0], lowest - 4), "Sizes of the holes: in the table.", SMALL, align="left")
        return
    for slot, names in said.items():
        named = ", ".join(n if len(n) < 12 else n[:10] + "…" for n in names[:4]) + (" …" if len(names) > 4 else "")
        wide, deep = slot[0].split("|")
        lines = [Words(named, PLAIN, bold=True), Words(f"hole {wide}", SMALL), Words(deep, SMALL)]
        at_point(paper, (sum(where[slot]) / len(where[slot]), lowest), lines, 1.0, (0.0, -1.0))
