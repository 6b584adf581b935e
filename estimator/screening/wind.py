"""The gust that a site is screened at, and the pressure it makes: speeds m/s, pressures Pa."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.geometry.wind import from_metres_per_second, gust, pressure
from estimator.job.model import Site
from estimator.rates.model import RateBook

NEEDED = ("air density", "uplift coefficient", "down coefficient")


@dataclass(frozen=True, slots=True)
class Wind:
    """Air density [kg/m3] and the coefficients on the pressure, upward and downward."""

    density: float
    up: float
    down: float

    def pressure(self, speed: float, case: str, share: float) -> float:
        """Pressure on a cloth that takes a share of it [Pa]: above nothing upward. case: rest, up, down."""
        if case == "rest" or speed == 0:
            return 0.0
        by = self.up if case == "up" else self.down
        found = pressure(speed, by, share, density=self.density)
        return found if case == "up" else -found


def wind_of(book: RateBook) -> Wind | tuple[str, ...]:
    """The settings of the wind, or the names of those that the book has no row for."""
    density, up, down = (book.known(name) for name in NEEDED)
    if density is None or up is None or down is None:
        return tuple(name for name in NEEDED if book.known(name) is None)
    return Wind(density, up, down)


def gust_of(book: RateBook, site: Site) -> tuple[float, str] | str:
    """The gust at the sail [m/s] and how it came about; or the setting that it needs and the book has not.

    A gust is taken as given, times the site's multiplier; a mean by the setting `gust over mean` besides; a design
    wind has everything in it. A site without a wind speed is looked at in the firm's own limit.
    """
    if site.wind_speed is None:
        limit = book.number("take-down gust")
        return limit / 3.6, f"no wind speed is given for the site; looked at in the firm's own limit, {limit:g} km/h"
    speed = site.wind_speed
    words = f"{site.wind_is} of {speed:.1f} m/s as given"
    given = speed
    if site.wind_is == "mean":
        factor = book.known("gust over mean")
        if factor is None:
            return "gust over mean"
        speed = gust(speed, factor)
        words += f" x {factor:g}, gust over mean"
    if site.wind_multiplier is not None:
        speed *= site.wind_multiplier
        words += f" x {site.wind_multiplier:g}, the site's wind multiplier"
    return speed, words if speed == given else f"{words} = {speed:.1f} m/s"


def speeds(speed: float) -> str:
    """A speed in the three units that people use, rounded.

    >>> speeds(25.0)
    '25.0 m/s (90 km/h, 56 mph)'
    """
    kmh, mph = (from_metres_per_second(speed, unit) for unit in ("km/h", "mph"))
    return f"{speed:.1f} m/s ({kmh:.0f} km/h, {mph:.0f} mph)"
