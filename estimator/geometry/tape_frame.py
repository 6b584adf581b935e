"""The figure in the axes of the site: where it stands, which way it is turned, which of two mirrors it is.

Imports numpy: import it inside the function that needs it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.tape_checks import Pair, Taped
from estimator.geometry.tape_model import OtherPlace
from estimator.geometry.tape_solve import Array, Network, network, settle, standard_deviations
from estimator.geometry.tape_start import Layout, layouts, turns

_EQUAL = 6.635  # chi-squared, one degree, 1 %: a figure worse by less fits as well
_APART = 0.02  # m: figures nearer than this in every point are one


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """One layout that fits the lines: coordinates, their standard deviations, sum of squared misfits."""

    xy: Array
    std: Array
    misfit: float
    axis: Pair


def figures(taped: Taped) -> list[tuple[Array, float]]:
    """Every layout that the lines settle to, unplaced, best first; reflections of the whole count once."""
    net = network(taped)
    found: list[tuple[Array, float]] = []
    begun: list[Array] = []
    for start in _starts(taped, net):
        if _new(net, start, begun) and len(begun) < 40:
            begun.append(start)
            xy, off = settle(net, start)
            if _new(net, xy, [other for other, _ in found], 1e-4):
                found.append((xy, off))
    return sorted(found, key=lambda pair: pair[1])


def choose(taped: Taped, found: list[tuple[Array, float]]) -> tuple[Figure, list[OtherPlace]]:
    """The figure meant, placed in the axes of the site, and the other places that fit as well.

    Of figures that fit alike: the one that keeps the mirror rule, then the one whose points, in the order typed,
    go round without a bend inward or a crossing, then the best fit.
    """
    net = network(taped)
    alike = [_placed(net, xy, off) for xy, off in found if off <= found[0][1] + _EQUAL]
    kept = [figure for figure in alike if _mirror_kept(net, figure)] or alike
    chosen = min(kept, key=lambda f: (round(_disorder(f.xy), 6), f.misfit))
    others = [
        OtherPlace(taped.points[at].name, float(figure.xy[at, 0]), float(figure.xy[at, 1]))
        for figure in kept
        for at in range(net.count)
        if float(np.abs(figure.xy[at] - chosen.xy[at]).max()) > _APART
    ]
    return chosen, others


def mirror_words(taped: Taped, figure: Figure) -> str:
    """Which points lie left and right of the line from the first to the second; blank with none beside it."""
    names = [point.name for point in taped.points]
    sides: dict[str, list[str]] = {"left": [], "right": [], "on the line": []}
    for at in range(len(names)):
        if at not in figure.axis:
            offset = _offsets(figure)[at]
            sides["on the line" if not _clear(figure, at) else "left" if offset > 0 else "right"].append(names[at])
    told = ", ".join(f"{' and '.join(who)} {where}" for where, who in sides.items() if who)
    return f"Seen from {names[figure.axis[0]]} to {names[figure.axis[1]]}: {told}." if told else ""


def _starts(taped: Taped, net: Network) -> list[Array]:
    rough = layouts(taped)
    if rough:
        return [_array(net, layout) for layout in rough]
    # stiff, but no point can be put down from two others: scattered starts, the same ones every time
    chance = np.random.default_rng(7)
    reach = float(net.taped.max(initial=1.0))
    middle = net.given[net.held].mean(axis=0) if net.held.any() else np.zeros(2)
    scattered = [middle + chance.uniform(-reach, reach, (net.count, 2)) for _ in range(40)]
    return [np.where(net.held[:, None], net.given, start) for start in scattered]


def _array(net: Network, layout: Layout) -> Array:
    xy = np.array([layout[at] for at in range(net.count)]).reshape(-1, 2)
    return xy + (net.given[net.held][0] - xy[net.held][0]) if net.held.any() else xy


def _new(net: Network, xy: Array, others: list[Array], apart: float = _APART) -> bool:
    """Whether a layout differs from others by more than a movement (and mirror) of the whole."""
    shape = _shape(net, xy)
    return all(float(np.abs(shape - _shape(net, other)).max(initial=0.0)) > apart for other in others)


def _shape(net: Network, xy: Array) -> Array:
    if net.defect == 0:
        return xy
    pairs: NDArray[np.intp] = np.array(list(combinations(range(net.count), 2)), dtype=np.intp).reshape(-1, 2)
    gap: Array = np.hypot(*(xy[pairs[:, 0]] - xy[pairs[:, 1]]).T)
    return gap


def _placed(net: Network, xy: Array, off: float) -> Figure:
    axis = _axis(net, xy)
    if net.defect:
        step = xy[axis[1]] - xy[axis[0]]
        length = float(np.hypot(*step))
        turn = np.array([[step[0], -step[1]], [step[1], step[0]]]) / length if length else np.eye(2)
        xy = xy @ turn
        anchor = int(np.flatnonzero(net.held)[0]) if net.held.any() else axis[0]
        xy = xy - xy[anchor] + net.given[anchor]
        figure = Figure(xy, standard_deviations(net, xy, axis), off, axis)
        if not _mirror_kept(net, figure):
            # + 0.0: no minus nought for the points on the line
            xy = np.column_stack([xy[:, 0], 2 * xy[anchor, 1] - xy[:, 1] + 0.0])
        return Figure(xy, figure.std, off, axis)
    return Figure(xy, standard_deviations(net, xy, axis), off, axis)


def _axis(net: Network, xy: Array) -> Pair:
    """The first point and the next that does not stand above or below it; held ones where they give the frame."""
    among = np.flatnonzero(net.held).tolist() if net.defect == 0 else list(range(net.count))
    first = among[0]
    return first, next((at for at in among[1:] if float(np.hypot(*(xy[at] - xy[first]))) > 0.05), among[-1])


def _offsets(figure: Figure) -> Array:
    """How far each point lies left of the axis [m]; negative: right of it."""
    first, second = figure.xy[figure.axis[0]], figure.xy[figure.axis[1]]
    step = second - first
    beside = figure.xy - first
    offsets: Array = (step[0] * beside[:, 1] - step[1] * beside[:, 0]) / max(float(np.hypot(*step)), 1e-9)
    return offsets


def _clear(figure: Figure, at: int) -> bool:
    """Whether a point lies surely beside the axis: a row of points says nothing of the mirror."""
    return bool(abs(_offsets(figure)[at]) > max(0.005, 3 * float(figure.std[at].max())))


def _mirror_kept(net: Network, figure: Figure) -> bool:
    """Whether the first point clearly beside the axis lies on its Out side (on its left where it runs along Out).

    True where held points beside the axis settle the mirror themselves.
    """
    offsets = _offsets(figure)
    if net.defect == 0 and bool((np.abs(offsets[net.held]) > 0.005).any()):
        return True
    beside = [at for at in range(net.count) if at not in figure.axis and not (net.defect == 0 and net.held[at])]
    if not beside:
        return True
    decides = next((at for at in beside if _clear(figure, at)), max(beside, key=lambda at: abs(offsets[at])))
    step = figure.xy[figure.axis[1]] - figure.xy[figure.axis[0]]
    out_is_left = step[0] > -1e-6 * float(np.hypot(*step))
    return bool(offsets[decides] >= 0) if out_is_left else bool(offsets[decides] <= 0)


def _disorder(xy: Array) -> float:
    """0 for a ring of points that goes round one way; else the share of corners that turn the other way, and more
    for every crossing of its sides."""
    ring = [(float(x), float(y)) for x, y in xy]
    if len(ring) < 4:
        return 0.0
    against = (len(ring) - abs(sum(turns(ring)))) / len(ring)
    sides = [(ring[at - 1], ring[at]) for at in range(len(ring))]
    return against + sum(_cross(*a, *b) for a, b in combinations(sides, 2))


def _cross(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]) -> bool:
    return turns([a, b, c])[1] * turns([a, b, d])[1] < 0 and turns([c, d, a])[1] * turns([c, d, b])[1] < 0


def crossing_pairs(figure: Figure) -> tuple[Pair, Pair] | None:
    """The two of the three ways to pair four points whose lines cross: the diagonals; None where none do."""
    ring = [(float(x), float(y)) for x, y in figure.xy]
    for (a, b), (c, d) in (((0, 2), (1, 3)), ((0, 1), (2, 3)), ((0, 3), (1, 2))):
        if _cross(ring[a], ring[b], ring[c], ring[d]):
            return (a, b), (c, d)
    return None
