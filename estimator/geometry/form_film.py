"""The soap film: even stress in the cloth, constant pull in the edges, and how it comes to rest.

The stored work is stress x area + the sum of pull x length. Inside the cloth it does not change when nodes slide
within the surface, so Newton steps move inner nodes along the surface normal only and nodes of an edge across the
edge only; along those ways the force has to vanish. Derived from the first and second variation of the area.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.form_density import NotSettled, assemble, force_density, gather, solved
from estimator.geometry.form_mesh import Index
from estimator.geometry.plane import Array

if TYPE_CHECKING:
    from scipy.sparse import csr_array

LEFT_OVER = 1e-8  # force left at a node, as a share of stress x size: far under what anything downstream can see


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """What pulls on the nodes: triangles (m, 3) under one stress [N/m], segments (s, 2) of edges with pull (s) [N]."""

    triangles: Index
    stress: float
    segments: Index
    pull: Array


NO_PAIRS: Index = np.zeros((0, 2), dtype=np.intp)
NOTHING: Array = np.zeros(0)


def crosses(vectors: Array) -> Array:
    """The matrix (..., 3, 3) that takes w to v x w, for v (..., 3)."""
    made = np.zeros((*vectors.shape[:-1], 3, 3))
    x, y, z = (vectors[..., axis] for axis in range(3))
    made[..., 0, 1], made[..., 0, 2], made[..., 1, 2] = -z, y, -x
    made[..., 1, 0], made[..., 2, 0], made[..., 2, 1] = z, -y, x
    return made


def opposite(points: Array, triangles: Index) -> tuple[Array, Array]:
    """Side opposite every corner of every triangle (m, 3, 3) and twice the area as a vector (m, 3)."""
    at = points[triangles]
    sides = at[:, (2, 0, 1)] - at[:, (1, 2, 0)]
    return sides, np.cross(sides[:, 2], -sides[:, 1])


def bars(points: Array, pairs: Index, pull: Array, slope: Array) -> tuple[Array, Array]:
    """Gradient (b, 2, 3) and stiffness (b, 2, 3, 2, 3) of bars with a pull [N] that grows by slope [N/m]."""
    step = points[pairs[:, 1]] - points[pairs[:, 0]]
    length = np.maximum(np.linalg.norm(step, axis=1), 1e-12)
    unit = step / length[:, None]
    turn = (pull / length)[:, None, None]
    block = turn * np.eye(3) + (slope[:, None, None] - turn) * unit[:, :, None] * unit[:, None, :]
    sign = np.array([-1.0, 1.0])
    return pull[:, None, None] * sign[:, None] * unit[:, None], np.einsum("i,j,bxy->bixjy", sign, sign, block)


def stored(work: Work, points: Array) -> float:
    """The stored work [J], up to a constant."""
    area = np.linalg.norm(opposite(points, work.triangles)[1], axis=1).sum() / 2
    length = np.linalg.norm(points[work.segments[:, 1]] - points[work.segments[:, 0]], axis=1)
    return float(work.stress * area + work.pull @ length)


def slopes(work: Work, points: Array) -> tuple[Array, list[tuple[Index, Array]]]:
    """Gradient of the stored work (k, 3) [N], the force of the nodes on the net, and its stiffness in pieces."""
    sides, normal = opposite(points, work.triangles)
    twice = np.maximum(np.linalg.norm(normal, axis=1), 1e-14)
    unit = normal / twice[:, None]
    film = 0.5 * work.stress * np.cross(unit[:, None], sides)
    ways = crosses(sides)
    flat = np.eye(3) - unit[:, :, None] * unit[:, None, :]
    block = np.einsum("miax,mab,mjby->mixjy", ways, flat / (2 * twice)[:, None, None], ways, optimize=True)
    half = 0.5 * crosses(unit)
    for i in range(3):
        block[:, i, :, (i + 1) % 3, :] -= half
        block[:, (i + 1) % 3, :, i, :] += half
    edge, edge_block = bars(points, work.segments, work.pull, 0 * work.pull)
    count = len(points)
    total = gather(count, work.triangles, film) + gather(count, work.segments, edge)
    pieces = [(work.triangles, work.stress * block), (work.segments, edge_block)]
    return total, pieces


def ways_free(work: Work, points: Array, held: NDArray[np.bool_]) -> csr_array[Any]:
    """Columns (3 k, ways): along the normal inside, across the edge on an edge."""
    from scipy.sparse import csr_array

    count = len(points)
    normal = gather(count, work.triangles, np.repeat(opposite(points, work.triangles)[1][:, None], 3, axis=1))
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-14)[:, None]
    along = np.zeros((count, 3))
    step = points[work.segments[:, 1]] - points[work.segments[:, 0]]
    step /= np.maximum(np.linalg.norm(step, axis=1), 1e-14)[:, None]
    np.add.at(along, work.segments[:, 0], step)
    np.add.at(along, work.segments[:, 1], step)
    along /= np.maximum(np.linalg.norm(along, axis=1), 1e-14)[:, None]
    across = np.cross(normal, along)
    across /= np.maximum(np.linalg.norm(across, axis=1), 1e-14)[:, None]
    on_edge = np.zeros(count, dtype=bool)
    on_edge[work.segments.ravel()] = True
    inner, edge = np.flatnonzero(~held), np.flatnonzero(~held & on_edge)
    first = np.where(on_edge[:, None], np.cross(along, across), normal)
    nodes = np.concatenate([inner, edge])
    vectors = np.concatenate([first[inner], across[edge]])
    rows = (3 * nodes[:, None] + np.arange(3)).ravel()
    columns = np.repeat(np.arange(len(nodes)), 3)
    return csr_array((vectors.ravel(), (rows, columns)), shape=(3 * count, len(nodes)))


def relaxed(work: Work, points: Array, held: NDArray[np.bool_], rounds: int) -> Array | NotSettled:
    """Some rounds of force densities taken from the shape itself: each lowers the stored work, however poor the start.

    A triangle under even stress pulls like three bars of density stress x cot(angle) / 2 along its sides, an edge
    like one of pull / length: both stand above the true work and touch it at the present shape.
    """
    for _ in range(rounds):
        sides, normal = opposite(points, work.triangles)
        twice = np.maximum(np.linalg.norm(normal, axis=1), 1e-14)
        dots = -np.einsum("mix,mix->mi", sides[:, (1, 2, 0)], sides[:, (2, 0, 1)])
        branches = work.triangles[:, [[1, 2], [2, 0], [0, 1]]].reshape(-1, 2)
        length = np.linalg.norm(points[work.segments[:, 1]] - points[work.segments[:, 0]], axis=1)
        densities = np.concatenate([(work.stress * dots / (2 * twice[:, None])).ravel(), work.pull / length])
        better = force_density(points, np.concatenate([branches, work.segments]), densities, held)
        if isinstance(better, NotSettled):
            return better
        points = better
    return points


def at_rest(
    work: Work, points: Array, held: NDArray[np.bool_], most: int = 60
) -> tuple[Array, float, int] | NotSettled:
    """Places where the stored work is least, the largest force left over [N] and the steps taken."""
    from scipy.sparse import eye_array

    size = float(np.ptp(points, axis=0).max())
    enough = LEFT_OVER * max(work.stress * size, float(work.pull.max(initial=0.0)))
    energy, damping, off = stored(work, points), 0.0, float("inf")
    for step in range(most):
        force, pieces = slopes(work, points)
        ways = ways_free(work, points, held)
        pull = ways.T @ force.ravel()
        off = float(np.abs(pull).max(initial=0.0))
        if off <= enough:
            return points, off, step
        stiff = (ways.T @ assemble(len(points), pieces) @ ways).tocsc()
        scale = float(np.abs(stiff.diagonal()).max())
        while damping < 1e4:
            move = solved((stiff + damping * scale * eye_array(len(pull))).tocsc(), -pull)
            if move is not None and float(move @ pull) < 0:
                tried = points + (ways @ move).reshape(-1, 3)
                after = stored(work, tried)
                if after <= energy + 1e-13 * abs(energy):
                    break
            damping = max(4 * damping, 1e-4)
        else:
            return NotSettled("film", off, step)
        points, energy = tried, after
        damping = damping / 16 if damping > 1e-6 else 0.0
    return NotSettled("film", off, most)


def spanned(points: Array, triangles: Index, held: NDArray[np.bool_]) -> Array | NotSettled:
    """A first shape over held nodes: every side of a triangle a bar of one force density."""
    branches = triangles[:, [[1, 2], [2, 0], [0, 1]]].reshape(-1, 2)
    return force_density(points, branches, np.ones(len(branches)), held)


def minimal(points: Array, triangles: Index, held: NDArray[np.bool_]) -> tuple[Array, float] | NotSettled:
    """The surface of least area over held nodes: places (k, 3) [m] and area [m2].

    points (k, 3): only those held count; triangles (m, 3); held (k).
    """
    work = Work(triangles, 1.0, NO_PAIRS, NOTHING)
    start = spanned(points, triangles, held)
    better = start if isinstance(start, NotSettled) else relaxed(work, start, held, 3)
    if isinstance(better, NotSettled):
        return better
    rest = at_rest(work, better, held)
    return rest if isinstance(rest, NotSettled) else (rest[0], stored(work, rest[0]))
