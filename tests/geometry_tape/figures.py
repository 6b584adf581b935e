"""Random figures of points and how a tape would measure them."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import combinations

from estimator.geometry.tape import TapedLine, TapedPoint, class_limit

Spot = tuple[float, float]
NAMES = "ABCDEFG"


def quadrilateral(chance: random.Random) -> list[Spot]:
    """Four points in order: sides 1.5 to 6 m, no angle under 40 degrees, none turned in."""
    while True:
        ring = [(chance.uniform(0, 7), chance.uniform(0, 7)) for _ in range(4)]
        sides = [math.dist(ring[at], ring[at - 1]) for at in range(4)]
        angles = [_angle(ring[at - 1], ring[at], ring[(at + 1) % 4]) for at in range(4)]
        if all(1.5 <= side <= 6 for side in sides) and min(angles) >= 40 and abs(sum(angles) - 360) < 1e-6:
            return ring


def pentagon(chance: random.Random) -> list[Spot]:
    """Five points round a middle, no two nearer than 1.5 m."""
    while True:
        ring = []
        for at in range(5):
            turn, reach = 2 * math.pi * at / 5 + chance.uniform(-0.4, 0.4), chance.uniform(2, 4)
            ring.append((reach * math.cos(turn), reach * math.sin(turn)))
        if min(math.dist(a, b) for a, b in combinations(ring, 2)) > 1.5:
            return ring


def measured(
    spots: Sequence[Spot],
    chance: random.Random,
    reading: float = 0.0,
    slip: tuple[int, float] | None = None,
    level: bool = False,
    pairs: Sequence[tuple[int, int]] | None = None,
) -> tuple[list[TapedPoint], list[TapedLine]]:
    """All lines (or some pairs), at random heights, each off by a uniform error within the limit of a class II tape
    (standard deviation: limit / root 3) and by a normal reading error; `slip` adds to one line."""
    heights = [chance.uniform(2.2, 3.5) for _ in spots]
    lines = []
    for at, (i, j) in enumerate(pairs or list(combinations(range(len(spots)), 2))):
        rise = 0.0 if level else heights[i] - heights[j]
        length = math.hypot(math.dist(spots[i], spots[j]), rise)
        limit = class_limit(length)
        length += chance.uniform(-limit, limit) + (chance.gauss(0, reading) if reading else 0.0)
        lines.append(TapedLine(NAMES[i], NAMES[j], length + (slip[1] if slip and slip[0] == at else 0.0), level))
    return [TapedPoint(NAMES[at], height) for at, height in enumerate(heights)], lines


def framed(spots: Sequence[Spot]) -> list[Spot]:
    """The true places with the first at the origin, the second along Across, the third on the Out side."""
    (ax, ay), (bx, by) = spots[0], spots[1]
    length = math.dist(spots[0], spots[1])
    c, s = (bx - ax) / length, (by - ay) / length
    turned = [((x - ax) * c + (y - ay) * s, (y - ay) * c - (x - ax) * s) for x, y in spots]
    return turned if turned[2][1] > 0 else [(x, -y) for x, y in turned]


def _angle(before: Spot, at: Spot, after: Spot) -> float:
    one = math.atan2(before[1] - at[1], before[0] - at[0])
    two = math.atan2(after[1] - at[1], after[0] - at[0])
    between = abs(math.degrees(one - two)) % 360
    return min(between, 360 - between)
