"""Properties of post sections: lengths m, area m2, inertia m4, moduli m3, mass kg/m."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

STEEL = 7850.0  # kg/m3; source: EN 10219-2, density for the mass of hollow sections


@dataclass(frozen=True)
class Section:
    """area [m2], second moment of area [m4], elastic and plastic section modulus [m3] about the axis across its
    height."""

    area: float
    inertia: float
    modulus: float
    plastic: float


def round_tube(outer: float, wall: float) -> Section:
    """Circular hollow section; wall up to half the outer diameter, at which it is solid.

    Source: EN 10219-2 annex, I = pi (D4 - d4)/64, Wpl = (D3 - d3)/6.

    >>> tube = round_tube(0.0889, 0.005)
    >>> round(tube.area * 1e4, 1), round(tube.inertia * 1e8), round(tube.modulus * 1e6, 1), round(tube.plastic * 1e6, 1)
    (13.2, 116, 26.2, 35.2)
    """
    inner = outer - 2 * wall
    inertia = pi / 64 * (outer**4 - inner**4)
    return Section(pi / 4 * (outer**2 - inner**2), inertia, 2 * inertia / outer, (outer**3 - inner**3) / 6)


def cold_formed_radii(wall: float) -> tuple[float, float]:
    """Outer and inner corner radius [m] of a cold-formed hollow section. Source: EN 10219-2: outer 2t up to 6 mm,
    2.5t up to 10 mm, 3t above; inner is one wall less.

    >>> [round(radius, 4) for radius in cold_formed_radii(0.005)]
    [0.01, 0.005]
    """
    times = 2.0 if wall <= 0.006 else 2.5 if wall <= 0.010 else 3.0
    return times * wall, (times - 1) * wall


def hot_finished_radii(wall: float) -> tuple[float, float]:
    """Outer and inner corner radius [m] of a hot-finished hollow section. Source: EN 10210-2: outer 1.5t, inner 1.0t.
    (The inner radius in the source is a value for calculation.)

    >>> [round(radius, 4) for radius in hot_finished_radii(0.005)]
    [0.0075, 0.005]
    """
    return 1.5 * wall, 1.0 * wall


def as_nzs_radii(wall: float) -> tuple[float, float]:
    """Outer and inner corner radius [m] of a cold-formed hollow section to AS/NZS 1163: outer 2.5t, inner 1.5t, as
    used for walls over 3 mm.

    >>> [round(radius, 4) for radius in as_nzs_radii(0.005)]
    [0.0125, 0.0075]
    """
    return 2.5 * wall, 1.5 * wall


def square_tube(height: float, width: float, wall: float, radii: tuple[float, float]) -> Section:
    """Square or rectangular hollow section with rounded corners, bent about the axis across its height.

    radii: outer and inner, as the functions above give them; two walls fit into each side.
    Source: EN 10219-2 annex, the full rectangles less what the corners lack.

    >>> tube = square_tube(0.1, 0.1, 0.005, cold_formed_radii(0.005))
    >>> round(tube.area * 1e4, 2), round(tube.inertia * 1e8, 1), round(tube.plastic * 1e6, 2)
    (18.36, 271.1, 64.59)
    """
    outside = _rounded(height, width, radii[0])
    inside = _rounded(height - 2 * wall, width - 2 * wall, radii[1])
    area, inertia, plastic = (out - within for out, within in zip(outside, inside, strict=True))
    return Section(area, inertia, 2 * inertia / height, plastic)


def _rounded(height: float, width: float, radius: float) -> tuple[float, float, float]:
    """Area, second moment and plastic modulus of a solid rectangle with rounded corners."""
    lacks = (1 - pi / 4) * radius**2
    arm = height / 2 - radius * (10 - 3 * pi) / (12 - 3 * pi)
    own = (1 / 3 - pi / 16 - 1 / (3 * (12 - 3 * pi))) * radius**4
    return (
        width * height - 4 * lacks,
        width * height**3 / 12 - 4 * (own + lacks * arm**2),
        width * height**2 / 4 - 4 * lacks * arm,
    )


def square_solid(height: float, width: float) -> Section:
    """Solid rectangle, such as a timber post, bent about the axis across its height. Source: W = b h2/6.

    >>> round(square_solid(0.1, 0.1).modulus * 1e6, 2)
    166.67
    """
    area, inertia, plastic = _rounded(height, width, 0.0)
    return Section(area, inertia, 2 * inertia / height, plastic)


def round_solid(diameter: float) -> Section:
    """Solid round, such as a timber pole. Source: W = pi d3/32.

    >>> round(round_solid(0.15).modulus * 1e6, 2)
    331.34
    """
    return round_tube(diameter, diameter / 2)


def mass_per_metre(section: Section, density: float = STEEL) -> float:
    """Mass [kg/m] of a section of a density [kg/m3].

    >>> round(mass_per_metre(round_tube(0.0889, 0.005)), 1)
    10.3
    """
    return section.area * density
