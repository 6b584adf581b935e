"""Chain and slings: breaking force from the grade, and what legs at an angle carry together. m, N, Pa, degrees."""

from __future__ import annotations

from math import cos, pi, radians

# Source: EN 818-1, mean stress at the least breaking force [Pa].
CHAIN_GRADES = {"M": 400e6, "P": 500e6, "S": 630e6, "T": 800e6, "V": 1000e6}
# Source: EN 13414-1 table 4, leg factor up to 45 and up to 60 degrees from the vertical.
LEG_FACTORS = {2: (1.4, 1.0), 3: (2.1, 1.5), 4: (2.1, 1.5)}


def chain_breaking_force(diameter: float, grade: str) -> float:
    """Least breaking force [N] of short link chain of a nominal diameter [m]: both sides of a link at the mean stress
    of its grade, one of CHAIN_GRADES. Source: EN 818-1.

    >>> round(chain_breaking_force(0.008, "T") / 1000, 2)
    80.42
    """
    return 2 * pi / 4 * diameter * diameter * CHAIN_GRADES[grade]


def leg_factor(legs: int, angle: float) -> float:
    """Load of a sling of 1 to 4 legs over the load of one leg, at an angle of the legs to the vertical.

    Rounded down in steps as in the table; of four legs three count. Over 60 degrees, and for one leg at any angle but
    0, is a ValueError: the table has none. Source: EN 13414-1 table 4.

    >>> leg_factor(2, 45), leg_factor(2, 46), leg_factor(4, 30)
    (1.4, 1.0, 2.1)
    """
    if legs == 1 and angle == 0:
        return 1.0
    if legs not in LEG_FACTORS or not 0 <= angle <= 60:
        raise ValueError(f"{legs} legs at {angle} degrees; the table has 1 leg upright, 2 to 4 legs up to 60 degrees")
    return LEG_FACTORS[legs][0 if angle <= 45 else 1]


def leg_force(load: float, legs: int, angle: float) -> float:
    """Pull in each leg [N] when so many legs carry a load evenly, at an angle to the vertical under 90.

    Source: equilibrium, F = load / (n cos angle).

    >>> round(leg_force(1000, 2, 60), 6)
    1000.0
    """
    return load / (legs * cos(radians(angle)))
