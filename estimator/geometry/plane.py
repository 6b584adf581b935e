"""The best plane of points in space, and their places in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.outline import crosses_itself, signed_area
from estimator.geometry.refused import Refused

Array = NDArray[np.float64]
# Points spread across their line by less than this share of their spread along it are one line:
# 1 mm on 10 m, which no tape can tell from straight.
NEARLY_STRAIGHT = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """origin: mean of the points; axes: rows along, across, normal (right-handed), in the axes of the points."""

    origin: Array
    axes: Array


def points_of(given: Sequence[Sequence[float]] | Any, least: int = 3) -> Array | Refused:
    """Points (n, 3) as an array, or why they are none.

    >>> points_of([(0, 0, 0), (1, 0, 0), (1, 0, 0)]).why
    'coincident'
    """
    try:
        points = np.array(given, dtype=float)
    except (TypeError, ValueError):
        return Refused("not a number", "A coordinate is not a number.")
    if points.ndim != 2 or points.shape[1] != 3 or len(points) < least:
        return Refused("too few", f"At least {least} points with three coordinates each are needed.")
    if not np.isfinite(points).all():
        bad = tuple(int(i) for i in np.flatnonzero(~np.isfinite(points).all(axis=1)))
        return Refused("not a number", "A coordinate is not a finite number.", bad)
    apart = np.linalg.norm(points[:, None] - points[None], axis=2) + np.eye(len(points)) * 1e9
    first, second = (int(i) for i in np.unravel_index(int(np.argmin(apart)), apart.shape))
    if apart[first, second] < 1e-6:
        return Refused("coincident", f"Points {first + 1} and {second + 1} are one point.", (first, second))
    return points


def best_plane(points: Array) -> Plane | Refused:
    """Plane through the mean of points (n, 3) with the least sum of squared distances; its normal points up.

    Source: total least squares by singular values. For three points it is their plane.

    >>> best_plane(np.array([(0, 0, 1), (2, 0, 1), (2, 2, 1), (0, 2, 1.0)])).axes[2].tolist()
    [0.0, 0.0, 1.0]
    """
    origin = points.mean(axis=0)
    _, spread, axes = np.linalg.svd(points - origin)
    if spread[1] <= NEARLY_STRAIGHT * spread[0]:
        return Refused("in one line", "The points lie in one line.", tuple(range(len(points))))
    along, normal = axes[0], axes[2]
    # a vertical sail has no upper face: there the first coordinate that is not nothing decides, for one answer always
    deciding = next(value for value in (normal[2], normal[1], normal[0]) if abs(value) > 1e-9)
    normal = normal if deciding > 0 else -normal
    return Plane(origin, np.array([along, np.cross(normal, along), normal]) + 0.0)


def into_plane(plane: Plane, points: Array) -> Array:
    """Places (..., 3) in the axes of the plane: along, across, above it."""
    return np.asarray((points - plane.origin) @ plane.axes.T)


def out_of_plane(plane: Plane, places: Array) -> Array:
    """The way back: points (..., 3) in space."""
    return np.asarray(places @ plane.axes + plane.origin)


def ring_plane(points: Array) -> Plane | Refused:
    """Best plane of points in order round a sail, its axes turned so that they run counter-clockwise in it (the
    normal may then point down); refused when the order crosses itself there."""
    plane = best_plane(points)
    if isinstance(plane, Refused):
        return plane
    flat = into_plane(plane, points)[:, :2].tolist()
    crossed = crosses_itself(flat)
    if crossed:
        n = len(points)
        names = " and ".join(f"{i + 1} to {(i + 1) % n + 1}" for i in crossed)
        return Refused(
            "crossing", f"In this order the sides {names} cross: name the fixings in order round the sail.", crossed
        )
    if signed_area(flat) < 0:
        plane = Plane(plane.origin, plane.axes * np.array([[1.0], [-1.0], [-1.0]]))
    return plane
