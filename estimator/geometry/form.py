"""The shape of a sail under prestress, and its shape and corner forces under wind pressure.

A screening model: cloth of triangles, edges and links of straight bars, no friction in pockets, no seams. What could
not be brought to rest is answered with NotSettled, never with a number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, pi

import numpy as np

from estimator.geometry.edges import edge_radius, half_angle
from estimator.geometry.form_density import NotSettled
from estimator.geometry.form_elastic import Ropes, balance, cloth_at, cloth_forces, rope_pull
from estimator.geometry.form_film import NO_PAIRS, NOTHING, Work, at_rest, relaxed, slopes
from estimator.geometry.form_links import hung
from estimator.geometry.form_load import settled
from estimator.geometry.form_mesh import Index, Mesh, fan
from estimator.geometry.form_start import carried, first_shape
from estimator.geometry.plane import Array


@dataclass(frozen=True, slots=True, eq=False)
class Film:
    """A sail at rest under prestress.

    mesh; points (k, 3) [m], with links followed by the fixings; prestress [N/m]; pulls (n) [N] in the edges; forces
    (n, 3) [N] of the sail on each corner's fixing; links (n) [N] pull in each link, none without fixings;
    residual [N]: the largest force left over along a way that a node is free to go; steps taken.

    The forces add up to nothing but for the grain of the mesh, a thousandth of a corner force where eight corners
    are strongly twisted; `loaded` without pressure closes to rounding.
    """

    mesh: Mesh
    points: Array
    prestress: float
    pulls: Array
    forces: Array
    links: Array
    residual: float
    steps: int

    @property
    def corners(self) -> Array:
        """Places of the corners (n, 3) [m]."""
        return self.points[self.mesh.corners]

    @property
    def area(self) -> float:
        """Area of the cloth [m2]."""
        at = self.points[self.mesh.triangles]
        return float(np.linalg.norm(np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]), axis=1).sum() / 2)


@dataclass(frozen=True, slots=True, eq=False)
class Loaded:
    """A sail at rest under pressure.

    points (k, 3) [m] as in the film; forces (n, 3) [N] of the sail on each fixing; resultant (3) [N] of the pressure;
    edge_pulls (n) [N]: the largest in each edge; stresses (m, 2) [N/m]: principal, per triangle; released: share of
    the cloth's area that wrinkles or is slack; highest, lowest (3) [m]: points of the cloth; residual [N]; steps.
    """

    points: Array
    forces: Array
    resultant: Array
    edge_pulls: Array
    stresses: Array
    released: float
    highest: Array
    lowest: Array
    residual: float
    steps: int


def film(
    corners: Sequence[Sequence[float]],
    prestress: float,
    dips: Sequence[float] | None = None,
    pulls: Sequence[float] | None = None,
    fixings: Sequence[Sequence[float]] | None = None,
    divisions: int = 14,
    start: Film | None = None,
) -> Film | NotSettled:
    """The shape of a sail whose cloth is under the same prestress [N/m] every way.

    corners (n, 3) [m], 3 to 8 in order round; of each edge, from corner i to corner i + 1, either the dip [m] at its
    middle (then T = stress x R) or the pull [N]; without both a dip of a tenth of the chord. Without fixings the
    corners are held; with fixings (n, 3) each hangs on a link as long as from fixing to corner and swings into line.
    start: a film that is near, used if its mesh is the same (warm start).
    """
    at = np.array(corners, dtype=float)
    count = len(at)
    figures = [len(given) for given in (dips, pulls, fixings) if given is not None]
    if not 3 <= count <= 8 or at.shape[1:] != (3,) or divisions < 2 or any(figure != count for figure in figures):
        return NotSettled("not so many corners", float("inf"), 0)
    chords = np.linalg.norm(np.roll(at, -1, axis=0) - at, axis=1)
    if not bool(np.isfinite(chords).all() and chords.min() > 0 and np.isfinite(prestress) and prestress > 0):
        return NotSettled("not a number", float("inf"), 0)
    if pulls is None:
        hollow = np.array(dips if dips is not None else chords / 10, dtype=float)
        if not bool(np.isfinite(hollow).all() and hollow.min() > 0):
            return NotSettled("not a number", float("inf"), 0)
        pull = prestress * np.array([edge_radius(c, d) for c, d in zip(chords, hollow, strict=True)])
    else:
        pull = np.array(pulls, dtype=float)
        if not bool(np.isfinite(pull).all() and pull.min() > 0):
            return NotSettled("not a number", float("inf"), 0)
    radii = pull / prestress
    if bool((radii <= chords / 2).any()):
        return NotSettled("edges meet", float("inf"), 0)
    hollow = radii - np.sqrt(radii**2 - chords**2 / 4)
    if edges_meet(at, [half_angle(c, d) for c, d in zip(chords, hollow, strict=True)]):
        return NotSettled("edges meet", float("inf"), 0)
    mesh = fan(count, divisions)
    held = np.zeros(mesh.count, dtype=bool)
    held[mesh.corners] = True
    work = Work(mesh.triangles, prestress, mesh.segments, np.repeat(pull, divisions))
    if start is None or start.mesh.edges.shape != mesh.edges.shape:
        shape = first_shape(mesh, at, hollow)
        shape = shape if isinstance(shape, NotSettled) else relaxed(work, shape, held, 3)
    else:
        shape = carried(mesh, start.points[: mesh.count], at - start.corners)
        shape = shape if isinstance(shape, NotSettled) else relaxed(work, shape, held, 1)
    if isinstance(shape, NotSettled):
        return shape
    if fixings is not None:
        to = np.array(fixings, dtype=float).reshape(-1, 3)
        length = np.linalg.norm(to - at, axis=1)
        if not bool(np.isfinite(length).all() and length.min() > 0):
            return NotSettled("not a number", float("inf"), 0)
        on = hung(work, mesh, to, length, shape)
        if isinstance(on, NotSettled):
            return on
        links = np.linalg.norm(on.forces, axis=1)
        return Film(mesh, np.concatenate([on.shape, to]), prestress, pull, on.forces, links, on.residual, on.steps)
    rest = at_rest(work, shape, held)
    if isinstance(rest, NotSettled):
        return rest
    return Film(mesh, rest[0], prestress, pull, -slopes(work, rest[0])[0][mesh.corners], NOTHING, rest[1], rest[2])


def edges_meet(corners: Array, turned: Sequence[float]) -> bool:
    """Whether edges that leave their chords by `turned` (n) [rad] meet at a corner, or leave under a degree there."""
    for i in range(len(corners)):
        one, two = corners[i - 1] - corners[i], corners[(i + 1) % len(corners)] - corners[i]
        cosine = one @ two / (np.linalg.norm(one) * np.linalg.norm(two))
        if acos(max(-1.0, min(1.0, float(cosine)))) - turned[i - 1] - turned[i] < pi / 180:
            return True
    return False


def loaded(
    film: Film,
    pressure: float,
    stiffness: float,
    poisson: float = 0.3,
    edge_stiffness: float | Sequence[float] = 1e6,
    link_stiffness: float | Sequence[float] = 5e6,
    start: Loaded | None = None,
) -> Loaded | NotSettled:
    """The sail under pressure [Pa], square to its shape as it stands; above nothing: upward.

    Of an upright sail upward is the side from which its corners run counter-clockwise.

    stiffness [N/m]: of the cloth, E t, the same every way; poisson: 0 up to under 1; edge_stiffness, link_stiffness
    [N]: EA of each edge and link. start: the same sail under another pressure (warm start).
    """
    count, mesh = len(film.forces), film.mesh
    edge = np.broadcast_to(np.asarray(edge_stiffness, dtype=float), count)
    link = np.broadcast_to(np.asarray(link_stiffness, dtype=float), count)
    least = min(float(edge.min()), float(link.min()), stiffness)
    if not (np.isfinite([pressure, stiffness, *edge, *link]).all() and least > 0 and 0 <= poisson < 1):
        return NotSettled("not a number", float("inf"), 0)
    points = film.points
    cloth = cloth_at(points, mesh.triangles, film.prestress, stiffness, poisson)
    divisions = mesh.edges.shape[1] - 1
    edges = _ropes(points, mesh.segments, np.repeat(film.pulls, divisions), np.repeat(edge, divisions))
    pairs = np.stack([mesh.count + np.arange(count), mesh.corners], axis=1).astype(np.intp)
    links = _ropes(points, pairs, film.links, link) if len(film.links) else _ropes(points, NO_PAIRS, NOTHING, NOTHING)
    held = np.zeros(len(points), dtype=bool)
    held[mesh.count :] = True
    if not len(film.links):
        held[mesh.corners] = True
    up = 1.0 if float(upward(points, mesh.triangles)[2]) >= 0 else -1.0
    found = settled(
        cloth,
        edges,
        links,
        points if start is None or start.points.shape != points.shape else start.points,
        held,
        up * pressure,
    )
    if isinstance(found, NotSettled):
        return found
    at, off, steps = found
    left = balance(cloth, edges, links, at, up * pressure)[0]
    _, _, stresses, state = cloth_forces(cloth, at)
    on = left[mesh.count :] if len(film.links) else left[mesh.corners]
    cloth_points = at[: mesh.count]
    return Loaded(
        at,
        on,
        up * pressure * upward(at, mesh.triangles),
        rope_pull(edges, at).reshape(count, divisions).max(axis=1),
        stresses,
        float(cloth.area[state > 0].sum() / cloth.area.sum()),
        cloth_points[cloth_points[:, 2].argmax()],
        cloth_points[cloth_points[:, 2].argmin()],
        off,
        steps,
    )


def upward(points: Array, triangles: Index) -> Array:
    """The cloth's area as a vector (3) [m2]: the sum of the areas of its triangles along their normals."""
    at = points[triangles]
    total: Array = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]).sum(axis=0) / 2
    return total


def _ropes(points: Array, pairs: Index, pull: Array, stiffness: Array) -> Ropes:
    length = np.linalg.norm(points[pairs[:, 1]] - points[pairs[:, 0]], axis=1)
    return Ropes(pairs, length, pull, stiffness)
