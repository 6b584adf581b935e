"""Least squares over taped lines. Imports numpy: import it inside the function that needs it.

Plan coordinates are arrays of shape (points, 2) [m]; columns of a Jacobian run x0, y0, x1, y1 ...
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.tape_checks import Pair, Taped

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Taped lines as arrays. rise: 0 for a level line; held: points whose coordinates are given, at `given`."""

    count: int
    first: NDArray[np.intp]
    second: NDArray[np.intp]
    taped: Array
    rise: Array
    std: Array
    held: NDArray[np.bool_]
    given: Array

    @property
    def defect(self) -> int:
        """Movements of the whole figure that no line hinders: 3, with one held place 1, with more none."""
        places = self.given[self.held]
        return 3 if not len(places) else 1 if float(np.abs(places - places[0]).max()) < 1e-3 else 0

    @property
    def unknowns(self) -> int:
        """Coordinates to be found once the figure is placed; lines beyond that number are spare."""
        return max(2 * int((~self.held).sum()) - self.defect, 0)


def network(taped: Taped) -> Network:
    """The lines as arrays."""
    count = len(taped.points)
    held, given = np.zeros(count, dtype=bool), np.zeros((count, 2))
    for at, across, out in taped.held:
        held[at], given[at] = True, (across, out)
    ends = np.array(taped.pairs, dtype=np.intp).reshape(-1, 2)
    lengths = np.array([line.length for line in taped.lines])
    rise = np.array([taped.rise(at) for at in range(len(taped.lines))])
    return Network(count, ends[:, 0], ends[:, 1], lengths, rise, np.array(taped.stds), held, given)


def computed(net: Network, xy: Array) -> Array:
    """Length of every line at given coordinates, in its own sense [m]."""
    step = xy[net.second] - xy[net.first]
    return np.sqrt(step[:, 0] ** 2 + step[:, 1] ** 2 + net.rise**2)


def misfit(net: Network, xy: Array) -> Array:
    """(computed - taped) / std of every line."""
    return (computed(net, xy) - net.taped) / net.std


def jacobian(net: Network, xy: Array) -> Array:
    """Change of `misfit` with the coordinates, shape (lines, 2 points); 0 in the columns of held points."""
    slope = (xy[net.second] - xy[net.first]) / (np.maximum(computed(net, xy), 1e-9) * net.std)[:, None]
    matrix = np.zeros((len(net.taped), net.count, 2))
    rows = np.arange(len(net.taped))
    matrix[rows, net.second] = slope
    matrix[rows, net.first] -= slope
    matrix[:, net.held] = 0.0
    return matrix.reshape(len(net.taped), 2 * net.count)


def settle(net: Network, start: Array) -> tuple[Array, float]:
    """Coordinates of the nearest least sum of squared misfits, and that sum; damped Gauss-Newton steps."""
    xy, damping = start.copy(), 1e-3
    off = misfit(net, xy)
    best = float(off @ off)
    for _ in range(200):
        slopes = jacobian(net, xy)
        normal, pull = slopes.T @ slopes, slopes.T @ off
        scale = float(normal.diagonal().max())
        if scale == 0.0:
            break
        while damping < 1e12:
            step = -np.linalg.solve(normal + damping * scale * np.eye(len(normal)), pull).reshape(-1, 2)
            tried = misfit(net, xy + step)
            if float(tried @ tried) <= best:
                break
            damping *= 8.0
        else:
            break
        xy, off, best = xy + step, tried, float(tried @ tried)
        damping = max(damping / 20.0, 1e-13)
        if float(np.abs(step).max()) < 1e-11:
            break
    return xy, best


def missing_pairs(net: Network) -> list[Pair]:
    """Pairs that, taped as well, would make a figure that flexes stiff; empty for a stiff one.

    Judged at scattered places of the points, where a figure is stiff exactly when it is so almost everywhere.
    """
    places = np.random.default_rng(20).uniform(1.0, 9.0, (net.count, 2))
    places[net.held] = net.given[net.held]

    def rank(pairs: Sequence[Pair]) -> int:
        ends = np.array(pairs, dtype=np.intp).reshape(-1, 2)
        one = np.ones(len(ends))
        scattered = Network(net.count, ends[:, 0], ends[:, 1], one, 0 * one, one, net.held, net.given)
        return int(np.linalg.matrix_rank(jacobian(scattered, places), tol=1e-9)) if len(ends) else 0

    taped = list(zip(net.first.tolist(), net.second.tolist(), strict=True))
    known = rank(taped)
    missing: list[Pair] = []
    for pair in combinations(range(net.count), 2):
        if known >= net.unknowns:
            break
        if pair not in taped and rank([*taped, *missing, pair]) > known:
            missing.append(pair)
            known += 1
    return missing


def redundancies(net: Network, xy: Array) -> Array:
    """Share of an error in each line that its own residual shows, 0 to 1; they add up to the spare lines."""
    if len(net.taped) <= net.unknowns:  # a row of points would show some, to one side only
        return np.zeros(len(net.taped))
    left, sizes, _ = np.linalg.svd(jacobian(net, xy), full_matrices=False)
    left = left[:, sizes > 1e-7 * sizes.max(initial=0.0)][:, : net.unknowns]
    shares: Array = np.clip(1.0 - (left**2).sum(axis=1), 0.0, 1.0)
    return shares


def standard_deviations(net: Network, xy: Array, axis: Pair) -> Array:
    """Standard deviation of every coordinate [m], shape (points, 2).

    axis: the two points whose line gives the direction of Across (its first holds the place unless one is held).
    Along a movement that the lines hardly hinder (three points in a row) the lines give way by their curvature,
    not by their slope: there the standard deviation is the movement that adds 1 to the sum of squares.
    """
    basis = _datum(net, axis)
    slopes = jacobian(net, xy) @ basis
    values, vectors = np.linalg.eigh(slopes.T @ slopes)
    spread = np.array([_spread(net, xy, basis @ v, value) for value, v in zip(values, vectors.T, strict=True)])
    stds: Array = np.sqrt((((basis @ vectors) * spread) ** 2).sum(axis=1)).reshape(-1, 2)
    return stds


def _datum(net: Network, axis: Pair) -> Array:
    """Columns of the movements that are left when the figure is placed."""
    columns = np.eye(2 * net.count)
    at, to = axis
    fixed = {2 * p + c for p in np.flatnonzero(net.held).tolist() for c in (0, 1)}
    if net.defect == 3:
        fixed |= {2 * at, 2 * at + 1, 2 * to + 1}
    elif net.defect == 1:
        if net.held[at] or net.held[to]:
            fixed |= {2 * at + 1, 2 * to + 1}
        else:  # the line keeps its direction, not its place
            columns[:, 2 * at + 1] += columns[:, 2 * to + 1]
            fixed.add(2 * to + 1)
    return np.delete(columns, sorted(fixed), axis=1)


def _spread(net: Network, xy: Array, movement: Array, value: float) -> float:
    slope_only = 1.0 / np.sqrt(max(value, 1e-12))
    if slope_only < 0.01:
        return float(slope_only)
    off = misfit(net, xy)
    least, way = float(off @ off), movement.reshape(-1, 2)
    reach = []
    for side in (way, -way):
        near, far = 0.0, float(min(slope_only, 10.0))
        for _ in range(30):
            middle = (near + far) / 2
            moved = misfit(net, xy + middle * side)
            near, far = (middle, far) if float(moved @ moved) - least < 1.0 else (near, middle)
        reach.append(far)
    return max(reach)
