"""Where a sail of given size hangs between its fixings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.geometry.corners import angles_off, hang
from estimator.geometry.orders import Orders, Turned, best_turns, orders_of, turned
from estimator.geometry.outline import crosses_itself, inward_corners
from estimator.geometry.plane import Array, Plane, into_plane, out_of_plane, points_of, ring_plane
from estimator.geometry.refused import Refused, Short
from estimator.geometry.settle import lift, settle

Point = tuple[float, float, float]
# Sums this near are one: symmetrical sails have several equal placements, which rounding must not choose between.
SAME_SHARE, SAME_SQUARE = 1e-9, 1e-16
WITHIN = 1e-9  # m


@dataclass(frozen=True, slots=True)
class Placement:
    """A sail on its fixings, at rest. All lists in the order of the fixings; lengths m, angles degrees.

    order: which corner of the outline hangs on each fixing; mirrored: the sail is turned over. gap: straight distance
    fixing to corner, negative when past it (never in an accepted one); needed: what the corner's parts and stretch
    ask for; forward: part of the gap along the outward bisector; off_bisector, off_centroid: the pull against the
    bisector and against the line from the centroid, unsigned; radius: corner to centroid of the flat outline.
    sides: of the outline, from each fixing to the next. offsets_squared: sum of squared sideways offsets in the plane
    before scaling [m2]; scale: of the outline in the plane. how: `bisector` (least offsets) or `margin` (least offsets
    left a corner short; the largest least margin). centroid: of the sail, on the surface. normal: of the plane, up.
    """

    corners: tuple[Point, ...]
    order: tuple[int, ...]
    mirrored: bool
    gap: tuple[float, ...]
    needed: tuple[float, ...]
    forward: tuple[float, ...]
    off_bisector: tuple[float, ...]
    off_centroid: tuple[float, ...]
    radius: tuple[float, ...]
    sides: tuple[float, ...]
    offsets_squared: float
    scale: float
    how: str
    centroid: Point
    normal: Point


@dataclass(frozen=True, slots=True, eq=False)
class Given:
    """What one placement is worked out from, checked: plane, fixings (n, 3) in it, orders, needs."""

    plane: Plane
    fixings: Array
    orders: Orders
    needed: Array
    stretch: float


def place_sail(
    outline: Sequence[Sequence[float]],
    fixings: Sequence[Sequence[float]],
    needed: Sequence[float],
    stretch: float,
    *,
    largest_off: float = 15.0,
    find_scale: bool = True,
) -> Placement | Refused:
    """The placement of a sail on its fixings, or why it cannot hang there.

    outline (n, 2) [m]; fixings (n, 3) [m] in order round the sail; needed (n): what the parts of each corner need
    when tight, without stretch [m]; stretch: as a fraction. In the best plane of the fixings, over all orders and
    turns, the least sum of squared offsets of the fixings from the bisector lines of their corners; placements with a
    corner past its fixing only count when there is no other. Ties go to the least sum of squared gaps, then to the
    first order. Where a corner has less than it needs, the placement with the largest least margin is tried: what
    lies ahead of a corner along its bisector less what it needs, with no pull further off than largest_off [degrees],
    or than the first placement's worst up to twice that. find_scale: whether a refusal looks for the size that would
    fit, which takes about ten times as long.

    >>> square = [(0, 0), (4, 0), (4, 4), (0, 4)]
    >>> posts = [(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)]
    >>> [round(gap, 3) for gap in place_sail(square, posts, [0.4] * 4, 0.03).gap]
    [0.707, 0.707, 0.707, 0.707]
    >>> place_sail(square, posts, [0.7] * 4, 0.03).why
    'no room'
    """
    given = given_for(outline, fixings, needed, stretch)
    if isinstance(given, Refused):
        return given
    first = place(given)
    if fits(first):
        return first
    from estimator.geometry.margin import ALIKE, largest_margin, largest_scale

    second = largest_margin(given, first, largest_off)
    if fits(second):
        return second
    best = max(first, second, key=lambda found: round(least_margin(found), ALIKE))
    return _refusal(best, largest_scale(given, largest_off) if find_scale else None)


def given_for(
    outline: Sequence[Sequence[float]], fixings: Sequence[Sequence[float]], needed: Sequence[float], stretch: float
) -> Given | Refused:
    """The checked start of a placement, or the reason why there is none."""
    points = points_of(fixings)
    if isinstance(points, Refused):
        return points
    try:
        flat, wants = np.array(outline, dtype=float), np.array(needed, dtype=float)
    except (TypeError, ValueError):
        return Refused("not a number", "A length of the sail is not a number.")
    n = len(points)
    if flat.shape != (n, 2) or wants.shape != (n,):
        return Refused("too few", f"{n} fixings need a sail of {n} corners and {n} lengths needed.")
    numbers = [*flat.ravel().tolist(), *wants.tolist(), float(stretch)]
    if not np.isfinite(numbers).all() or stretch < 0 or (wants < 0).any():
        return Refused(
            "not a number", "A length of the sail, a length needed or the stretch is not a number from 0 up."
        )
    crossed = crosses_itself(flat.tolist())
    if crossed:
        return Refused("crossing", f"Sides {crossed[0] + 1} and {crossed[1] + 1} of the sail cross.", crossed)
    inward = inward_corners(flat.tolist())
    if inward:
        return Refused("turned in", f"Corner {inward[0] + 1} of the sail turns inward or is straight.", inward)
    plane = ring_plane(points)
    if isinstance(plane, Refused):
        return plane
    return Given(plane, into_plane(plane, points), orders_of(flat), wants, float(stretch))


def place(given: Given) -> Placement:
    """The placement with the least sum of squared offsets."""
    found = best_turns(given.orders, given.fixings[:, :2])
    ahead = (found.forward >= -WITHIN).all(axis=1)
    sums = np.where(ahead, found.offsets_squared, np.inf) if ahead.any() else found.offsets_squared
    limit = sums.min() * (1 + SAME_SHARE) + SAME_SQUARE * given.orders.nominal**2
    tied = np.flatnonzero(sums <= limit)
    flat = turned(given.orders.corners[found.order[tied]], found.angle[tied])
    corners, _ = settle(flat, found.shift[tied], given.orders.nominal, given.fixings)
    squares = (hang(corners, given.fixings).gap ** 2).sum(axis=1)
    chosen = tied[np.flatnonzero(squares <= squares.min() * (1 + SAME_SHARE) + SAME_SQUARE)[0]]
    return placed(given, found, int(chosen), "bisector")


def placed(given: Given, found: Turned, at: int, how: str) -> Placement:
    """Everything about one placement of those found."""
    order = int(found.order[at])
    flat = turned(given.orders.corners[order : order + 1], found.angle[at : at + 1])
    corners, scale = settle(flat, found.shift[at : at + 1], given.orders.nominal, given.fixings)
    hung = hang(corners[0], given.fixings)
    centroid = lift(found.shift[at], given.fixings)
    pull = given.fixings - corners[0]
    radius = np.linalg.norm(given.orders.corners[order], axis=1)
    own = given.orders.corners[order]
    normal = given.plane.axes[2] * (1.0 if _points_up(given.plane.axes[2]) else -1.0)
    return Placement(
        corners=_points(out_of_plane(given.plane, corners[0])),
        order=tuple(int(i) for i in given.orders.index[order]),
        mirrored=order >= len(pull),
        gap=_floats(np.where(hung.forward < -WITHIN, -hung.gap, hung.gap)),
        needed=_floats(given.needed + given.stretch * radius),
        forward=_floats(hung.forward),
        off_bisector=_floats(angles_off(pull, hung.outward)),
        off_centroid=_floats(angles_off(pull, corners[0] - centroid)),
        radius=_floats(radius),
        sides=_floats(np.linalg.norm(np.roll(own, -1, axis=0) - own, axis=1)),
        offsets_squared=float(found.offsets_squared[at]),
        scale=float(scale[0]),
        how=how,
        centroid=_points(out_of_plane(given.plane, centroid[None]))[0],
        normal=_points(normal[None])[0],
    )


def least_margin(found: Placement) -> float:
    """The smallest of gap less needed [m]; negative when a corner is short."""
    return min(gap - needed for gap, needed in zip(found.gap, found.needed, strict=True))


def fits(found: Placement) -> bool:
    """Whether every corner lies inside its fixing and has the room its parts need."""
    return min(found.forward) >= -WITHIN and least_margin(found) >= -WITHIN


def _refusal(best: Placement, scale: float | None) -> Refused:
    short = [i for i in range(len(best.gap)) if best.gap[i] < best.needed[i] - WITHIN or best.forward[i] < -WITHIN]
    numbers = [
        f"corner {i + 1} lies {-best.gap[i]:.3f} m past its fixing"
        if best.gap[i] < 0
        else f"corner {i + 1} has {best.gap[i]:.3f} m"
        for i in short
    ]
    needs = [f" and needs {best.needed[i]:.3f} m" for i in short]
    return Refused(
        why="past its fixing" if min(best.forward) < -WITHIN else "no room",
        words=f"The sail does not fit: {'; '.join(a + b for a, b in zip(numbers, needs, strict=True))}.",
        at=tuple(short),
        corners=tuple(Short(i, best.gap[i], best.needed[i]) for i in short),
        least_margin=least_margin(best),
        largest_scale=scale,
    )


def _points_up(normal: Array) -> bool:
    return bool(next(value for value in (normal[2], normal[1], normal[0]) if abs(value) > 1e-9) > 0)


def _floats(values: Array) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def _points(values: Array) -> tuple[Point, ...]:
    return tuple((float(x), float(y), float(z)) for x, y, z in values + 0.0)
