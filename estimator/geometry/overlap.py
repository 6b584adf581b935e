"""Sails above one another: where they overlap in plan, and how near they come. Lengths m."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

Corners = Sequence[Sequence[float]]
STEPS = 40  # samples across the overlap, each way


def clearance(first: Corners, second: Corners) -> float | None:
    """The least height between two sails where they overlap in plan; None where they do not overlap.

    Corners (n, 3). Each sail is taken as flat triangles from its middle, sampled on a grid of 40 by 40 over the
    overlap and at every corner that lies over or under the other sail: an estimate, good to the slope of the sails
    times a fortieth of the overlap. 0 where they pass through each other.

    >>> low = [(0, 0, 2.5), (4, 0, 2.5), (4, 4, 2.5), (0, 4, 2.5)]
    >>> high = [(3, 3, 3.0), (7, 3, 3.0), (7, 7, 3.0), (3, 7, 3.0)]
    >>> clearance(low, high), clearance(low, [(x + 9, y, z) for x, y, z in low])
    (0.5, None)
    """
    gaps = []
    for x, y in _places(first, second):
        a, b = height_at(first, x, y), height_at(second, x, y)
        if a is not None and b is not None:
            gaps.append(b - a)
    if not gaps:
        return None
    return 0.0 if min(gaps) < 0 < max(gaps) else min(abs(g) for g in gaps)


def height_at(corners: Corners, x: float, y: float) -> float | None:
    """Height of a sail over a place in plan, on flat triangles from its middle; None beside the sail."""
    n = len(corners)
    middle = [sum(c[i] for c in corners) / n for i in range(3)]
    for i in range(n):
        found = _in_triangle(middle, corners[i], corners[(i + 1) % n], x, y)
        if found is not None:
            return found
    return None


def _places(first: Corners, second: Corners) -> Iterator[tuple[float, float]]:
    """Corners of both, and a grid over the box that both share in plan."""
    for corner in (*first, *second):
        yield corner[0], corner[1]
    low = [max(min(c[i] for c in first), min(c[i] for c in second)) for i in (0, 1)]
    high = [min(max(c[i] for c in first), max(c[i] for c in second)) for i in (0, 1)]
    if low[0] >= high[0] or low[1] >= high[1]:
        return
    for i in range(STEPS + 1):
        for j in range(STEPS + 1):
            yield low[0] + (high[0] - low[0]) * i / STEPS, low[1] + (high[1] - low[1]) * j / STEPS


def _in_triangle(a: Sequence[float], b: Sequence[float], c: Sequence[float], x: float, y: float) -> float | None:
    area = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
    if abs(area) < 1e-12:
        return None
    u = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / area
    v = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / area
    if u < -1e-9 or v < -1e-9 or u + v > 1 + 1e-9:
        return None
    return a[2] + u * (b[2] - a[2]) + v * (c[2] - a[2])
