"""A sail made to fit: its corners drawn in from the fixings by what their hardware needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from estimator.geometry.corners import angles_off, hang, outward_bisectors
from estimator.geometry.outline import area_centroid, crosses_itself, inward_corners, sides_of
from estimator.geometry.placement import Point
from estimator.geometry.plane import Array, into_plane, out_of_plane, points_of, ring_plane
from estimator.geometry.refused import Refused
from estimator.geometry.settle import lift

SETTLED = 1e-10  # m


@dataclass(frozen=True, slots=True)
class MadeToFit:
    """A sail drawn in from its fixings, at rest. Fields named as in Placement mean the same.

    sides: finished, from each fixing to the next; sewn: as sewn, before it is stretched; diagonals: (from, to,
    length), corners from 0; gap: hardware length when tight plus stretch; rounds: until the radii settled.
    radius: from the drawn corner to the centroid of the drawn sail, in space.
    """

    corners: tuple[Point, ...]
    gap: tuple[float, ...]
    needed: tuple[float, ...]
    forward: tuple[float, ...]
    off_bisector: tuple[float, ...]
    off_centroid: tuple[float, ...]
    radius: tuple[float, ...]
    sides: tuple[float, ...]
    sewn: tuple[float, ...]
    diagonals: tuple[tuple[int, int, float], ...]
    centroid: Point
    normal: Point
    rounds: int
    how: str = "made to fit"


def draw_in(fixings: Sequence[Sequence[float]], tight: Sequence[float], stretch: float) -> MadeToFit | Refused:
    """The sail whose corners lie on the bisector of the two straight sides at each fixing, in space, drawn in by
    tight + stretch x radius; or why there is none.

    fixings (n, 3) [m] in order round the sail; tight (n): hardware lengths when tight [m]; stretch: as a fraction.
    The radius is measured on the drawn sail, so it is found in rounds.

    >>> made = draw_in([(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)], [0.5] * 4, 0.0)
    >>> [round(side, 3) for side in made.sides]
    [4.293, 4.293, 4.293, 4.293]
    """
    points = points_of(fixings)
    if isinstance(points, Refused):
        return points
    lengths = _lengths(tight, stretch, len(points))
    if isinstance(lengths, Refused):
        return lengths
    plane = ring_plane(points)
    if isinstance(plane, Refused):
        return plane
    inward = inward_corners(into_plane(plane, points)[:, :2].tolist())
    if inward:
        n = inward[0] + 1
        return Refused("turned in", f"Fixing {n} lies inside or on the line between its neighbours.", inward)
    inwards = -outward_bisectors(points)
    corners, radius = points, np.zeros(len(points))
    for rounds in range(1, 201):
        corners = points + (lengths + stretch * radius)[:, None] * inwards
        used_up = _used_up(points, corners)
        if used_up:
            return used_up
        found = centroid_of(corners)
        if isinstance(found, Refused):
            return found
        before, radius = radius, np.linalg.norm(corners - found, axis=1)
        if np.abs(radius - before).max() * stretch < SETTLED:
            return _made(points, corners, found, lengths + stretch * radius, radius, stretch, rounds)
    return Refused("no rest", "The stretch is too large for the corners to settle.")


def centroid_of(corners: Array) -> Array | Refused:
    """Centroid of a sail in space (n, 3): the area centroid of its outline in its best plane, lifted onto its
    surface."""
    plane = ring_plane(corners)
    if isinstance(plane, Refused):
        return plane
    flat = into_plane(plane, corners)
    return out_of_plane(plane, lift(np.array(area_centroid(flat[:, :2].tolist())), flat))


def _made(
    points: Array, corners: Array, centroid: Array, gap: Array, radius: Array, stretch: float, rounds: int
) -> MadeToFit | Refused:
    plane = ring_plane(corners)
    if isinstance(plane, Refused):
        return plane
    n = len(points)
    hung = hang(corners, points)
    pull = points - corners
    sides = sides_of(corners.tolist())
    across = [(i, j) for i, j in combinations(range(n), 2) if j - i not in (1, n - 1)]
    up = plane.axes[2] if plane.axes[2][2] >= 0 else -plane.axes[2]
    return MadeToFit(
        corners=_points(corners),
        gap=_floats(hung.gap),
        needed=_floats(gap),
        forward=_floats(hung.forward),
        off_bisector=_floats(angles_off(pull, hung.outward)),
        off_centroid=_floats(angles_off(pull, corners - centroid)),
        radius=_floats(radius),
        sides=sides,
        sewn=tuple(side / (1 + stretch) for side in sides),
        diagonals=tuple((i, j, float(np.linalg.norm(corners[i] - corners[j]))) for i, j in across),
        centroid=_points(centroid[None])[0],
        normal=_points(up[None])[0],
        rounds=rounds,
    )


def _lengths(tight: Sequence[float], stretch: float, n: int) -> Array | Refused:
    try:
        lengths = np.array(tight, dtype=float)
    except (TypeError, ValueError):
        return Refused("not a number", "A hardware length is not a number.")
    if lengths.shape != (n,):
        return Refused("too few", f"{n} fixings need {n} hardware lengths.")
    if not np.isfinite([*lengths.tolist(), float(stretch)]).all() or stretch < 0 or (lengths < 0).any():
        return Refused("not a number", "A hardware length or the stretch is not a number from 0 up.")
    return lengths


def _used_up(points: Array, corners: Array) -> Refused | None:
    """The refusal where a side of the drawn sail has turned round, or its sides cross."""
    between = np.roll(points, -1, axis=0) - points
    drawn = np.roll(corners, -1, axis=0) - corners
    along = (between * drawn).sum(axis=1) / np.linalg.norm(between, axis=1)
    bad = tuple(int(i) for i in np.flatnonzero(along <= 1e-6))
    if bad:
        one, two = bad[0] + 1, (bad[0] + 1) % len(points) + 1
        return Refused("side used up", f"The hardware between fixings {one} and {two} leaves no side.", bad)
    plane = ring_plane(points)
    flat = corners if isinstance(plane, Refused) else into_plane(plane, corners)
    crossed = crosses_itself(flat[:, :2].tolist())
    if crossed:
        return Refused("side used up", f"Drawn in, sides {crossed[0] + 1} and {crossed[1] + 1} cross.", crossed)
    return None


def _floats(values: Array) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def _points(values: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y), float(z)) for x, y, z in values + 0.0)
