"""Elastic cloth that cannot be pushed, edges that stretch, and pressure square to the shape as it stands.

Large movements: strains are Green's, stresses [N/m] their partners in work, both in the axes of the rest shape.
Cloth that would be pushed one way wrinkles and pulls the other way only; pushed both ways it lies slack (tension
field). Source: relaxed work of an isotropic membrane, mathematics; no more than SLACK of the push is left in so
that slack cloth has one place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from estimator.geometry.form_density import gather
from estimator.geometry.form_film import bars, crosses, opposite
from estimator.geometry.form_mesh import Index
from estimator.geometry.plane import Array

SLACK = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Cloth:
    """triangles (m, 3); area at rest (m) [m2]; rates (m, 3, 2): change of the corners' share along the rest axes [1/m].

    stiffness [N/m]; poisson; strain: that gives the prestress with the cloth in the rest shape.
    """

    triangles: Index
    area: Array
    rates: Array
    stiffness: float
    poisson: float
    strain: float


@dataclass(frozen=True, slots=True, eq=False)
class Ropes:
    """Bars (b, 2): pull (b) [N] at their length (b) [m], stiffened by EA (b) [N]; never a push."""

    pairs: Index
    length: Array
    pull: Array
    stiffness: Array


def cloth_at(points: Array, triangles: Index, prestress: float, stiffness: float, poisson: float) -> Cloth:
    """Cloth whose stress is the even prestress [N/m] in the shape given."""
    sides, normal = opposite(points, triangles)
    twice = np.linalg.norm(normal, axis=1)
    first = sides[:, 2] / np.linalg.norm(sides[:, 2], axis=1)[:, None]
    second = np.cross(normal / twice[:, None], first)
    rates = np.cross((normal / twice[:, None])[:, None], sides) / twice[:, None, None]
    axes = np.stack([first, second], axis=2)
    return Cloth(triangles, twice / 2, rates @ axes, stiffness, poisson, prestress * (1 - poisson) / stiffness)


def principal(strain: Array, stiffness: float, poisson: float) -> tuple[Array, Array, Array]:
    """Principal stresses (m, 2) [N/m] and their slopes (m, 3, 3) on the principal strains and the shear.

    strain (m, 2): principal, the larger first, counted from slack. The last: 0 taut, 1 wrinkled, 2 slack (m).
    """
    high, low = strain.T
    state = np.where(low + poisson * high > 0, 0, np.where(high > 0, 1, 2))
    full = stiffness / (1 - poisson**2)
    part = np.zeros((len(strain), 2, 2))
    part[:, 0, 0] = np.choose(state, [full, stiffness, 0.0])
    part[:, 1, 1] = np.where(state == 0, full, 0.0)
    part[:, 0, 1] = part[:, 1, 0] = np.where(state == 0, poisson * full, 0.0)
    whole = full * np.array([[1.0, poisson], [poisson, 1.0]])
    part = (1 - SLACK) * part + SLACK * whole
    stress = np.einsum("mij,mj->mi", part, strain)
    slope = np.zeros((len(strain), 3, 3))
    slope[:, :2, :2] = part
    apart = high - low
    near = apart < 1e-12
    secant = (stress[:, 0] - stress[:, 1]) / np.where(near, 1.0, 2 * apart)
    slope[:, 2, 2] = np.where(near, stiffness / (2 * (1 + poisson)), secant)
    return stress, slope, state


def cloth_forces(cloth: Cloth, points: Array) -> tuple[Array, Array, Array, Array]:
    """Gradient (m, 3, 3) [N], stiffness (m, 3, 3, 3, 3), principal stresses (m, 2) [N/m] and state (m)."""
    stretch = np.einsum("mix,mia->mxa", points[cloth.triangles], cloth.rates)
    green = 0.5 * (np.einsum("mxa,mxb->mab", stretch, stretch) - np.eye(2)) + cloth.strain * np.eye(2)
    mean, half = (green[:, 0, 0] + green[:, 1, 1]) / 2, (green[:, 0, 0] - green[:, 1, 1]) / 2
    spread, turn = np.hypot(half, green[:, 0, 1]), 0.5 * np.arctan2(green[:, 0, 1], half)
    strain = np.stack([mean + spread, mean - spread], axis=1)
    stress, slope, state = principal(strain, cloth.stiffness, cloth.poisson)
    c, s = np.cos(turn), np.sin(turn)
    to = np.stack([c * c, s * s, c * s, s * s, c * c, -c * s, -2 * c * s, 2 * c * s, c * c - s * s], 1).reshape(
        -1, 3, 3
    )
    voigt = np.einsum("mia,mi->ma", to[:, :2], stress)
    law = to.swapaxes(1, 2) @ slope @ to * cloth.area[:, None, None]
    pull = np.stack([voigt[:, [0, 2]], voigt[:, [2, 1]]], axis=1) * cloth.area[:, None, None]
    d, f = cloth.rates, stretch
    shear = d[:, :, None, 0] * f[:, None, :, 1] + d[:, :, None, 1] * f[:, None, :, 0]
    b = np.stack([d[:, :, None, 0] * f[:, None, :, 0], d[:, :, None, 1] * f[:, None, :, 1], shear], axis=1)
    b = b.reshape(-1, 3, 9)
    block = (b.swapaxes(1, 2) @ law @ b).reshape(-1, 3, 3, 3, 3)
    turned = d @ pull @ d.swapaxes(1, 2)
    block += turned[:, :, None, :, None] * np.eye(3)[:, None, :]
    return d @ pull @ f.swapaxes(1, 2), block, stress, state


def rope_pull(ropes: Ropes, points: Array) -> Array:
    """Pull in every bar [N]; of a push no more than SLACK is left."""
    length = np.linalg.norm(points[ropes.pairs[:, 1]] - points[ropes.pairs[:, 0]], axis=1)
    pull = ropes.pull + ropes.stiffness * (length / ropes.length - 1)
    return np.asarray(np.where(pull > 0, pull, SLACK * pull))


def rope_forces(ropes: Ropes, points: Array) -> tuple[Array, Array]:
    """Gradient (b, 2, 3) [N] and stiffness (b, 2, 3, 2, 3) of bars."""
    pull = rope_pull(ropes, points)
    return bars(points, ropes.pairs, pull, np.where(pull > 0, 1.0, SLACK) * ropes.stiffness / ropes.length)


def pressure_forces(points: Array, triangles: Index, pressure: float) -> tuple[Array, Array]:
    """Force (m, 3, 3) [N] on the corners of every triangle, a third each, and its slope (m, 3, 3, 3, 3)."""
    sides, normal = opposite(points, triangles)
    force = np.repeat(pressure / 6 * normal[:, None], 3, axis=1)
    slope = np.broadcast_to(crosses(sides).swapaxes(1, 2)[:, None] * (pressure / 6), (len(triangles), 3, 3, 3, 3))
    return force, slope


def balance(
    cloth: Cloth, edges: Ropes, links: Ropes, points: Array, pressure: float
) -> tuple[Array, list[tuple[Index, Array]]]:
    """Force left over at every node (k, 3) [N], the load less what holds against it, and the stiffness in pieces."""
    held, block, _, _ = cloth_forces(cloth, points)
    push, slope = pressure_forces(points, cloth.triangles, pressure)
    edge, edge_block = rope_forces(edges, points)
    link, link_block = rope_forces(links, points)
    count = len(points)
    left = gather(count, cloth.triangles, push - held)
    left -= gather(count, edges.pairs, edge) + gather(count, links.pairs, link)
    return left, [(cloth.triangles, block - slope), (edges.pairs, edge_block), (links.pairs, link_block)]
