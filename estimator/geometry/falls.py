"""How steeply a sail falls, where it drains and how much."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import atan2, degrees, hypot

LEVEL = 1e-9  # m


@dataclass(frozen=True, slots=True)
class Fall:
    """From the higher to the lower of two corners, counted from 0.

    run: horizontal length [m]; drop [m]; degrees; percent and mm_per_m of the run, None where one hangs right above
    the other. side: a side of the sail; otherwise a diagonal.
    """

    start: int
    end: int
    side: bool
    run: float
    drop: float
    degrees: float
    percent: float | None
    mm_per_m: float | None


def fall(start: Sequence[float], end: Sequence[float]) -> tuple[float, float | None, float | None]:
    """Degrees, per cent and mm per m of the straight line between two points, unsigned.

    >>> [round(value, 2) for value in fall((0, 0, 3), (3, 4, 2))]
    [11.31, 20.0, 200.0]
    >>> fall((0, 0, 3), (0, 0, 2))
    (90.0, None, None)
    """
    run, drop = hypot(end[0] - start[0], end[1] - start[1]), abs(end[2] - start[2])
    if run < LEVEL:
        return (90.0 if drop >= LEVEL else 0.0), None, None
    return degrees(atan2(drop, run)), 100 * drop / run, 1000 * drop / run


def falls(corners: Sequence[Sequence[float]]) -> tuple[Fall, ...]:
    """Every side, in order round the sail, then every diagonal; corners (n, 3).

    >>> [(f.start, f.end, f.side, round(f.mm_per_m)) for f in falls([(0, 0, 3), (4, 0, 3), (4, 4, 2)])]
    [(0, 1, True, 0), (1, 2, True, 250), (0, 2, True, 177)]
    """
    n = len(corners)
    sides = [(i, (i + 1) % n) for i in range(n)]
    diagonals = [(i, j) for i, j in combinations(range(n), 2) if j - i not in (1, n - 1)]
    found = []
    for first, second in [*sides, *diagonals]:
        lower = corners[second][2] > corners[first][2] or (corners[second][2] == corners[first][2] and second < first)
        start, end = (second, first) if lower else (first, second)
        a, b = corners[start], corners[end]
        found.append(
            Fall(start, end, (first, second) in sides, hypot(b[0] - a[0], b[1] - a[1]), a[2] - b[2], *fall(a, b))
        )
    return tuple(found)


def lowest(corners: Sequence[Sequence[float]], within: float = 1e-6) -> tuple[int, ...]:
    """The lowest corners, from 0: where water leaves. Several where they lie within so many m of the lowest.

    >>> lowest([(0, 0, 3), (4, 0, 2), (4, 4, 3), (0, 4, 2)])
    (1, 3)
    """
    least = min(corner[2] for corner in corners)
    return tuple(i for i, corner in enumerate(corners) if corner[2] - least <= within)


def litres_a_second(area: float, rain: float) -> float:
    """Run-off [litres a second] of a plan area [m2] under rain [mm an hour]; nothing soaks through.

    >>> round(litres_a_second(area=20, rain=100), 2)
    0.56
    """
    return area * rain / 3600
