"""Angles of a figure and the check of a taped one: lengths m, angles degrees."""

from __future__ import annotations

from math import acos, degrees, dist

from estimator.geometry.outline import Impossible, Plan, quadrilateral


def angle_between_sides(a: float, b: float, opposite: float) -> float:
    """Angle [degrees] between two sides of a triangle, from the side opposite to it.

    Source: cosine rule, c2 = a2 + b2 - 2 a b cos C. The lengths must make a triangle.

    >>> round(angle_between_sides(3, 4, 5), 6)
    90.0
    """
    return degrees(acos(max(-1.0, min(1.0, (a * a + b * b - opposite * opposite) / (2 * a * b)))))


def corner_angles(outline: Plan) -> tuple[float, ...]:
    """Angle [degrees] between the two sides of each corner, 0 to 180, in the plane or in space.

    >>> [round(angle, 6) for angle in corner_angles([(0, 0), (5.4, 0), (5.4, 3.6), (0, 3.6)])]
    [90.0, 90.0, 90.0, 90.0]
    """
    n = len(outline)
    return tuple(
        angle_between_sides(
            dist(outline[i], outline[i - 1]),
            dist(outline[i], outline[(i + 1) % n]),
            dist(outline[i - 1], outline[(i + 1) % n]),
        )
        for i in range(n)
    )


def second_diagonal(a: float, b: float, c: float, d: float, diagonal: float) -> float | Impossible:
    """The diagonal from corner 2 to corner 4 [m] that goes with four sides and the first diagonal: the check of a
    taped four-sided figure.

    >>> round(second_diagonal(5.8, 4.9, 5.8, 4.9, 7.593), 3)
    7.593
    """
    shape = quadrilateral(a, b, c, d, diagonal)
    return shape if isinstance(shape, Impossible) else dist(shape[1], shape[3])
