"""A post under the pull of its sail: small movements, elastic. Forces N, lengths m, stresses and moduli Pa, m3, m4."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot


def base_moment(sideways: float, height: float, sidestep: float = 0.0, downward: float = 0.0) -> float:
    """Moment at the ground [N m] of a force at a height on a post fixed in the ground.

    sidestep: how far the force stands off the foot in plan, toward the pull, with its downward part.

    >>> base_moment(5000, 3.0)
    15000.0
    """
    return sideways * height + downward * sidestep


def bending_stress(moment: float, modulus: float, compression: float = 0.0, area: float = 1.0) -> float:
    """Greatest compressive stress [Pa]: of bending, and of a compression over an area. Buckling is not in it.

    Source: sigma = M/W + N/A.

    >>> round(bending_stress(15_000, 54.2e-6) / 1e6, 1)
    276.8
    """
    return moment / modulus + compression / area


def top_movement(force: float, height: float, top: float, elasticity: float, inertia: float) -> float:
    """Sideways movement [m] of the top of a post fixed in the ground, under a force at a height up to the top.

    elasticity [Pa], inertia [m4]; the ground does not give. Source: cantilever, F h2 (3 top - h)/(6 E I).

    >>> round(top_movement(5000, 3.0, 3.0, 200e9, 271.1e-8), 4)
    0.083
    """
    return force * height * height * (3 * top - height) / (6 * elasticity * inertia)


@dataclass(frozen=True)
class Guyed:
    """Pull in the guy, upward pull on its anchor, compression of the post, moment at the foot of the post [N, N m] and
    movement of the fixing toward the sail [m]."""

    guy: float
    uplift: float
    compression: float
    moment: float
    movement: float


@dataclass(frozen=True)
class Stiffness:
    """What gives at a guyed post: bending stiffness E I of the post [N m2], E A of the post and E A of the guy [N]."""

    bending: float
    post: float
    guy: float


def hinged_guyed_post(sideways: float, downward: float, height: float, reach: float) -> Guyed:
    """A post hinged at its foot, its guy from the fixing to the ground, a reach behind the foot: statics alone, and so
    no movement (0).

    sideways: pull of the sail, toward it, >= 0; downward: the part of its pull that presses the post down.
    Source: equilibrium at the fixing, T = H / cos(slope of the guy).

    >>> corner = hinged_guyed_post(3000, 500, 4.0, 3.0)
    >>> round(corner.guy), round(corner.compression), round(corner.uplift)
    (5000, 4500, 4000)
    """
    guy = sideways * hypot(height, reach) / reach
    uplift = guy * height / hypot(height, reach)
    return Guyed(guy, uplift, uplift + downward, 0.0, 0.0)


def fixed_guyed_post(sideways: float, downward: float, height: float, reach: float, gives: Stiffness) -> Guyed:
    """A post fixed in the ground with a guy that was just taut: both share the pull by how little they give. A guy that
    would have to push is slack. The ground and the anchor do not give.

    Source: movements of the fixing by both ways are equal; first order.

    >>> round(fixed_guyed_post(3000, 500, 4.0, 3.0, Stiffness(1e-3, 1e12, 1e12)).guy)
    5000
    """
    length = hypot(height, reach)
    along, across = height / length, reach / length
    bend, squash = height**3 / (3 * gives.bending), height / gives.post
    stretch = length / gives.guy
    pull = (sideways * across * bend - downward * along * squash) / (
        stretch + across * across * bend + along * along * squash
    )
    guy = max(0.0, pull)
    rest = sideways - guy * across
    return Guyed(guy, guy * along, guy * along + downward, rest * height, rest * bend)
