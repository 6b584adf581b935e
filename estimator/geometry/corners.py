"""How a corner stands to its fixing: gap, room along the bisector, direction of the pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.geometry.plane import Array


@dataclass(frozen=True, slots=True, eq=False)
class Hang:
    """Of corners (..., n): gap, forward [m] and the angles [degrees]; outward (..., n, d) unit vectors."""

    gap: Array
    forward: Array
    outward: Array


def unit(vectors: Array) -> Array:
    """Vectors (..., d) of length 1; nothing stays nothing."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    return np.asarray(vectors / np.where(length == 0, 1.0, length))


def outward_bisectors(corners: Array) -> Array:
    """Unit vectors (..., n, d) that point away from the sail on the bisector of the two straight sides of each
    corner (..., n, d), in the plane or in space. The corners must not turn inward.

    >>> outward_bisectors(np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])).round(3).tolist()[2]
    [0.707, 0.707]
    """
    back = unit(np.roll(corners, 1, axis=-2) - corners)
    ahead = unit(np.roll(corners, -1, axis=-2) - corners)
    return -unit(back + ahead)


def hang(corners: Array, fixings: Array) -> Hang:
    """Gap: straight distance to the fixing; forward: its part along the outward bisector, negative when the corner
    lies past its fixing. corners (..., n, 3) on fixings (n, 3)."""
    outward = outward_bisectors(corners)
    pull = fixings - corners
    return Hang(np.linalg.norm(pull, axis=-1), np.asarray((pull * outward).sum(axis=-1)), outward)


def angles_off(pull: Array, direction: Array) -> Array:
    """Angle [degrees, 0 to 180] between vectors (n, d); 0 where one of them is nothing.

    Source: atan2(|a x b|, a . b) in the form 2 atan2(|u - v|, |u + v|) for unit vectors (Kahan), exact near 0 and 180.

    >>> angles_off(np.array([[1.0, 0.0]]), np.array([[1.0, 1.0]])).round(9).tolist()
    [45.0]
    """
    u, v = unit(pull), unit(direction)
    angle = 2 * np.degrees(np.arctan2(np.linalg.norm(u - v, axis=-1), np.linalg.norm(u + v, axis=-1)))
    nothing = (np.linalg.norm(pull, axis=-1) < 1e-9) | (np.linalg.norm(direction, axis=-1) < 1e-9)
    return np.where(nothing, 0.0, angle)
