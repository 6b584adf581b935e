"""Nets in balance by force densities: pull over length of every branch given, the places follow from one linear system.

Also the sparse sums that every other part of form finding is put together with.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.form_mesh import Index
from estimator.geometry.plane import Array

if TYPE_CHECKING:
    from scipy.sparse import csc_array


@dataclass(frozen=True, slots=True)
class NotSettled:
    """No balance was found.

    name: a key of NAMES. residual: the largest force left over at a node [N], of an unheld part of it. steps: taken.
    """

    name: str
    residual: float
    steps: int


NAMES = {
    "singular": "the net hangs together too loosely to have one place of rest",
    "edges meet": "the edges are so hollow that they meet at a corner before they reach it",
    "not so many corners": "a sail has 3 to 8 corners (x, y, z), a figure for each edge and 2 divisions or more",
    "not a number": "a place, pull, pressure or stiffness that is not finite, or not above nothing where it must be",
    "film": "the film under prestress did not come to rest",
    "load": "the sail under pressure did not come to rest",
}


def gather(count: int, nodes: Index, parts: Array) -> Array:
    """Sum of parts (e, k, 3) at their nodes (e, k): (count, 3)."""
    at = nodes.ravel()
    flat = parts.reshape(-1, 3)
    return np.stack([np.bincount(at, flat[:, axis], count) for axis in range(3)], axis=1)


def assemble(count: int, pieces: Sequence[tuple[Index, Array]]) -> csc_array[Any]:
    """Sparse matrix (3 count, 3 count) of pieces: nodes (e, k) and blocks (e, k, 3, k, 3)."""
    from scipy.sparse import coo_array

    rows, columns, values = [], [], []
    for nodes, blocks in pieces:
        at = (3 * nodes[:, :, None] + np.arange(3)).reshape(len(nodes), 3 * nodes.shape[1])
        rows.append(np.repeat(at, at.shape[1], axis=1).ravel())
        columns.append(np.tile(at, (1, at.shape[1])).ravel())
        values.append(blocks.ravel())
    places = (np.concatenate(rows), np.concatenate(columns))
    return coo_array((np.concatenate(values), places), shape=(3 * count, 3 * count)).tocsc()


def solved(matrix: csc_array[Any], right: Array) -> Array | None:
    """The solution of a sparse system; None for a singular one."""
    from scipy.sparse.linalg import splu

    try:
        answer: Array = splu(matrix, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}).solve(right)
    except RuntimeError:  # how the library says that a pivot is nothing
        return None
    return answer if bool(np.isfinite(answer).all()) else None


def force_density(
    points: Array, branches: Index, densities: Array, held: NDArray[np.bool_], loads: Array | None = None
) -> Array | NotSettled:
    """Places (k, 3) [m] of a net in balance.

    points (k, 3): only those held count; branches (b, 2); densities (b): pull / length [N/m]; held (k);
    loads (k, 3) [N]. At every free node the sum of q (x_other - x) + load is nothing.
    """
    from scipy.sparse import coo_array

    count = len(points)
    if not bool(np.isfinite(points[held]).all() and np.isfinite(densities).all()):
        return NotSettled("not a number", float("inf"), 0)
    one, two = branches.T
    rows, columns = np.concatenate([one, two, one, two]), np.concatenate([one, two, two, one])
    values = np.concatenate([densities, densities, -densities, -densities])
    matrix = coo_array((values, (rows, columns)), shape=(count, count)).tocsr()
    free = np.flatnonzero(~held)
    right = np.zeros((count, 3)) if loads is None else loads.copy()
    right -= matrix[:, np.flatnonzero(held)] @ points[held]
    found = solved(matrix[free][:, free].tocsc(), right[free])
    if found is None:
        return NotSettled("singular", float("inf"), 1)
    places = points.copy()
    places[free] = found
    return places
