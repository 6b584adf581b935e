"""Velocity pressure by three codes of practice: speeds m/s, heights m, pressures Pa.

A figure counts for its own edition only: each table and each formula names it.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, floor, log

# AS/NZS 1170.2:2021, regional gust speed V = a - b R^-0.1 and the speed below 5 years (as transcribed in public).
REGIONS = {"A": (67, 41, 30), "B": (106, 92, 26), "C": (122, 104, 23), "D": (156, 142, 23)}
# AS/NZS 1170.2:2021, climate change multiplier.
CLIMATE = {"A": 1.0, "B1": 1.0, "B2": 1.05, "C": 1.05, "D": 1.05}
# AS/NZS 1170.2:2021, terrain and height multiplier: height [m], then by terrain category. The 2011 edition differs.
TERRAINS = ("1", "2", "2.5", "3", "4")
TERRAIN_ROWS = (
    (3.0, (0.97, 0.91, 0.87, 0.83, 0.75)),
    (5.0, (1.01, 0.91, 0.87, 0.83, 0.75)),
    (10.0, (1.08, 1.00, 0.92, 0.83, 0.75)),
    (15.0, (1.12, 1.05, 0.97, 0.89, 0.75)),
    (20.0, (1.14, 1.08, 1.01, 0.94, 0.75)),
)
# ASCE 7-16, exposure: power alpha and gradient height [m], 1200, 900 and 700 ft.
EXPOSURES = {"B": (7.0, 365.76), "C": (9.5, 274.32), "D": (11.5, 213.36)}
# EN 1991-1-4, terrain category: roughness length z0 and least height zmin [m].
ROUGHNESS = {"0": (0.003, 1.0), "I": (0.01, 1.0), "II": (0.05, 2.0), "III": (0.3, 5.0), "IV": (1.0, 10.0)}


def regional_speed(region: str, years: float, whole: bool = True) -> float:
    """Regional gust speed [m/s] of region A, B, C or D that is passed once in so many years, at least 1.

    whole: to the whole m/s, as the code prints it. Source: AS/NZS 1170.2:2021, as transcribed in public.

    >>> regional_speed("A", 500), round(regional_speed("A", 500, whole=False), 2)
    (45.0, 44.98)
    """
    a, b, short = REGIONS[region]
    speed = a - b * years**-0.1 if years >= 5 else float(short)
    return float(floor(speed + 0.5)) if whole else speed


def terrain_multiplier(height: float, category: str) -> float:
    """Terrain and height multiplier, linear between the rows; up to 3 m the first row. Over 20 m is a ValueError: the
    rows end there.

    Source: AS/NZS 1170.2:2021, as transcribed in public; category one of TERRAINS.

    >>> round(terrain_multiplier(7, "2"), 3), round(terrain_multiplier(7, "2.5"), 3)
    (0.946, 0.89)
    """
    column = TERRAINS.index(category)
    if height <= TERRAIN_ROWS[0][0]:
        return TERRAIN_ROWS[0][1][column]
    for (low, under), (high, over) in pairwise(TERRAIN_ROWS):
        if height <= high:
            return under[column] + (over[column] - under[column]) * (height - low) / (high - low)
    raise ValueError(f"height {height} m; the terrain multipliers end at 20 m")


def site_speed(
    regional: float,
    terrain: float,
    climate: float = 1.0,
    direction: float = 1.0,
    shielding: float = 1.0,
    topography: float = 1.0,
) -> float:
    """Gust speed on the site [m/s]: the regional speed times its multipliers.

    Source: Vsit = VR Mc Md (Mz,cat Ms Mt), AS/NZS 1170.2:2021.

    >>> round(site_speed(45, 0.91), 2)
    40.95
    """
    return regional * climate * direction * terrain * shielding * topography


def exposure_factor(height: float, exposure: str) -> float:
    """Velocity pressure exposure Kz of exposure B, C or D; under 15 ft (4.572 m) as at 15 ft.

    Source: ASCE 7-16, Kz = 2.01 (z/zg)^(2/alpha).

    >>> round(exposure_factor(5, "C"), 7)
    0.8650282
    """
    alpha, gradient = EXPOSURES[exposure]
    return 2.01 * float((max(height, 4.572) / gradient) ** (2 / alpha))


def elevation_factor(elevation: float) -> float:
    """Ground elevation factor Ke of a site so many metres above the sea: thinner air.

    Source: ASCE 7-16, Ke = exp(-0.000119 z).

    >>> round(elevation_factor(110), 7)
    0.9869953
    """
    return exp(-0.000119 * elevation)


def asce_pressure(speed: float, kz: float, kd: float = 1.0, kzt: float = 1.0, ke: float = 1.0) -> float:
    """Velocity pressure qz [Pa] from the 3 s gust speed [m/s] and its factors: exposure, direction, hill, elevation.

    Source: ASCE 7-16, qz = 0.613 Kz Kzt Kd Ke V2.

    >>> round(asce_pressure(52, exposure_factor(5, "C"), kd=0.85, ke=elevation_factor(110)), 3)
    1202.905
    """
    return 0.613 * kz * kzt * kd * ke * speed * speed


def probability_factor(probability: float, shape: float = 0.2, power: float = 0.5) -> float:
    """Factor on the basic wind speed for a yearly probability other than 0.02, between 0 and 1.

    Source: EN 1991-1-4, cprob = {[1 - K ln(-ln(1-p))] / [1 - K ln(-ln 0.98)]}^n, K 0.2, n 0.5.

    >>> probability_factor(0.02), round(probability_factor(0.01), 7)
    (1.0, 1.0384765)
    """
    return float(((1 - shape * log(-log(1 - probability))) / (1 - shape * log(-log(0.98)))) ** power)


def roughness_factor(height: float, terrain: str) -> float:
    """Roughness factor cr of a terrain category 0 to IV, at zmin when lower.

    Source: EN 1991-1-4, kr = 0.19 (z0/0.05)^0.07, cr = kr ln(z/z0), z up to 200 m.

    >>> round(roughness_factor(10, "II"), 5)
    1.00668
    """
    z0, least = ROUGHNESS[terrain]
    return 0.19 * float((z0 / 0.05) ** 0.07) * log(max(height, least) / z0)


def turbulence(height: float, terrain: str, orography: float = 1.0, factor: float = 1.0) -> float:
    """Intensity of turbulence Iv. Source: EN 1991-1-4, Iv = kI / (co ln(z/z0)), at zmin when lower.

    >>> round(turbulence(10, "II"), 6)
    0.188739
    """
    z0, least = ROUGHNESS[terrain]
    return factor / (orography * log(max(height, least) / z0))


def exposure_coefficient(height: float, terrain: str, orography: float = 1.0) -> float:
    """Exposure coefficient ce: peak over basic velocity pressure; both factors count squared.

    Source: EN 1991-1-4, ce = (1 + 7 Iv) cr2 co2.

    >>> round(exposure_coefficient(10, "II"), 5)
    2.35229
    """
    mean = roughness_factor(height, terrain) * orography
    return (1 + 7 * turbulence(height, terrain, orography)) * mean * mean


def peak_pressure(basic: float, height: float, terrain: str, orography: float = 1.0, density: float = 1.25) -> float:
    """Peak velocity pressure qp [Pa] from the basic wind speed [m/s], its probability factor already in it.

    Source: EN 1991-1-4, qp = ce qb, qb = 0.5 rho vb2; rho 1.25 kg/m3, or as a national annex says.

    >>> round(peak_pressure(26 * probability_factor(0.01), 10, "II"), 3)
    1071.793
    """
    return exposure_coefficient(height, terrain, orography) * 0.5 * density * basic * basic
