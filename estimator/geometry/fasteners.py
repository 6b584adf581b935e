"""What holds a corner to wood or steel: coach screws and lifting eye bolts. Lengths m, forces N, angles degrees."""

from __future__ import annotations

INCH = 0.0254  # m
POUND_FORCE = 4.4482216152605  # N
GRAVITY = 9.80665  # m/s2, standard
END_GRAIN = 0.75  # of the value in side grain; source: NDS 12.2.1 and Wood Handbook

# Source: DIN 580:2003 table A.1, working load [kg] along the shank and, per bolt, at 45 degrees to it.
EYE_BOLTS = {
    "M8": (140, 100),
    "M10": (230, 170),
    "M12": (340, 240),
    "M16": (700, 500),
    "M20": (1200, 860),
    "M24": (1800, 1290),
    "M30": (3200, 2300),
    "M36": (4600, 3300),
}


def withdrawal(gravity: float, diameter: float, end_grain: bool = False) -> float:
    """Reference pull-out of a coach screw [N per m of thread in the wood, its tip left out], allowable level.

    gravity: specific gravity of the wood, oven dry, 0.31 to 0.73; diameter: of the shank.
    Source: NDS equation 12.2-1, W = 1800 G^1.5 D^0.75 pounds per inch, D in inches; end grain three quarters of it.

    >>> round(withdrawal(0.50, 0.5 * INCH) * INCH / POUND_FORCE)
    378
    """
    side = 1800 * gravity**1.5 * (diameter / INCH) ** 0.75 * POUND_FORCE / INCH
    return float(side * (END_GRAIN if end_grain else 1))


def ultimate_withdrawal(gravity: float, diameter: float, thread: float, end_grain: bool = False) -> float:
    """Pull-out at failure of a coach screw [N] with so much thread [m] in the wood: an average of tests, no margin.

    Source: Wood Handbook (USDA Forest Products Laboratory), p = 125.4 G^1.5 D^0.75 L in N and mm.

    >>> round(ultimate_withdrawal(0.42, 0.010, 0.070))
    13436
    """
    side = 125.4 * gravity**1.5 * (diameter * 1000) ** 0.75 * thread * 1000
    return float(side * (END_GRAIN if end_grain else 1))


def eye_bolt_load(size: str, angle: float) -> float:
    """Working load [N] of one lifting eye bolt pulled at an angle to its shank [degrees], in the plane of its eye.

    Linear from the axial value to that at 45 degrees; the straight line between the two is ours, the two are not.
    An angle under 0 or over 45 is a ValueError: the table has no value there. A size that it has not is a KeyError.
    Source: DIN 580:2003 table A.1.

    >>> [round(eye_bolt_load("M12", angle) / GRAVITY, 1) for angle in (0, 22.5, 45)]
    [340.0, 290.0, 240.0]
    """
    if not 0 <= angle <= 45:
        raise ValueError(f"pull at {angle} degrees to the shank; the table goes from 0 to 45")
    axial, slanted = EYE_BOLTS[size]
    return (axial + (slanted - axial) * angle / 45) * GRAVITY
