"""Triangles over a sail of n corners: a fan of n sectors about a hub; three corners need no hub."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.plane import Array

Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """count: nodes; triangles (m, 3); edges (n, divisions + 1): the nodes from corner i to corner i + 1."""

    count: int
    triangles: Index
    edges: Index

    @property
    def corners(self) -> Index:
        """The node of every corner, (n)."""
        return self.edges[:, 0]

    @property
    def segments(self) -> Index:
        """Straight pieces of the edges, (n * divisions, 2), edge after edge."""
        return np.stack([self.edges[:, :-1], self.edges[:, 1:]], axis=2).reshape(-1, 2)


def fan(corners: int, divisions: int) -> Mesh:
    """The mesh of a sail, every edge in `divisions` pieces; triangles run the way the corners do.

    >>> fan(4, 2).count, len(fan(4, 2).triangles), fan(3, 2).count
    (13, 16, 6)
    """
    numbers: dict[tuple[int, int, int], int] = {}
    sectors = 1 if corners == 3 else corners

    def node(sector: int, row: int, along: int) -> int:
        if corners > 3 and along == row:  # the last spoke of a sector is the first of the next
            sector, along = (sector + 1) % corners, 0
        return numbers.setdefault((0, 0, 0) if row == 0 else (sector, row, along), len(numbers))

    triangles = []
    for sector in range(sectors):
        for row in range(divisions):
            for at in range(row + 1):
                one = node(sector, row, at)
                triangles.append((one, node(sector, row + 1, at), node(sector, row + 1, at + 1)))
                if at < row:
                    triangles.append((one, node(sector, row + 1, at + 1), node(sector, row, at + 1)))
    steps = range(divisions + 1)
    if corners == 3:
        edges = [
            [node(0, at, 0) for at in steps],
            [node(0, divisions, at) for at in steps],
            [node(0, divisions - at, divisions - at) for at in steps],
        ]
    else:
        edges = [[node(sector, divisions, at) for at in steps] for sector in range(corners)]
    return Mesh(len(numbers), np.array(triangles, dtype=np.intp), np.array(edges, dtype=np.intp))


def grid(divisions: int) -> tuple[Array, Index, NDArray[np.bool_]]:
    """A square patch: shares u, v of every node (k, 2), triangles (m, 3) and which nodes lie on its edge.

    The diagonals turn from cell to cell, so that the mesh leans no way.

    >>> [len(part) for part in grid(2)]
    [9, 8, 9]
    """
    side = np.arange(divisions + 1)
    u, v = (part.ravel() for part in np.meshgrid(side, side, indexing="ij"))
    i, j = (part.ravel() for part in np.meshgrid(side[:-1], side[:-1], indexing="ij"))
    a, b, c, d = (x * (divisions + 1) + y for x, y in ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)))
    even = ((i + j) % 2 == 0)[:, None, None]
    one = np.stack([np.stack([a, b, c], 1), np.stack([a, c, d], 1)], 1)
    other = np.stack([np.stack([a, b, d], 1), np.stack([b, c, d], 1)], 1)
    rim = (u == 0) | (v == 0) | (u == divisions) | (v == divisions)
    return np.stack([u, v], 1) / divisions, np.where(even, one, other).reshape(-1, 3).astype(np.intp), rim
