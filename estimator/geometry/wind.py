"""Wind speed and wind pressure: speeds m/s, pressures Pa, densities kg/m3.

A pressure here is arithmetic on what the caller gives; nothing here knows which wind blows on a site.
"""

from __future__ import annotations

from math import prod, sqrt

# Source: a mile is 1609.344 m and a nautical mile 1852 m, both by definition.
SPEED_UNITS = {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 0.44704, "kn": 1852 / 3600}


def to_metres_per_second(speed: float, unit: str) -> float:
    """Speed [m/s] from a speed in one of SPEED_UNITS; another unit is a KeyError.

    >>> round(to_metres_per_second(100, "km/h"), 3), round(to_metres_per_second(100, "mph"), 3)
    (27.778, 44.704)
    """
    return speed * SPEED_UNITS[unit]


def from_metres_per_second(speed: float, unit: str) -> float:
    """Speed in one of SPEED_UNITS from a speed in m/s; another unit is a KeyError.

    >>> round(from_metres_per_second(45, "km/h"), 6), round(from_metres_per_second(45, "kn"), 2)
    (162.0, 87.47)
    """
    return speed / SPEED_UNITS[unit]


def gust(mean: float, factor: float) -> float:
    """Gust speed [m/s] from a mean speed [m/s] by a factor that the caller answers for: it depends on how long the
    mean was taken, on the height and on the ground.

    >>> gust(20, 1.5)
    30.0
    """
    return mean * factor


def pressure(speed: float, *multipliers: float, density: float = 1.2) -> float:
    """Pressure [Pa] of a wind of the given speed [m/s], times any multipliers: of shape, of movement, of area.

    Source: p = 0.5 rho V2 Cshp Cdyn, AS/NZS 1170.2:2021 clause 2.4, with rho 1.2 kg/m3.

    >>> round(pressure(45), 3), round(pressure(45, 0.8, 1.0), 3)
    (1215.0, 972.0)
    """
    return 0.5 * density * speed * speed * prod(multipliers)


def speed_of_pressure(pressure: float, *multipliers: float, density: float = 1.2) -> float:
    """Speed [m/s] at which a wind makes the given pressure [Pa]: the other way round. Pressure >= 0, and a product of
    multipliers > 0.

    >>> round(speed_of_pressure(1215), 6)
    45.0
    """
    return sqrt(pressure / (0.5 * density * prod(multipliers)))
