"""The rule of the fit written a second time, from its words and with other means, to check the engine against.

Nothing here uses the package. A placement in the plane is x, y of the sail's centroid and a turn; the sum of squared
distances of the fixings from the bisector lines is minimised numerically from many starts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from scipy.optimize import least_squares

Array = np.ndarray


@dataclass(frozen=True)
class Optimum:
    offsets_squared: float
    least_forward: float


def flattened(fixings: Array) -> Array:
    """Fixings in their least-squares plane, counter-clockwise: by the eigenvectors of the scatter matrix."""
    about = fixings - fixings.mean(axis=0)
    _, vectors = np.linalg.eigh(about.T @ about)
    flat = about @ vectors[:, [2, 1]]
    return flat if turning(flat) > 0 else flat * (1, -1)


def turning(points: Array) -> float:
    x, y = points.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def ways(outline: Array) -> list[Array]:
    """All ways to number the corners: n starts, as drawn and as its mirror image, each counter-clockwise."""
    n = len(outline)
    drawn = outline if turning(outline) > 0 else outline * (-1, 1)
    mirrored = (drawn * (-1, 1))[::-1]
    return [np.roll(face, -start, axis=0) for face in (drawn, mirrored) for start in range(n)]


def outward(corners: Array) -> Array:
    """Bisectors by half the turn: each corner's outward normal of the two sides, averaged."""
    ahead = np.roll(corners, -1, axis=0) - corners
    angle = np.arctan2(ahead[:, 1], ahead[:, 0])
    before = np.roll(angle, 1)
    middle = before + ((angle - before + pi) % (2 * pi) - pi) / 2 - pi / 2
    return np.stack([np.cos(middle), np.sin(middle)], axis=1)


def offsets(at: Array, corners: Array, fixings: Array) -> tuple[Array, Array]:
    """Sideways offset and distance ahead of each fixing, of one placement."""
    x, y, turn = at
    c, s = np.cos(turn), np.sin(turn)
    spin = np.array([[c, -s], [s, c]])
    placed = corners @ spin.T + (x, y)
    ray = outward(placed)
    away = fixings - placed
    return ray[:, 0] * away[:, 1] - ray[:, 1] * away[:, 0], (ray * away).sum(axis=1)


def optima(outline: Array, fixings: Array, starts: int) -> list[Optimum]:
    """Local minima found from evenly turned starts in every order."""
    flat = flattened(fixings)
    found = []
    for corners in ways(outline - outline.mean(axis=0)):
        for k in range(starts):
            begin = (*flat.mean(axis=0), 2 * pi * k / starts + 0.1)
            answer = least_squares(
                lambda at, corners=corners: offsets(at, corners, flat)[0], begin, xtol=1e-15, ftol=1e-15, gtol=1e-15
            )
            side, ahead = offsets(answer.x, corners, flat)
            found.append(Optimum(float((side * side).sum()), float(ahead.min())))
    return found


def best_of(found: list[Optimum], touching: float = 1e-6) -> float | None:
    """The least sum by the rule: with all corners inside if there is such an optimum; None where rounding decides
    whether a corner is inside."""
    if any(abs(o.least_forward) < touching for o in found):
        return None
    inside = [o.offsets_squared for o in found if o.least_forward >= 0]
    return min(inside or [o.offsets_squared for o in found])
