"""The axis of a post: its lean, its lengths, its foot and its hole. Lengths m, angles degrees."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, pi, radians, sqrt, tan


def lean_direction(pulls: Sequence[Sequence[float]], even: float) -> tuple[float, float]:
    """Unit vector in plan toward the sail: a post leans the other way. (0, 0) for a post that is pulled evenly.

    pulls: from the fixing to each corner that hangs on the post, in space; each counts alike, whatever its length.
    even: horizontal sum of the unit pulls up to which the post stands plumb.

    >>> lean_direction([(2, 0, 0)], even=0.1)
    (1.0, 0.0)
    >>> lean_direction([(2, 0, 0), (-3, 0, 0)], even=0.1)
    (0.0, 0.0)
    """
    x = y = 0.0
    for pull in pulls:
        length = sqrt(sum(part * part for part in pull))
        if length > 0:
            x, y = x + pull[0] / length, y + pull[1] / length
    total = hypot(x, y)
    return (0.0, 0.0) if total <= even or total == 0 else (x / total, y / total)


def post_lengths(
    height: float, ground: float, lean_degrees: float, top_margin: float, depth: float
) -> tuple[float, float]:
    """Length of a post above ground and in the ground, both along the post.

    height of its highest fixing and ground level from one datum; top_margin: how far the post runs on above the
    fixing, along itself; depth: of the post below ground, upright. Lean below 90 degrees.

    >>> [round(length, 4) for length in post_lengths(3.0, 0.0, 5.0, 0.125, 0.9)]
    [3.1365, 0.9034]
    """
    upright = cos(radians(lean_degrees))
    return (height - ground) / upright + top_margin, depth / upright


def foot(
    fixing: Sequence[float], ground: float, lean_degrees: float, toward: tuple[float, float]
) -> tuple[float, float]:
    """Where the axis of the post meets the ground, in plan: the axis passes through the fixing and its top leans away
    from the sail, so the foot stands nearer to the sail.

    >>> [round(part, 4) for part in foot((0, 0, 3.0), 0.0, 5.0, (0.0, 1.0))]
    [0.0, 0.2625]
    """
    away = (fixing[2] - ground) * tan(radians(lean_degrees))
    return fixing[0] + away * toward[0], fixing[1] + away * toward[1]


def hole_centre(
    foot_at: Sequence[float], depth: float, lean_degrees: float, toward: tuple[float, float]
) -> tuple[float, float]:
    """Centre of the upright hole in plan: half the depth further along the lean, so that the post keeps its cover all
    the way down.

    >>> [round(part, 4) for part in hole_centre((0.0, 0.2625), 0.9, 5.0, (0.0, 1.0))]
    [0.0, 0.3019]
    """
    on = depth / 2 * tan(radians(lean_degrees))
    return foot_at[0] + on * toward[0], foot_at[1] + on * toward[1]


def filled_depth(volume: float, diameter: float, post_outline_area: float = 0.0) -> float:
    """How deep concrete stands in a round hole [m], round a post that runs all the way down.

    volume: of concrete in place [m3]; diameter: of the hole [m]; post_outline_area: cross-section of the post [m2],
    smaller than the hole. Source: right circular cylinder less a prism, h = V / (pi d^2 / 4 - a).

    >>> round(filled_depth(0.040, 0.35), 2), round(filled_depth(0.0546, 0.3, 0.01), 2)
    (0.42, 0.9)
    """
    return volume / (pi * diameter**2 / 4 - post_outline_area)


def filled_diameter(volume: float, depth: float, post_outline_area: float = 0.0) -> float:
    """Diameter of the round column that concrete makes at a depth [m], round a post that runs all the way down.

    Source: the same cylinder, d = root of 4 (V / h + a) / pi. 300 lb of concrete at 145 lb/ft3 is 2.07 ft3, a column
    of 9.7 in when 4 ft deep:

    >>> foot = 0.3048
    >>> round(filled_diameter(300 / 145 * foot**3, 4 * foot) / foot * 12, 1)
    9.7
    """
    return sqrt(4 * (volume / depth + post_outline_area) / pi)
