"""A pole in the ground under a sideways force: forces N, moments N m, lengths m, stresses Pa, densities as weight N/m3.

Two views that are never mixed: allowable stress (the building code) and ultimate capacity (Broms).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, degrees, radians, sqrt, tan

PSF = 47.88026  # Pa
PSF_PER_FOOT = 157.08747  # Pa/m


@dataclass(frozen=True)
class Soil:
    """Presumptive values of a class of ground: stress under a footing [Pa], sideways stress per depth [Pa/m], friction,
    cohesion [Pa]; None where the table has none."""

    vertical: float
    lateral: float
    friction: float | None
    cohesion: float | None


# Source: IBC 2012 table 1806.2, allowable values in psf and psf per foot.
SOILS = {
    "bedrock": Soil(12_000 * PSF, 1_200 * PSF_PER_FOOT, 0.70, None),
    "foliated rock": Soil(4_000 * PSF, 400 * PSF_PER_FOOT, 0.35, None),
    "gravel": Soil(3_000 * PSF, 200 * PSF_PER_FOOT, 0.35, None),
    "sand": Soil(2_000 * PSF, 150 * PSF_PER_FOOT, 0.25, None),
    "clay": Soil(1_500 * PSF, 100 * PSF_PER_FOOT, None, 130 * PSF),
}
CAP = 3.6576  # 12 ft


def pole_width(side: float) -> float:
    """Width of a square pole for the building code formulas [m]: its diagonal. A round one has its diameter.

    Source: IBC 1807.3.2.1, meaning of b.

    >>> round(pole_width(0.6), 3)
    0.849
    """
    return side * sqrt(2)


def stress_at_third(lateral: float, depth: float, cap: float = CAP, cap_on_third: bool = False) -> float:
    """Allowable sideways stress S1 [Pa] at a third of the depth, from the stress per depth [Pa/m].

    It stops growing at the cap. Two readings of it are in use: on the depth of the pole (ours), or, cap_on_third, on
    the third of it. Source: IBC 1807.3.2.1.

    >>> round(stress_at_third(31_400, 1.55))
    16223
    """
    return lateral * (min(depth / 3, cap) if cap_on_third else min(depth, cap) / 3)


def unconstrained_pass(force: float, height: float, width: float, stress: float) -> float:
    """Depth [m] of a pole free at the ground for a stress S1 [Pa] that is already known: one pass, no answer yet, since
    the stress hangs on the depth.

    Source: IBC 1807.3.2.1, d = 0.5 A (1 + (1 + 4.36 h/A)^0.5), A = 2.34 P/(S1 b).

    >>> round(unconstrained_pass(1330, 8.0, 0.849, stress_at_third(31_400, 1.55)), 3)
    1.521
    """
    a = 2.34 * force / (stress * width)
    return 0.5 * (a + sqrt(a * a + 4.36 * height * a))


def unconstrained_depth(
    force: float, height: float, width: float, lateral: float, cap: float = CAP, cap_on_third: bool = False
) -> float:
    """Depth [m] of a pole free at the ground that agrees with the stress at its own third.

    force at a height above the ground; width: diameter, or pole_width of a square; lateral: stress per depth [Pa/m];
    all > 0, height may be 0, no force no depth. Source: IBC 1807.3.2.1, to the fixed point.

    >>> round(unconstrained_depth(1330, 8.0, 0.849, 31_400), 4)
    1.5312
    """
    if force <= 0:
        return 0.0
    depth = 1.0
    # The geometric mean of the old and the new depth at least halves the distance in each turn; the plain pass swings.
    for _ in range(80):
        stress = stress_at_third(lateral, depth, cap, cap_on_third)
        depth = sqrt(depth * unconstrained_pass(force, height, width, stress))
    return depth


def unconstrained_force(height: float, width: float, lateral: float, depth: float, cap: float = CAP) -> float:
    """Sideways force [N] at a height above the ground that a pole of a depth [m] is deep enough for: the formula for
    the depth solved for the force.

    Source: IBC 1807.3.2.1 rearranged: A = d2/(d + 1.09 h), P = A S1 b/2.34.

    >>> round(unconstrained_force(8.0, 0.849, 31_400, unconstrained_depth(1330, 8.0, 0.849, 31_400)), 6)
    1330.0
    """
    return stress_at_third(lateral, depth, cap) * width * depth * depth / (depth + 1.09 * height) / 2.34


def constrained_moment(width: float, lateral: float, depth: float, cap: float = CAP) -> float:
    """Moment at the ground [N m] that a pole held there is deep enough for: the formula for the depth solved for it.

    Source: IBC 1807.3.2.2 rearranged, M = d2 S3 b/4.25.

    >>> round(constrained_moment(1.3716, 109_961.2, constrained_depth(122_022, 1.3716, 109_961.2)))
    122022
    """
    return depth * depth * lateral * min(depth, cap) * width / 4.25


def constrained_depth(moment: float, width: float, lateral: float, cap: float = CAP) -> float:
    """Depth [m] of a pole held at the ground by a slab, under a moment at the ground [N m].

    Source: IBC 1807.3.2.2, d2 = 4.25 M/(S3 b), S3 the stress at the depth, which grows down to the cap.

    >>> round(constrained_depth(122_022, 1.3716, 109_961.2), 3)
    1.509
    """
    grown = (4.25 * moment / (lateral * width)) ** (1 / 3)
    return float(grown) if grown <= cap else sqrt(4.25 * moment / (lateral * cap * width))


def passive_coefficient(friction_angle: float) -> float:
    """Passive earth pressure coefficient Kp of a friction angle [degrees]. Source: Rankine, tan2(45 + phi/2).

    >>> round(passive_coefficient(30), 6)
    3.0
    """
    return tan(radians(45 + friction_angle / 2)) ** 2


def clay_capacity(strength: float, width: float, depth: float, arm: float) -> float:
    """Ultimate sideways force [N] on a short free pole in clay of a shear strength [Pa], at an arm above ground [m].

    Source: Broms 1964: 9 su b below 1.5 b, nothing above; force and moment solved together. 0 for a pole no deeper
    than 1.5 b.

    >>> round(clay_capacity(50e3, 0.6, 2.0, 3.0) / 1000, 4)
    18.2844
    """
    top = 1.5 * width
    if depth <= top:
        return 0.0
    reach = 2 * arm + depth + top
    return 9 * strength * width * (sqrt(reach * reach + (depth - top) ** 2) - reach)


def clay_moment(force: float, strength: float, width: float, arm: float) -> float:
    """Greatest moment in the pole [N m]. Source: Broms 1964, M = H (e + 1.5 b + 0.5 f), f = H/(9 su b).

    >>> round(clay_moment(18_284.4, 50e3, 0.6, 3.0) / 1000, 3)
    71.928
    """
    return force * (arm + 1.5 * width + 0.5 * force / (9 * strength * width))


def clay_depth(force: float, moment: float, strength: float, width: float) -> float:
    """Least depth [m] in clay for a force and a moment at the ground, both already factored.

    Source: UFC 3-220-20 (2025) equations 6-59 to 6-61. Strength: reduced_strength, as the handbook has it.

    >>> round(clay_depth(18_284.4, 3 * 18_284.4, 50e3, 0.6), 4)
    2.0
    """
    f = force / (9 * strength * width)
    g = sqrt((moment + force * (1.5 * width + 0.5 * f)) / (2.25 * width * strength))
    return 1.5 * width + f + g


def sand_capacity(weight: float, friction_angle: float, width: float, depth: float, arm: float) -> float:
    """Ultimate sideways force [N] on a short free pole in sand of a unit weight [N/m3] and friction angle [degrees].

    Source: Broms 1964, H = 0.5 gamma b L3 Kp/(e + L).

    >>> round(sand_capacity(18e3, 30, 0.6, 2.0, 3.0), 3)
    25920.0
    """
    return float(0.5 * weight * width * depth**3 * passive_coefficient(friction_angle) / (arm + depth))


def sand_moment(force: float, weight: float, friction_angle: float, width: float, arm: float) -> float:
    """Greatest moment in the pole [N m]. Source: Broms 1964, M = H (e + 2f/3), f = (H/(1.5 gamma b Kp))^0.5.

    >>> round(sand_moment(25_920, 18e3, 30, 0.6, 3.0) / 1000, 3)
    90.38
    """
    return force * (arm + 2 / 3 * sqrt(force / (1.5 * weight * width * passive_coefficient(friction_angle))))


def sand_depth(force: float, moment: float, weight: float, friction_angle: float, width: float) -> float:
    """Least depth [m] in sand for a force and a moment at the ground, both already factored.

    Source: UFC 3-220-20 (2025) equation 6-63, to the fixed point. Friction angle: reduced_friction_angle, as the
    handbook has it.

    >>> round(sand_depth(25_920, 77_760, 18e3, 30, 0.6), 6)
    2.0
    """
    depth = 1.0
    for _ in range(80):  # each turn divides the distance by three or more
        pull = force * depth + moment
        depth = (2 * pull / (weight * width * passive_coefficient(friction_angle))) ** (1 / 3)
    return depth


def reduced_strength(strength: float) -> float:
    """Shear strength [Pa] to be put into clay_depth. Source: UFC 3-220-20 (2025) equation 6-57, 0.75 su.

    >>> reduced_strength(50e3)
    37500.0
    """
    return 0.75 * strength


def reduced_friction_angle(friction_angle: float) -> float:
    """Friction angle [degrees] to be put into sand_depth. Source: UFC 3-220-20 (2025) 6-58, atan(0.75 tan phi).

    >>> round(reduced_friction_angle(30), 4)
    23.4132
    """
    return degrees(atan(0.75 * tan(radians(friction_angle))))
