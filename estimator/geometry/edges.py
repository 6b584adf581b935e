"""Edges that hollow out: every straight side becomes a circular arc whose middle lies inside it by the dip.

Source of the arc: an edge cable under even stress in the cloth has the same pull and so the same radius all along.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan, atan2, cos, hypot, inf, pi, sin, sqrt

from estimator.geometry.outline import area_centroid, flat_area, sides_of, signed_area

Pair = tuple[float, float]
Circle = tuple[float, float, float]  # centre, radius
NEAR = 1e-9  # share of the perimeter, or of the area: less than this is rounding


def edge_radius(chord: float, dip: float) -> float:
    """Radius of the arc [m]; endless for a straight edge.

    Source: intersecting chords, R = L2 / (8 f) + f / 2.

    >>> round(edge_radius(chord=6, dip=0.6), 3)
    7.8
    """
    return chord * chord / (8 * dip) + dip / 2 if dip > 0 else inf


def half_angle(chord: float, dip: float) -> float:
    """Half the angle of the arc at its centre [rad]; also the angle between chord and arc at the corner.

    >>> from math import degrees
    >>> round(degrees(half_angle(chord=1, dip=0.1)), 4)
    22.6199
    """
    return 2 * atan(2 * dip / chord)


def arc_length(chord: float, dip: float) -> float:
    """Length along the edge [m].

    >>> round(arc_length(chord=1, dip=0.1), 6)
    1.026457
    """
    return 2 * edge_radius(chord, dip) * half_angle(chord, dip) if dip > 0 else chord


def segment_area(chord: float, dip: float) -> float:
    """Area between chord and arc [m2]: what one hollow edge takes away.

    Source: circular segment, R2 (2a - sin 2a) / 2 with a half the angle at the centre; for very flat arcs its series,
    2/3 L f (1 + 4/5 (f/L)2), since the difference loses its digits there. Limits: 0 <= dip <= chord / 2.

    >>> round(segment_area(chord=2, dip=1), 6)
    1.570796
    >>> segment_area(chord=5, dip=0)
    0.0
    """
    share = dip / chord
    if share < 1e-3:
        return 2 / 3 * chord * dip * (1 + 0.8 * share * share)
    angle = 2 * half_angle(chord, dip)
    return edge_radius(chord, dip) ** 2 * (angle - sin(angle)) / 2


def net_area(outline: Sequence[Sequence[float]], hollow: float) -> tuple[float, bool]:
    """Area of a flat outline whose edges all hollow out by a share of their side, and whether arcs cross.

    outline: corners (n, 2), none turning inward [m]; hollow: dip / side, 0 to 0.5. Where arcs cross at a sharp corner
    the true region is taken: inside the sides and outside every arc's circle. Its border is made of arcs only, so the
    area is the sum of their Green's integrals, exact; where it is the area less every segment, none cross.

    >>> side = 16 * 0.3048
    >>> area, crossing = net_area([(0, 0), (side, 0), (side / 2, side * 0.75**0.5)], 0.06)
    >>> round(area / 0.3048**2, 1), crossing
    (80.0, False)
    """
    if hollow <= 0:
        return flat_area(outline), False
    x0, y0 = area_centroid(outline)
    corners = [(float(p[0]) - x0, float(p[1]) - y0) for p in outline]
    if signed_area(corners) < 0:
        corners.reverse()
    lengths = sides_of(corners)
    segments = sum(segment_area(side, hollow * side) for side in lengths)
    circles = _circles(corners, lengths, hollow)
    near = NEAR * sum(lengths)
    alone = flat_area(corners) - segments
    left = sum(_arc_part(corners, circles, i, near) for i in range(len(corners)))
    if abs(left - alone) <= NEAR * flat_area(corners):
        return alone, False
    return max(left, 0.0), True


def net_surface_area(corners: Sequence[Sequence[float]], hollow: float) -> tuple[float, bool]:
    """Net area of a sail in space (n, 3) with hollow edges, and whether arcs cross: its surface less the segments of
    its true sides; where arcs cross, what they share is taken from the outline in its best plane.

    >>> round(net_surface_area([(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)], 0.1)[0], 2)
    18.28
    """
    import numpy as np

    from estimator.geometry.plane import into_plane, ring_plane
    from estimator.geometry.refused import Refused
    from estimator.geometry.surface import area

    plane = ring_plane(np.array(corners, dtype=float))
    if isinstance(plane, Refused):
        return 0.0, False
    flat = into_plane(plane, np.array(corners, dtype=float))[:, :2].tolist()
    net, crossing = net_area(flat, hollow)
    shared = net - flat_area(flat) + sum(segment_area(side, hollow * side) for side in sides_of(flat))
    own = sum(segment_area(side, hollow * side) for side in sides_of(corners))
    return max(area(corners) - own + max(shared, 0.0), 0.0), crossing


def _circles(corners: Sequence[Pair], lengths: Sequence[float], hollow: float) -> list[Circle]:
    """The circle of each edge; its centre lies outside the sail, on the right of the side as walked."""
    found = []
    for i, length in enumerate(lengths):
        (px, py), (qx, qy) = corners[i], corners[(i + 1) % len(corners)]
        radius = edge_radius(length, hollow * length)
        off = radius - hollow * length
        ax, ay = (qx - px) / length, (qy - py) / length
        found.append(((px + qx) / 2 + ay * off, (py + qy) / 2 - ax * off, radius))
    return found


def _inward(corners: Sequence[Pair], i: int, point: Pair, near: float) -> bool:
    """Whether a point lies on the sail's side of edge i, or within `near` of it."""
    (px, py), (qx, qy) = corners[i], corners[(i + 1) % len(corners)]
    twice = (qx - px) * (point[1] - py) - (qy - py) * (point[0] - px)
    return twice >= -near * hypot(qx - px, qy - py)


def _arc_part(corners: Sequence[Pair], circles: Sequence[Circle], i: int, near: float) -> float:
    """Half the border integral of x dy - y dx along what is left of edge i, walked with the sail on the left."""
    n = len(corners)
    x, y, radius = circles[i]
    (px, py), (qx, qy) = corners[i], corners[(i + 1) % n]
    start = atan2(py - y, px - x)
    sweep = (start - atan2(qy - y, qx - x)) % (2 * pi)  # clockwise about a centre outside the sail
    cuts = {0.0, sweep}
    for j in range(n):
        if j != i:
            touching = [*_meetings(circles[i], circles[j]), *_on_line(circles[i], corners[j], corners[(j + 1) % n])]
            cuts |= {(start - atan2(my - y, mx - x)) % (2 * pi) for mx, my in touching}
    steps = sorted(cut for cut in cuts if cut <= sweep)
    total = 0.0
    for one, two in pairwise(steps):
        middle = start - (one + two) / 2
        at = (x + radius * cos(middle), y + radius * sin(middle))
        kept = all(
            _inward(corners, j, at, near) and hypot(at[0] - circles[j][0], at[1] - circles[j][1]) >= circles[j][2]
            for j in range(n)
            if j != i
        )
        if kept:
            a, b = start - one, start - two
            total += radius * radius * (b - a) + radius * (x * (sin(b) - sin(a)) - y * (cos(b) - cos(a)))
    return total / 2


def _meetings(one: Circle, two: Circle) -> list[Pair]:
    """Where two circles meet."""
    dx, dy = two[0] - one[0], two[1] - one[1]
    apart = hypot(dx, dy)
    if apart == 0 or apart > one[2] + two[2] or apart < abs(one[2] - two[2]):
        return []
    along = (apart * apart + one[2] ** 2 - two[2] ** 2) / (2 * apart)
    aside = sqrt(max(one[2] ** 2 - along * along, 0.0))
    ux, uy = dx / apart, dy / apart
    x, y = one[0] + along * ux, one[1] + along * uy
    return [(x - aside * uy, y + aside * ux), (x + aside * uy, y - aside * ux)]


def _on_line(circle: Circle, p: Pair, q: Pair) -> list[Pair]:
    """Where a circle meets the line through two points."""
    length = hypot(q[0] - p[0], q[1] - p[1])
    ux, uy = (q[0] - p[0]) / length, (q[1] - p[1]) / length
    along = (circle[0] - p[0]) * ux + (circle[1] - p[1]) * uy
    off = (circle[0] - p[0]) * -uy + (circle[1] - p[1]) * ux
    if abs(off) > circle[2]:
        return []
    half = sqrt(circle[2] ** 2 - off * off)
    return [(p[0] + s * ux, p[1] + s * uy) for s in (along - half, along + half)]
