"""When the least offsets leave a corner short: the placement with the largest least margin, and the size that fits.

The margin of a corner is what its gap has more than it needs. A gap counts for at most forward / cos(limit): a sail
turned askew has long gaps all round, but it would slip back as soon as it is pulled tight.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from estimator.geometry.corners import hang
from estimator.geometry.orders import Turned, Turns, best_turns, turned
from estimator.geometry.placement import Given, Placement, fits, place, placed
from estimator.geometry.plane import Array
from estimator.geometry.settle import settle

ANGLES = 24  # turns tried for each order before the best are refined
REFINED = 4  # starts that are refined
STEP = 1e-6  # m, for slopes by central differences


@dataclass(frozen=True, slots=True, eq=False)
class Best:
    """A placement in the plane and its least margin [m]."""

    order: int
    angle: float
    shift: Array
    margin: float


def largest_margin(given: Given, largest_off: float) -> Placement:
    """The placement whose least margin is largest, over all orders, turns and shifts."""
    best = _best(given, largest_off)
    found = Turned(
        np.array([best.order]), np.array([best.angle]), best.shift[None], _offsets(given, best)[None], np.zeros((1, 1))
    )
    return placed(given, found, 0, "margin")


def largest_scale(given: Given, largest_off: float) -> float:
    """The largest factor, at most 1, of the outline that finds a placement; 0 when no size does."""
    return max(_by_margin(given, largest_off), _by_offsets(given))


def scaled(given: Given, factor: float) -> Given:
    """The same with an outline of another size."""
    orders = given.orders
    smaller = replace(orders, corners=orders.corners * factor, nominal=orders.nominal * factor)
    return replace(given, orders=smaller)


def _by_margin(given: Given, largest_off: float) -> float:
    """The factor whose largest least margin is nothing: the margin falls almost evenly with the size."""
    low, high = 1e-6, 1.0
    start = _best(scaled(given, low), largest_off)
    if start.margin < 0:
        return 0.0
    low_margin, high_margin = start.margin, _best(given, largest_off).margin
    for _ in range(40):
        if high_margin >= 0 or (high - low) * given.orders.nominal < 1e-7:
            break
        middle = low + (high - low) * min(max(low_margin / (low_margin - high_margin), 0.02), 0.98)
        if low_margin < 1e-9:
            break
        margin = _best(scaled(given, middle), largest_off).margin
        if margin >= 0:
            low, low_margin = middle, margin
        else:
            high, high_margin = middle, margin
    return high if high_margin >= 0 else low


def _by_offsets(given: Given) -> float:
    """The largest factor that the placement by least offsets accepts, by halving."""
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if fits(place(scaled(given, middle))) else (low, middle)
    return low


def _best(given: Given, largest_off: float) -> Best:
    starts = _starts(given, largest_off)
    return max((_refined(given, largest_off, start) for start in starts), key=lambda best: best.margin)


def _starts(given: Given, largest_off: float) -> list[Best]:
    """The most promising placements: the least offsets, and even turns of every order with their best shift."""
    fixings = given.fixings[:, :2]
    least = best_turns(given.orders, fixings)
    count = len(given.orders.corners)
    order = np.concatenate([least.order, np.repeat(np.arange(count), ANGLES)])
    angle = np.concatenate([least.angle, np.tile(np.arange(ANGLES) * (2 * np.pi / ANGLES), count)])
    even = fixings.mean(axis=0) - turned(given.orders.corners[order], angle).mean(axis=1)
    shift = np.concatenate([least.shift, even[len(least.shift) :]])
    margin = _rooms(given, order, angle, shift, largest_off).min(axis=1)
    chosen: list[Best] = []
    seen: list[Array] = []
    for at in np.argsort(-margin, kind="stable"):
        corners = turned(given.orders.corners[order[at : at + 1]], angle[at : at + 1])[0] + shift[at]
        if all(np.abs(corners - other).max() > 1e-6 for other in seen):
            seen.append(corners)
            chosen.append(Best(int(order[at]), float(angle[at]), shift[at], float(margin[at])))
        if len(chosen) == REFINED:
            break
    return chosen


def _refined(given: Given, largest_off: float, start: Best) -> Best:
    """From one start to the nearest largest least margin: a smooth programme in turn, shift and margin."""
    from scipy.optimize import minimize

    size = given.orders.nominal / 4
    order = np.full(7, start.order)
    steps = np.zeros((7, 3))
    for k in range(3):
        steps[1 + 2 * k, k], steps[2 + 2 * k, k] = STEP, -STEP

    def rooms(at: Array) -> Array:
        return _rooms(given, order[:1], at[:1] / size, at[None, 1:3], largest_off)[0] - at[3]

    def slopes(at: Array) -> Array:
        around = at[:3] + steps
        values = _rooms(given, order, around[:, 0] / size, around[:, 1:], largest_off)
        by_place = (values[1::2] - values[2::2]).T / (2 * STEP)
        return np.concatenate([by_place, -np.ones((len(by_place), 1))], axis=1)

    begin = np.array([start.angle * size, *start.shift, start.margin])
    answer = minimize(
        lambda at: -at[3],
        begin,
        jac=lambda at: np.array([0.0, 0.0, 0.0, -1.0]),
        constraints={"type": "ineq", "fun": rooms, "jac": slopes},
        method="SLSQP",
        options={"ftol": 1e-12, "maxiter": 60},
    )
    at = answer.x
    margin = float(_rooms(given, order[:1], at[:1] / size, at[None, 1:3], largest_off).min())
    return Best(start.order, float(at[0] / size), at[1:3], margin) if margin > start.margin else start


def _rooms(given: Given, order: Turns, angle: Array, shift: Array, largest_off: float) -> Array:
    """Room left (k, 2 n) [m]: by the gap, then by what counts of it at most; their least is the margin."""
    own = given.orders.corners[order]
    corners, _ = settle(turned(own, angle), shift, given.orders.nominal, given.fixings)
    hung = hang(corners, given.fixings)
    need = given.needed + given.stretch * np.linalg.norm(own, axis=2)
    at_most = hung.forward / max(np.cos(np.radians(largest_off)), 1e-9)
    return np.concatenate([hung.gap - need, at_most - need], axis=1)


def _offsets(given: Given, best: Best) -> Array:
    """Sum of squared sideways offsets of one placement in the plane [m2]."""
    own = turned(given.orders.corners[best.order][None], np.array([best.angle]))[0]
    outward = turned(given.orders.outward[best.order][None], np.array([best.angle]))[0]
    pull = given.fixings[:, :2] - own - best.shift
    aside = outward[:, 0] * pull[:, 1] - outward[:, 1] * pull[:, 0]
    return np.asarray((aside * aside).sum())
