"""A sail under pressure brought to rest: Newton steps, each as long as the forces left over do work along it.

Pulled cloth is far stiffer lengthwise than across, so a whole step overshoots while the sail still moves by
centimetres: the forces then pull back. A step ends where their work along it is nearly nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.form_density import NotSettled, assemble, solved
from estimator.geometry.form_elastic import Cloth, Ropes, balance
from estimator.geometry.plane import Array

LEFT_OVER = 1e-9  # force left at a node, as a share of the largest force on a fixing
FARTHEST = 0.1  # of the sail's size: the longest move of a node in one step


def settled(
    cloth: Cloth,
    edges: Ropes,
    links: Ropes,
    points: Array,
    held: NDArray[np.bool_],
    pressure: float,
    most: int = 120,
) -> tuple[Array, float, int] | NotSettled:
    """Places (k, 3) [m] at rest, the largest force left over at a free node [N] and the steps taken."""
    from scipy.sparse import diags_array

    free = np.flatnonzero(np.repeat(~held, 3))
    size = float(np.ptp(points, axis=0).max())
    damping, off = 0.0, float("inf")
    left, pieces = balance(cloth, edges, links, points, pressure)
    for step in range(most):
        force = left.ravel()[free]
        off = float(np.abs(force).max())
        on = float(np.linalg.norm(left[held], axis=1).max())
        if off <= LEFT_OVER * on:
            return points, off, step
        stiff = assemble(len(points), pieces)[free][:, free].tocsc()
        spread = diags_array(np.abs(stiff.diagonal()))
        while True:
            move = solved((stiff + damping * spread).tocsc() if damping else stiff, force)
            if move is not None and float(move @ force) > 0:
                break
            damping = max(damping * 8, 1e-4)
            if damping > 1e6:
                return NotSettled("load", off, step)
        move *= min(1.0, FARTHEST * size / float(np.abs(move).max()))
        whole = np.zeros(3 * len(points))
        whole[free] = move
        way = whole.reshape(-1, 3)
        first = float(move @ force)
        low, high, share = 0.0, 0.0, 1.0
        at_low, at_high = first, 0.0
        for _ in range(12):
            tried = points + share * way
            left, pieces = balance(cloth, edges, links, tried, pressure)
            work = float(left.ravel()[free] @ move)
            if abs(work) <= 0.5 * first or (share == 1.0 and work > 0):
                break
            if work > 0:
                low, at_low = share, work
            else:
                high, at_high = share, work
            share = low + (high - low) * min(max(at_low / (at_low - at_high), 0.1), 0.9)
        points = tried
        damping = damping / 8 if damping > 1e-5 else 0.0
    return NotSettled("load", off, most)
