"""A film that hangs on links: every corner swings about its fixing into the line of its own pull."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.geometry.form_density import NotSettled
from estimator.geometry.form_film import Work, at_rest, relaxed, slopes
from estimator.geometry.form_mesh import Mesh
from estimator.geometry.form_start import carried
from estimator.geometry.plane import Array

IN_LINE = 1e-6  # of the sail's size: a corner this near the line of its pull is on it
KEPT = 6  # rounds remembered
CREASES = 1e-2  # of the sail's size: a swing as long as this


@dataclass(frozen=True, slots=True, eq=False)
class Hung:
    """shape (k, 3) [m]; forces (n, 3) [N] of the sail on each fixing; residual [N], across the links too; steps."""

    shape: Array
    forces: Array
    residual: float
    steps: int


def hung(work: Work, mesh: Mesh, fixings: Array, length: Array, shape: Array, most: int = 60) -> Hung | NotSettled:
    """The film on links of given length (n) [m] from fixings (n, 3), begun from a shape (k, 3).

    Held corners give pulls, pulls give better corners, round after round; the rounds before tell how the pulls turn
    as the corners move (Anderson's mixing), which long links on a small sail need.
    """
    held = np.zeros(mesh.count, dtype=bool)
    held[mesh.corners] = True
    size, steps, off = float(np.ptp(fixings, axis=0).max()), 0, float("inf")
    places: list[Array] = []
    moves: list[Array] = []
    for _ in range(most):
        rest = at_rest(work, shape, held)
        if isinstance(rest, NotSettled):
            return rest
        shape, steps = rest[0], steps + rest[2]
        forces = -slopes(work, shape)[0][mesh.corners]
        pulls = np.linalg.norm(forces, axis=1)
        corners = shape[mesh.corners]
        # the pull on the fixing runs towards the sail: so does the link
        move = _on_links(fixings, length, forces) - corners
        off = max(rest[1], float((np.linalg.norm(move, axis=1) / length * pulls).max()))
        if float(np.abs(move).max()) <= IN_LINE * size:
            return Hung(shape, forces, off, steps)
        places, moves = [*places[1 - KEPT :], corners.ravel()], [*moves[1 - KEPT :], move.ravel()]
        better = _mixed(places, moves).reshape(-1, 3)
        better = _on_links(fixings, length, better - fixings)
        swung = carried(mesh, shape, better - corners)
        if isinstance(swung, NotSettled):
            return swung
        # a long swing leaves creases that steps along the normal cannot smooth
        eased = relaxed(work, swung, held, 2) if float(np.abs(better - corners).max()) > CREASES * size else swung
        if isinstance(eased, NotSettled):
            return eased
        shape = eased
    return NotSettled("film", off, steps)


def _on_links(fixings: Array, length: Array, way: Array) -> Array:
    return np.asarray(fixings + way * (length / np.maximum(np.linalg.norm(way, axis=1), 1e-300))[:, None])


def _mixed(places: list[Array], moves: list[Array]) -> Array:
    """The next places: the mix of earlier rounds in which the moves would cancel best, and a move from there."""
    if len(places) == 1:
        return places[0] + moves[0]
    apart = np.diff(np.stack(places, axis=1), axis=1)
    turned = np.diff(np.stack(moves, axis=1), axis=1)
    share = np.linalg.lstsq(turned, moves[-1], rcond=1e-6)[0]
    return np.asarray(places[-1] + moves[-1] - (apart + turned) @ share)
