"""The flat outline of a sail from its sides: corners counter-clockwise, first at the origin, first side along x.

Lengths m, areas m2, angles degrees. Side k runs from corner k to corner k + 1; the diagonal of four corners from
corner 1 to corner 3.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, dist, hypot, isfinite, pi, radians, sqrt

Outline = tuple[tuple[float, float], ...]
Plan = Sequence[Sequence[float]]


@dataclass(frozen=True, slots=True)
class Impossible:
    """Lengths that make no shape. side: `side 1` ... or `diagonal`; length: as given; limit: what it must stay
    below (or above, where `why` says so)."""

    side: str
    length: float
    limit: float
    why: str


def triangle(a: float, b: float, c: float) -> Outline | Impossible:
    """Outline of three sides [m] in order round the sail, or the side that cannot be.

    >>> triangle(4, 5, 3)
    ((0.0, 0.0), (4.0, 0.0), (0.0, 3.0))
    >>> triangle(2, 3, 6).side
    'side 3'
    """
    return _bad_length(("side 1", a), ("side 2", b), ("side 3", c)) or _three(
        ("side 1", a), ("side 2", b), ("side 3", c)
    )


def rectangle(a: float, b: float) -> Outline | Impossible:
    """Outline of a rectangle a long and b wide [m].

    >>> rectangle(5.4, 3.6)
    ((0.0, 0.0), (5.4, 0.0), (5.4, 3.6), (0.0, 3.6))
    """
    return _bad_length(("side 1", a), ("side 2", b)) or ((0.0, 0.0), (a, 0.0), (a, b), (0.0, b))


def quadrilateral(a: float, b: float, c: float, d: float, diagonal: float) -> Outline | Impossible:
    """Outline of four sides and the diagonal from corner 1 to corner 3 [m], corners 2 and 4 on either side of it.

    Source: two triangles on one base.

    >>> [(round(x, 3), round(y, 3)) for x, y in quadrilateral(3, 4, 3, 4, 5)]
    [(0.0, 0.0), (3.0, 0.0), (3.0, 4.0), (0.0, 4.0)]
    >>> quadrilateral(3, 4, 3, 4, 8).side
    'diagonal'
    """
    sides = (("side 1", a), ("side 2", b), ("side 3", c), ("side 4", d))
    bad = _bad_length(*sides, ("diagonal", diagonal))
    if bad:
        return bad
    near = _three(sides[0], sides[1], ("diagonal", diagonal))
    if isinstance(near, Impossible):
        return near
    far = _three(("diagonal", diagonal), sides[2], sides[3])
    if isinstance(far, Impossible):
        return far
    third, fourth = near[2], far[2]
    along, up = third[0] / diagonal, third[1] / diagonal
    return (*near, (fourth[0] * along - fourth[1] * up, fourth[0] * up + fourth[1] * along))


def sides_of(points: Plan) -> tuple[float, ...]:
    """Lengths of the sides [m] of points in order, in the plane or in space.

    >>> sides_of([(0, 0), (3, 0), (3, 4)])
    (3.0, 4.0, 5.0)
    """
    return tuple(dist(p, q) for p, q in zip(points, [*points[1:], points[0]], strict=True))


def perimeter(points: Plan) -> float:
    """Sum of the straight sides [m].

    >>> perimeter([(0, 0), (3, 0), (3, 4)])
    12.0
    """
    return sum(sides_of(points))


def signed_area(points: Plan) -> float:
    """Area [m2] by the shoelace rule, positive when the points run counter-clockwise; only x and y count.

    >>> signed_area([(0, 0), (0, 2), (3, 2), (3, 0)])
    -6.0
    """
    x0, y0 = points[0][0], points[0][1]
    return 0.5 * sum(
        (p[0] - x0) * (q[1] - y0) - (q[0] - x0) * (p[1] - y0)
        for p, q in zip(points, [*points[1:], points[0]], strict=True)
    )


def flat_area(outline: Plan) -> float:
    """Area inside a flat outline [m2].

    >>> flat_area(rectangle(5.4, 3.6))
    19.44
    """
    return abs(signed_area(outline))


def area_centroid(outline: Plan) -> tuple[float, float]:
    """Centroid of the area inside a flat outline; the mean of the corners where it has no area.

    >>> area_centroid([(0, 0), (4, 0), (4, 2), (0, 2)])
    (2.0, 1.0)
    """
    x0, y0 = outline[0][0], outline[0][1]
    area = signed_area(outline)
    if area == 0:
        return sum(p[0] for p in outline) / len(outline), sum(p[1] for p in outline) / len(outline)
    x = y = 0.0
    for p, q in zip(outline, [*outline[1:], outline[0]], strict=True):
        px, py, qx, qy = p[0] - x0, p[1] - y0, q[0] - x0, q[1] - y0
        twice = px * qy - qx * py
        x += (px + qx) * twice
        y += (py + qy) * twice
    return x0 + x / (6 * area), y0 + y / (6 * area)


def quadrilateral_area(a: float, b: float, c: float, d: float, opposite_angles: float) -> float:
    """Area [m2] of four sides from the sum of two opposite angles [degrees]; 0 where no such figure exists.

    Source: Bretschneider 1842; with 180 degrees it is Brahmagupta's formula, the greatest area of the four sides.

    >>> quadrilateral_area(3, 4, 3, 4, 180)
    12.0
    """
    s = (a + b + c + d) / 2
    square = (s - a) * (s - b) * (s - c) * (s - d) - a * b * c * d * cos(radians(opposite_angles / 2)) ** 2
    return sqrt(max(square, 0.0)) if opposite_angles != 180 else sqrt(max((s - a) * (s - b) * (s - c) * (s - d), 0.0))


def spread_of_areas(a: float, b: float, c: float, d: float) -> tuple[float, float] | Impossible:
    """Least and greatest area [m2] of four sides whose diagonal is not known.

    Over every diagonal from corner 1 to corner 3 that both pairs of sides can reach, corners 2 and 4 on either side
    of it. Greatest: all corners on one circle. Least: at a limit of the diagonal, where one pair of sides lies flat.

    >>> [round(area) for area in spread_of_areas(3, 4, 3, 4)]
    [0, 12]
    """
    sides = (("side 1", a), ("side 2", b), ("side 3", c), ("side 4", d))
    bad = _bad_length(*sides)
    if bad:
        return bad
    for name, side in sides:
        rest = a + b + c + d - side
        if side >= rest:
            return Impossible(name, side, rest, "as long as the other three together, or longer")
    limits = (max(abs(a - b), abs(c - d)), min(a + b, c + d))
    least = min(_heron(a, b, e) + _heron(c, d, e) for e in limits)
    return least, quadrilateral_area(a, b, c, d, 180)


def crosses_itself(points: Plan) -> tuple[int, int] | None:
    """The first two sides that cross or touch when points are joined in this order, by their first corners from 0;
    None when none does. Only x and y count.

    >>> crosses_itself([(0, 0), (2, 2), (2, 0), (0, 2)])
    (0, 2)
    >>> crosses_itself([(0, 0), (2, 0), (2, 2), (0, 2)]) is None
    True
    """
    n = len(points)
    for i in range(n):
        for j in range(i + 2, n):
            if (j + 1) % n != i and _meet(points[i], points[(i + 1) % n], points[j], points[(j + 1) % n]):
                return i, j
    return None


def inward_corners(points: Plan) -> tuple[int, ...]:
    """Corners from 0 that turn inward or are straight (within 0.1 degree); only x and y count.

    >>> inward_corners([(0, 0), (4, 0), (1, 1), (0, 4)])
    (2,)
    """
    turn = 1.0 if signed_area(points) >= 0 else -1.0
    found = []
    for i in range(len(points)):
        before, at, after = points[i - 1], points[i], points[(i + 1) % len(points)]
        inx, iny, outx, outy = at[0] - before[0], at[1] - before[1], after[0] - at[0], after[1] - at[1]
        lengths = hypot(inx, iny) * hypot(outx, outy)
        if turn * (inx * outy - iny * outx) <= lengths * (0.1 * pi / 180):
            found.append(i)
    return tuple(found)


def _three(first: tuple[str, float], second: tuple[str, float], third: tuple[str, float]) -> Outline | Impossible:
    longest, rest = max(
        ((edge, sum(e[1] for e in (first, second, third)) - edge[1]) for edge in (first, second, third)),
        key=lambda pair: pair[0][1],
    )
    if longest[1] >= rest:
        others = " and ".join(e[0] for e in (first, second, third) if e is not longest)
        return Impossible(longest[0], longest[1], rest, f"as long as {others} together, or longer")
    a, b, c = first[1], second[1], third[1]
    x = (a * a + c * c - b * b) / (2 * a)
    return (0.0, 0.0), (float(a), 0.0), (x, 2 * _heron(a, b, c) / a)


def _heron(a: float, b: float, c: float) -> float:
    """Area of a triangle, in the order that loses no digits on needles (Kahan 2000)."""
    c, b, a = sorted((a, b, c))
    return sqrt(max((a + (b + c)) * (c - (a - b)) * (c + (a - b)) * (a + (b - c)), 0.0)) / 4


def _bad_length(*lengths: tuple[str, float]) -> Impossible | None:
    for name, length in lengths:
        if not (isfinite(length) and length > 0):
            return Impossible(name, length, 0.0, "not above zero")
    return None


def _meet(p: Sequence[float], q: Sequence[float], r: Sequence[float], s: Sequence[float]) -> bool:
    def side(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    def within(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> bool:
        return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])

    one, two, three, four = side(p, q, r), side(p, q, s), side(r, s, p), side(r, s, q)
    if one * two < 0 and three * four < 0:
        return True
    touches = ((one, p, q, r), (two, p, q, s), (three, r, s, p), (four, r, s, q))
    return any(value == 0 and within(a, b, c) for value, a, b, c in touches)
