"""Where to start the least squares: points put down one by one from two lines each, every reflection kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, islice
from math import hypot, sqrt

from estimator.geometry.tape_checks import Pair, Taped, triangle_area

Spot = tuple[float, float]
Layout = dict[int, Spot]

_KEPT = 64  # layouts kept while points are put down


def layouts(taped: Taped) -> list[Layout]:
    """Rough layouts of all points, best first; empty where they cannot be put down one by one."""
    plans = _mean_plans(taped)
    found = [
        (_off(layout, plans), layout)
        for base in islice(_bases(taped, plans), 3)
        for layout in _extended(base, taped, plans)
    ]
    found.sort(key=lambda pair: pair[0])
    if not found:
        return []
    # a wrong reflection is decimetres off on some line; one that is near could be right after a slip
    return [layout for off, layout in found if off <= 4 * found[0][0] + 0.5]


def circle_crossings(first: Spot, r1: float, second: Spot, r2: float) -> tuple[Spot, ...]:
    """Where two circles meet: left and right of first to second; one point between them where they miss.

    >>> circle_crossings((0, 0), 3, (5, 0), 4)
    ((1.8, 2.4), (1.8, -2.4))
    """
    dx, dy = second[0] - first[0], second[1] - first[1]
    d = hypot(dx, dy)
    if d < 1e-9:
        return ((first[0] + r1, first[1]),)
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    square = r1 * r1 - along * along
    if square <= 0.0:
        along = max(-r1, min(r1, along))
        return ((first[0] + along * dx / d, first[1] + along * dy / d),)
    aside = sqrt(square)
    foot_x, foot_y = first[0] + along * dx / d, first[1] + along * dy / d
    left = (foot_x - aside * dy / d, foot_y + aside * dx / d)
    right = (foot_x + aside * dy / d, foot_y - aside * dx / d)
    return (left, right)


def _mean_plans(taped: Taped) -> dict[Pair, float]:
    gathered: dict[Pair, list[float]] = {}
    for pair, plan in zip(taped.pairs, taped.plans, strict=True):
        gathered.setdefault(pair, []).append(plan)
    return {pair: sum(plans) / len(plans) for pair, plans in gathered.items()}


def _bases(taped: Taped, plans: Mapping[Pair, float]) -> Iterator[Layout]:
    """Two held points or more; else triangles, the best shaped first, so that no single slip spoils them all."""
    if len({(round(across, 3), round(out, 3)) for _, across, out in taped.held}) > 1:
        yield {at: (across, out) for at, across, out in taped.held}
        return
    if len(taped.points) < 3:
        yield dict(enumerate([(0.0, 0.0), (next(iter(plans.values()), 0.0), 0.0)][: len(taped.points)]))
        return
    shaped = []
    for corners in combinations(range(len(taped.points)), 3):
        sides = [plans.get(pair, 0.0) for pair in combinations(corners, 2)]
        if min(sides) > 0.0:
            shaped.append((-triangle_area(*sides) / max(sides) ** 2, corners, sides))
    for _, (i, j, k), (ij, ik, jk) in sorted(shaped):
        yield {i: (0.0, 0.0), j: (ij, 0.0), k: circle_crossings((0.0, 0.0), ik, (ij, 0.0), jk)[0]}


def _extended(base: Layout, taped: Taped, plans: Mapping[Pair, float]) -> list[Layout]:
    count, held = len(taped.points), [at for at, _, _ in taped.held]
    kept = [base]
    while True:
        here = next((at for at in held if at in kept[0]), None)
        if here is not None:  # points held at one place come together
            kept = [{**dict.fromkeys(held, layout[here]), **layout} for layout in kept]
        placed = kept[0].keys()
        if len(placed) == count:
            return kept
        ties = {at: [p for p in placed if _pair(at, p) in plans] for at in range(count) if at not in placed}
        at = max(ties, key=lambda p: len(ties[p]))
        if len(ties[at]) < 2:
            return []
        grown = [{**layout, at: spot} for layout in kept for spot in _spots(at, layout, ties[at], plans)]
        grown.sort(key=lambda layout: (round(_off(layout, plans), 3), -_roundness(layout)))
        kept = grown[:_KEPT]


def _pair(i: int, j: int) -> Pair:
    return (i, j) if i < j else (j, i)


def _off(layout: Layout, plans: Mapping[Pair, float]) -> float:
    """Sum of the misfits in plan [m]: not of their squares, so that one slip does not rule."""
    return sum(
        abs(hypot(layout[i][0] - layout[j][0], layout[i][1] - layout[j][1]) - plan)
        for (i, j), plan in plans.items()
        if i in layout and j in layout
    )


def _spots(at: int, layout: Layout, ties: Sequence[int], plans: Mapping[Pair, float]) -> list[Spot]:
    """Where a point can be, by the three best crossing pairs of its lines; spots nearer than 50 mm are one."""

    def crossing(pair: Pair) -> float:
        (x1, y1), (x2, y2) = layout[pair[0]], layout[pair[1]]
        r1, r2 = plans[_pair(at, pair[0])], plans[_pair(at, pair[1])]
        return triangle_area(r1, r2, hypot(x1 - x2, y1 - y2)) / max(r1 * r2, 1e-9)

    spots: list[Spot] = []
    for i, j in sorted(combinations(ties[:5], 2), key=crossing, reverse=True)[:3]:
        for spot in circle_crossings(layout[i], plans[_pair(at, i)], layout[j], plans[_pair(at, j)]):
            if all(hypot(spot[0] - other[0], spot[1] - other[1]) > 0.05 for other in spots):
                spots.append(spot)
    return spots


def _roundness(layout: Layout) -> int:
    """How far the points in the order typed go round one way: for lines that leave a reflection open."""
    ring = [layout[at] for at in sorted(layout)]
    return abs(sum(turns(ring)))


def turns(ring: Sequence[Spot]) -> list[int]:
    """Left (1) or right (-1) turn at each corner of a ring of points.

    >>> turns([(0, 0), (1, 0), (1, 1), (0, 1)])
    [1, 1, 1, 1]
    """
    count = len(ring)
    found = []
    for at in range(count):
        (ax, ay), (bx, by), (cx, cy) = ring[at - 1], ring[at], ring[(at + 1) % count]
        cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        found.append((cross > 0) - (cross < 0))
    return found
