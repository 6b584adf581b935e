"""How the typed numbers of a job are meant, and how its values are shown in sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from estimator.core.units import show_length

# Unit of a bare number, by kind; a speed has none.
DEFAULT_UNIT: Mapping[str, str] = {
    "length": "m",
    "distance": "km",
    "angle": "degrees",
    "area": "m2",
    "volume": "m3",
    "force": "N",
    "stress": "Pa",
    "mass": "kg",
    "section": "m3",
    "time": "h",
}

_EXAMPLES: Mapping[str, str] = {
    "length": "2.9 m",
    "distance": "18 km",
    "angle": "5",
    "speed": "41 m/s, 148 km/h or 80 kn",
    "percent": "30 %",
    "money": "35.00",
    "area": "24 m2",
    "volume": "0.5 m3",
    "force": "5 kN",
    "stress": "150 MPa",
    "mass": "12 kg",
    "section": "80 cm3",
    "time": "2 h",
    "date": "2026-04-03",
}


@dataclass(frozen=True, slots=True)
class Context:
    """units: metric or feet and inches; decimal_mark: point, comma, or blank where the job does not say."""

    units: str = "metric"
    decimal_mark: str = ""

    @property
    def feet(self) -> bool:
        """Whether lengths are in feet and inches."""
        return self.units == "feet and inches"

    def default_unit(self, kind: str) -> str:
        """The unit of a bare number, blank where there is none."""
        return "ft" if kind == "length" and self.feet else DEFAULT_UNIT.get(kind, "")

    def example(self, kind: str) -> str:
        """A value as it may be typed."""
        return "9' 6\"" if kind == "length" and self.feet else _EXAMPLES.get(kind, "2")

    def show(self, value: float, kind: str) -> str:
        """A value of a kind in words.

        >>> Context().show(30, "length"), Context().show(0.3, "percent"), Context().show(12, "whole")
        ('30 m', '30 %', '12')
        """
        if kind == "length" and self.feet:
            return show_length(value, self.units)
        if kind == "percent":
            return f"{value * 100:.10g} %"
        return f"{value:,.10g} {DEFAULT_UNIT.get(kind, 'm/s' if kind == 'speed' else '')}".strip()
