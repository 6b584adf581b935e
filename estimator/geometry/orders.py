"""The 2n ways to hang the corners of an outline on fixings in order: n starts, two faces; and each way's best turn.

In the plane only. A run can be cut to any length, but a pull off the bisector wrinkles the cloth: a placement is
measured by the sum of the squared distances of each fixing from the bisector line of its corner.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.corners import outward_bisectors
from estimator.geometry.outline import area_centroid, signed_area
from estimator.geometry.plane import Array

SAMPLES = 360
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Orders:
    """All orders of one outline. corners (2n, n, 2): the corner for each fixing, counter-clockwise, about the area
    centroid; outward (2n, n, 2): bisectors; index (2n, n): which corner of the outline it is."""

    corners: Array
    outward: Array
    index: Whole
    nominal: float  # perimeter


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """Placements in the plane (k): order, angle [rad], shift (k, 2) of the centroid, sum of squared offsets [m2],
    forward (k, n): how far each fixing lies ahead of its corner along the bisector [m]."""

    order: Whole
    angle: Array
    shift: Array
    offsets_squared: Array
    forward: Array


def orders_of(outline: Array) -> Orders:
    """Orders of an outline (n, 2): starts 0, 1 ... as drawn, then starts 0, 1 ... turned over."""
    n = len(outline)
    about = outline - np.array(area_centroid(outline.tolist()))
    if signed_area(outline.tolist()) < 0:
        about = about * (1.0, -1.0)
    steps = np.arange(n)
    index = np.concatenate([(steps[:, None] + steps) % n, (steps[:, None] - steps) % n])
    corners = about[index]
    corners[n:, :, 1] *= -1.0  # turned over it would run clockwise; its mirror image runs with the fixings
    sides = np.linalg.norm(np.roll(about, -1, axis=0) - about, axis=1)
    return Orders(corners, outward_bisectors(corners), index, float(sides.sum()))


def turned(corners: Array, angle: Array) -> Array:
    """Corners (k, n, 2) turned counter-clockwise by angle (k)."""
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    x, y = corners[..., 0], corners[..., 1]
    return np.stack([c * x - s * y, s * x + c * y], axis=-1)


def best_turns(orders: Orders, fixings: Array) -> Turned:
    """Every local minimum of the sum of squared offsets, over all orders and all turns; fixings (n, 2).

    For a given turn the best shift is a linear least-squares problem whose matrix (the normals of the bisectors)
    does not depend on the turn. What is left is r = alpha cos t + beta sin t - epsilon, so that the sum |r|^2 is a
    trigonometric polynomial of degree 2 in t: at most two minima, found by sampling and Newton's method in brackets.
    """
    normal = np.stack([-orders.outward[..., 1], orders.outward[..., 0]], axis=-1)
    inverse = np.linalg.pinv(normal)
    rest = np.eye(normal.shape[1]) - normal @ inverse
    x, y = fixings[:, 0], fixings[:, 1]
    with_cos = normal[..., 0] * x + normal[..., 1] * y
    with_sin = normal[..., 0] * y - normal[..., 1] * x
    constant = (normal * orders.corners).sum(axis=-1)
    alpha, beta, epsilon = ((rest @ part[..., None])[..., 0] for part in (with_cos, with_sin, constant))
    order, angle = _minima(alpha, beta, epsilon)
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    offsets = alpha[order] * c + beta[order] * s - epsilon[order]
    aim = with_cos[order] * c + with_sin[order] * s - constant[order]
    shift = (inverse[order] @ aim[..., None])[..., 0]  # in the axes of the sail
    seen = np.stack([c * x + s * y, c * y - s * x], axis=-1)
    forward = (orders.outward[order] * (seen - shift[:, None] - orders.corners[order])).sum(axis=-1)
    return Turned(order, angle, turned(shift[:, None], angle)[:, 0], (offsets * offsets).sum(axis=-1), forward)


def _minima(alpha: Array, beta: Array, epsilon: Array) -> tuple[Whole, Array]:
    """Order and angle of each local minimum of |alpha cos t + beta sin t - epsilon|^2, rows are orders."""
    double_cos = ((alpha * alpha).sum(axis=1) - (beta * beta).sum(axis=1)) / 2
    double_sin = (alpha * beta).sum(axis=1)
    single_cos, single_sin = -2 * (alpha * epsilon).sum(axis=1), -2 * (beta * epsilon).sum(axis=1)
    t = np.arange(SAMPLES) * (2 * np.pi / SAMPLES)
    parts = np.stack([double_cos, double_sin, single_cos, single_sin], axis=1)
    sums = parts @ np.stack([np.cos(2 * t), np.sin(2 * t), np.cos(t), np.sin(t)])
    low = (sums <= np.roll(sums, 1, axis=1)) & (sums < np.roll(sums, -1, axis=1))
    low[np.arange(len(sums)), np.argmin(sums, axis=1)] = True  # a level sum has no strict minimum
    order, at = (found.astype(np.int64) for found in np.nonzero(low))
    a2, b2, a1, b1 = parts[order].T
    angle, lower, upper = t[at], t[at] - t[1], t[at] + t[1]
    for _ in range(40):
        c, s, cc, ss = np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)
        slope = -2 * a2 * ss + 2 * b2 * cc - a1 * s + b1 * c
        bend = -4 * a2 * cc - 4 * b2 * ss - a1 * c - b1 * s
        lower, upper = np.where(slope < 0, angle, lower), np.where(slope > 0, angle, upper)
        newton = angle - slope / np.where(bend > 0, bend, np.inf)
        inside = (bend > 0) & (newton >= lower) & (newton <= upper)
        step = np.where(slope == 0, angle, np.where(inside, newton, (lower + upper) / 2))
        done = np.abs(step - angle).max() < 1e-15
        angle = step
        if done:
            break
    return order, np.asarray(angle, dtype=float)
