"""Where the search for the shape of a sail begins, and how the mesh comes along when its corners move."""

from __future__ import annotations

import numpy as np

from estimator.geometry.form_density import NotSettled
from estimator.geometry.form_film import spanned
from estimator.geometry.form_mesh import Mesh
from estimator.geometry.plane import Array


def first_shape(mesh: Mesh, corners: Array, hollow: Array) -> Array | NotSettled:
    """Edges as parabolas, hollow (n) [m] towards the middle of the sail, cloth by even force densities between them."""
    share, middle = _shares(mesh), corners.mean(axis=0)
    rim = np.zeros((mesh.count, 3))
    for nodes, one, two, dip in zip(mesh.edges, corners, np.roll(corners, -1, axis=0), hollow, strict=True):
        along = (two - one) / np.linalg.norm(two - one)
        inward = middle - (one + two) / 2
        inward -= (inward @ along) * along
        inward /= max(float(np.linalg.norm(inward)), 1e-12)
        rim[nodes] = one + share * (two - one) + 4 * share * (1 - share) * dip * inward
    return _within(mesh, rim)


def carried(mesh: Mesh, shape: Array, moves: Array) -> Array | NotSettled:
    """The shape with its corners moved by moves (n, 3) [m]: edges come along evenly, the cloth by force densities.

    Without it a corner would run over the nodes beside it, which the film lets move across the edge only.
    """
    share = _shares(mesh)
    rim = np.zeros((mesh.count, 3))
    for nodes, one, two in zip(mesh.edges, moves, np.roll(moves, -1, axis=0), strict=True):
        rim[nodes] = one + share * (two - one)
    change = _within(mesh, rim)
    return change if isinstance(change, NotSettled) else shape + change


def _shares(mesh: Mesh) -> Array:
    return np.linspace(0.0, 1.0, mesh.edges.shape[1])[:, None]


def _within(mesh: Mesh, rim: Array) -> Array | NotSettled:
    held = np.zeros(mesh.count, dtype=bool)
    held[mesh.edges.ravel()] = True
    return spanned(rim, mesh.triangles, held)
