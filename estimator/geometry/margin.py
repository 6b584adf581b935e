"""When the least offsets leave a corner short: the placement with the largest least margin, and the size that fits.

The margin of a corner is here what it has ahead of it along its bisector more than it needs; its gap is never less.
What a gap gains by swinging aside does not count, and no pull may be further off its bisector than a limit: a sail
turned askew would always find gaps that are long enough, and slip back as soon as it is pulled.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from estimator.geometry.corners import hang
from estimator.geometry.orders import Turned, Whole, best_turns, turned
from estimator.geometry.placement import Given, Placement, fits, place, placed
from estimator.geometry.plane import Array
from estimator.geometry.settle import settle

ANGLES = 24  # turns tried for each order before the best are refined
REFINED = 3  # starts that are refined
APART = 0.02  # of the perimeter: starts that lie nearer than this are of a kind
STEP = 1e-6  # m, for slopes by central differences
FINE = 1e-6  # of the factor that fits
ROUNDS = 12  # of settling while searching; what is found is settled to the end
ALIKE = 9  # decimals to which two rooms are told apart [m]
KEPT = 1e-7  # m, by which a limit of direction may be missed


@dataclass(frozen=True, slots=True, eq=False)
class Best:
    """A placement in the plane [m]: room is the least of what lies ahead less needed, margin of gap less needed,
    straight what the pulls have left to the limit of direction."""

    order: int
    angle: float
    shift: Array
    room: float
    margin: float
    straight: float

    def worth(self) -> tuple[bool, float]:
        """What makes one better than another: within the limit first, then the room; of two alike the first found
        stays, whatever the last digits of a processor say."""
        kept = self.straight >= -KEPT
        return kept, round(self.room if kept else self.straight, ALIKE)

    def good(self) -> bool:
        """Whether it may be used."""
        return self.straight >= -KEPT and self.margin >= 0


def largest_margin(given: Given, first: Placement, largest_off: float) -> Placement:
    """The placement whose least margin is largest, over all orders, turns and shifts; first: by least offsets, kept
    where no placement can do."""
    if most_scale(given) < 1:
        return first
    best = _best(given, _limit(first, largest_off), None)
    found = Turned(
        np.array([best.order]), np.array([best.angle]), best.shift[None], _offsets(given, best)[None], np.zeros((1, 1))
    )
    return placed(given, found, 0, "margin")


def largest_scale(given: Given, largest_off: float) -> float:
    """The largest factor, at most 1, of the outline that finds a placement by either rule, to FINE; 0 when none does.

    First by least offsets, by halving. From there on by the largest margin, which falls almost evenly with the size
    (a corner recedes by about its radius), so that the secant rule finds where it is nothing.
    """
    high = min(1.0, most_scale(given))
    low = _by_offsets(given, high)
    factor = min(low + 1e-4, high)
    best = _tried(given, factor, largest_off, None)
    if not best.good():
        return low
    reach = float(np.linalg.norm(given.orders.corners[0], axis=1).mean())
    margin = best.margin  # at low
    for _ in range(40):
        if high - low <= FINE:
            break
        if best.good():
            low, margin = factor, best.margin
            guess = factor + margin / reach
        else:
            high = factor
            even = best.straight >= -KEPT and margin > best.margin
            guess = low + (factor - low) * margin / (margin - best.margin) if even else (low + high) / 2
        keep_off = max(0.01 * (high - low), FINE / 4)
        factor = min(max(guess, low + keep_off), high - keep_off)
        best = _tried(given, factor, largest_off, best)
    return low


def _tried(given: Given, factor: float, largest_off: float, like: Best | None) -> Best:
    smaller = scaled(given, factor)
    return _best(smaller, _limit(place(smaller), largest_off), like)


def _by_offsets(given: Given, high: float) -> float:
    """The largest factor up to high that the placement by least offsets accepts, by halving."""
    low = 0.0
    while high - low > FINE:
        middle = (low + high) / 2
        low, high = (middle, high) if fits(place(scaled(given, middle))) else (low, middle)
    return low


def most_scale(given: Given) -> float:
    """A factor of the outline beyond which some corner must lie past its fixing: where the sail's sides are together
    longer than those of the fixings.

    Moving a corner ahead along its outward bisector lengthens its two sides, and the length of sides is a convex
    function of the corners: so fixings that all lie ahead of their corners have the longer sides.
    """
    sides = np.linalg.norm(np.roll(given.fixings, -1, axis=0) - given.fixings, axis=1)
    return float(sides.sum()) / given.orders.nominal


def scaled(given: Given, factor: float) -> Given:
    """The same with an outline of another size."""
    orders = given.orders
    return replace(given, orders=replace(orders, corners=orders.corners * factor, nominal=orders.nominal * factor))


def _limit(first: Placement, largest_off: float) -> float:
    """How far off its bisector a pull may be [degrees]: as far as the least offsets already ask for, within twice
    the usual limit (a corner that nearly touches its fixing says nothing)."""
    return min(max(largest_off, *first.off_bisector), 2 * largest_off, 90.0)


def _best(given: Given, limit: float, like: Best | None) -> Best:
    """The best of the refined starts; like: a placement of nearly the same sail, as one more start."""
    starts = _starts(given, limit)
    if like is not None:
        starts.append(_measured(given, limit, like.order, like.angle, like.shift))
    return max((_refined(given, limit, start) for start in starts), key=Best.worth)


def _starts(given: Given, limit: float) -> list[Best]:
    """The most promising placements: the least offsets, and even turns of every order, each shifted to where its
    least room in the plane is about largest; not two of a kind."""
    fixings = given.fixings[:, :2]
    least = best_turns(given.orders, fixings)
    count = len(given.orders.corners)
    order = np.concatenate([least.order, least.order, np.repeat(np.arange(count), ANGLES)])
    angle = np.concatenate([least.angle, least.angle, np.tile(np.arange(ANGLES) * (2 * np.pi / ANGLES), count)])
    corners = turned(given.orders.corners[order], angle)
    shift = _shifted(given, corners, turned(given.orders.outward[order], angle))
    shift[: len(least.shift)] = least.shift
    ahead, straights, _ = _rooms(given, order, angle, shift, limit)
    worth = ahead.min(axis=1) + 3 * np.minimum(straights.min(axis=1), 0)
    corners += shift[:, None]
    apart = APART * given.orders.nominal
    chosen: list[int] = []
    for at in np.argsort(-worth, kind="stable").tolist():
        if all(np.abs(corners[at] - corners[other]).max() > apart for other in chosen):
            chosen.append(at)
        if len(chosen) == REFINED:
            break
    return [_measured(given, limit, int(order[at]), float(angle[at]), shift[at]) for at in chosen]


def _shifted(given: Given, corners: Array, outward: Array) -> Array:
    """For corners and their bisectors (k, n, 2), the shifts (k, 2) that make the least room about largest: from the
    middle, by steps away from the tightest fixing that become shorter."""
    need = given.needed + given.stretch * np.linalg.norm(corners, axis=2)
    shift = given.fixings[:, :2].mean(axis=0) - corners.mean(axis=1)
    ahead = ((given.fixings[:, :2] - corners - shift[:, None]) * outward).sum(axis=2) - need
    rows = np.arange(len(corners))
    for step in given.orders.nominal / 16 * 0.85 ** np.arange(40):
        away = -step * outward[rows, ahead.argmin(axis=1)]
        shift = shift + away
        ahead = ahead - (away[:, None] * outward).sum(axis=2)
    return np.asarray(shift)


def _refined(given: Given, limit: float, start: Best) -> Best:
    """From one start to the nearest largest least margin: a smooth programme in turn, shift and margin."""
    from scipy.optimize import fmin_slsqp

    size = given.orders.nominal / 4
    far = 100 * (size + float(np.abs(given.fixings).max()))  # where a step of the programme went astray
    order = np.full(7, start.order)
    steps = np.zeros((7, 3))
    for k in range(3):
        steps[1 + 2 * k, k], steps[2 + 2 * k, k] = STEP, -STEP
    n = len(given.fixings)
    lowered = np.repeat([1.0, 0.0], n)  # the margin enters the room, not the directions

    def rooms(at: Array) -> Array:
        at = np.where(np.abs(at) < far, at, far)
        both = _rooms(given, order[:1], at[:1] / size, at[None, 1:3], limit)[:2]
        return np.asarray(np.concatenate(both, axis=1)[0] - lowered * at[3])

    def slopes(at: Array) -> Array:
        around = at[:3] + steps
        values = np.concatenate(_rooms(given, order, around[:, 0] / size, around[:, 1:], limit)[:2], axis=1)
        by_place = (values[1::2] - values[2::2]).T / (2 * STEP)
        return np.concatenate([by_place, -lowered[:, None]], axis=1)

    def least(at: Array) -> float:
        return -float(at[3])

    def downhill(at: Array) -> Array:
        return np.array([0.0, 0.0, 0.0, -1.0])

    answer = fmin_slsqp(
        least,
        np.array([start.angle * size, *start.shift, start.room]),
        f_ieqcons=rooms,
        fprime=downhill,
        fprime_ieqcons=slopes,
        iter=40,
        acc=1e-12,
        iprint=0,
    )
    at = np.asarray(answer, dtype=float)
    if not np.isfinite(at).all():
        return start
    found = _measured(given, limit, start.order, float(at[0] / size), at[1:3])
    return max(start, found, key=Best.worth)


def _measured(given: Given, limit: float, order: int, angle: float, shift: Array) -> Best:
    rooms, straights, gaps = _rooms(given, np.array([order]), np.array([angle]), shift[None], limit)
    return Best(order, angle, shift, float(rooms.min()), float(gaps.min()), float(straights.min()))


def _rooms(given: Given, order: Whole, angle: Array, shift: Array, limit: float) -> tuple[Array, Array, Array]:
    """Of placements (k, n): forward less needed; forward less what the limit of direction asks of the gap; gap less
    needed [m]."""
    own = given.orders.corners[order]
    corners, _ = settle(turned(own, angle), shift, given.orders.nominal, given.fixings, ROUNDS)
    hung = hang(corners, given.fixings)
    need = given.needed + given.stretch * np.linalg.norm(own, axis=2)
    return hung.forward - need, hung.forward - hung.gap * np.cos(np.radians(limit)), hung.gap - need


def _offsets(given: Given, best: Best) -> Array:
    """Sum of squared sideways offsets of one placement in the plane [m2]."""
    angle = np.array([best.angle])
    own = turned(given.orders.corners[[best.order]], angle)[0]
    outward = turned(given.orders.outward[[best.order]], angle)[0]
    pull = given.fixings[:, :2] - own - best.shift
    aside = outward[:, 0] * pull[:, 1] - outward[:, 1] * pull[:, 0]
    return np.asarray((aside * aside).sum())
