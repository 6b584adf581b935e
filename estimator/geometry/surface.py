"""The surface a sail is taken to lie on, and areas.

Through three points their plane; through four the bilinear surface (straight from side to side); through more, or
four of which one turns inward, the triangles between neighbours and a hub: the mean of the points, or that corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from estimator.geometry.outline import flat_area, inward_corners
from estimator.geometry.plane import Array


def plan_area(corners: Sequence[Sequence[float]]) -> float:
    """Area of the plan of corners [m2]: the straight sides seen from above.

    >>> plan_area([(0, 0, 3), (5, 0, 2), (5, 5, 3), (0, 5, 2)])
    25.0
    """
    return flat_area(corners)


def area(corners: Sequence[Sequence[float]]) -> float:
    """Area [m2] of the surface between the straight sides of corners (n, 3) in order.

    Three: the triangle. Four: the bilinear patch, integrated by 48 x 48 Gauss points. More: triangles to the mean
    of the corners.

    >>> round(area([(0, 0, 2.4), (5, 0, 3.6), (5, 5, 2.4), (0, 5, 3.6)]), 6)
    25.473745
    """
    points = np.array(corners, dtype=float)
    if len(points) == 3:
        return _triangles(points[0], points[1], points[2])
    if len(points) == 4:
        share, weight = _gauss(48)
        a, b = share[:, None, None], share[None, :, None]
        along = (1 - b) * (points[1] - points[0]) + b * (points[2] - points[3])
        across = (1 - a) * (points[3] - points[0]) + a * (points[2] - points[1])
        patch = np.linalg.norm(np.cross(np.asarray(along + 0 * a), np.asarray(across + 0 * b)), axis=2)
        return float(weight @ patch @ weight)
    return _triangles(points, np.roll(points, -1, axis=0), points.mean(axis=0))


def surface_heights(fixings: Array, places: Array) -> Array:
    """Heights above the plane of places (..., 2) on the surface through fixings (n, 3), both in the plane's axes.

    The fixings run counter-clockwise there. Beyond the fixings the surface goes on as it is.
    """
    if len(fixings) == 3:
        return np.zeros(places.shape[:-1])
    if len(fixings) == 4:
        inward = inward_corners(fixings.tolist())
        if not inward:
            return _bilinear(fixings, places)
        hub = fixings[inward[0]]
        others = fixings[[(inward[0] + k) % 4 for k in (1, 2, 3)]]
        return _fan(others[:2], others[1:], hub, places)
    return _fan(fixings, np.roll(fixings, -1, axis=0), fixings.mean(axis=0), places)


def _bilinear(corner: Array, places: Array) -> Array:
    """Height on P = F0 + a E + b H + a b G: the place is solved for b (a quadratic), then a.

    The root is the one whose local area (E + b G) x (H + a G) is positive; written so that it stays exact when the
    quadratic term vanishes (a parallelogram).
    """
    f0, e, h = corner[0], corner[1] - corner[0], corner[3] - corner[0]
    g = corner[0] - corner[1] + corner[2] - corner[3]
    d = places - f0[:2]
    k2, k1, k0 = _cross(g, h), _cross(d, g) + _cross(e, h), _cross(d, e)
    root = np.sqrt(np.maximum(k1 * k1 - 4 * k2 * k0, 0.0))
    tiny = np.finfo(float).tiny
    usual = -2 * k0 / np.where(k1 + root == 0, tiny, k1 + root)
    b = np.where(k1 >= 0, usual, (root - k1) / (2 * k2 if k2 != 0 else tiny))[..., None]
    line = e[:2] + b * g[:2]
    a = ((d - b * h[:2]) * line).sum(axis=-1) / np.maximum((line * line).sum(axis=-1), tiny)
    b = b[..., 0]
    return np.asarray(f0[2] + a * e[2] + b * h[2] + a * b * g[2])


def _fan(first: Array, second: Array, hub: Array, places: Array) -> Array:
    """Height on the triangle (first, second, hub) that holds the place, or is nearest to holding it."""
    one, two, d = first - hub, second - hub, places[..., None, :] - hub[:2]
    twice = _cross(one, two)
    twice = np.where(np.abs(twice) < 1e-12, 1e-12, twice)
    u, v = _cross(d, two) / twice, _cross(one, d) / twice
    inside = np.minimum(np.minimum(u, v), 1 - u - v)
    chosen = np.argmax(inside, axis=-1)[..., None]
    heights = hub[2] + u * one[:, 2] + v * two[:, 2]
    return np.asarray(np.take_along_axis(heights, chosen, axis=-1)[..., 0])


def _cross(p: Array, q: Array) -> Array:
    return np.asarray(p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0])


def _triangles(a: Array, b: Array, c: Array) -> float:
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=-1).sum() / 2)


@cache
def _gauss(n: int) -> tuple[Array, Array]:
    at, weight = np.polynomial.legendre.leggauss(n)
    return (at + 1) / 2, weight / 2
