"""The units that are known, with their factors: the plain ones, those left to pint, those of bills."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from math import pi

_FOOT = Decimal("0.3048")
_POUND = Decimal("0.45359237")
_G = Decimal("9.80665")
_INCH = Decimal("0.0254")
_PSI = _POUND * _G / (_INCH * _INCH)
_DEGREE = Decimal(repr(180 / pi))

Factors = Mapping[str, Mapping[str, Decimal | str]]

# Spellings to factor, by kind. The unit a kind is kept in (hours, km and degrees are not SI) has factor 1.
UNITS: Factors = {
    "length": {
        "m|metre|metres|meter|meters": "1",
        "mm|millimetre|millimetres|millimeter|millimeters": "0.001",
        "cm|centimetre|centimetres|centimeter|centimeters": "0.01",
        "km|kilometre|kilometres": "1000",
        "ft|foot|feet|'": _FOOT,
        'in|inch|inches|ins|"': _INCH,
        "yd|yard|yards": "0.9144",
    },
    "distance": {"km|kilometre|kilometres|kilometer|kilometers": "1", "m|metre|metres": "0.001"},
    "angle": {"degrees|degree|deg|°": "1", "rad|radian|radians": _DEGREE},
    "speed": {
        "m/s|mps": "1",
        "km/h|kmh|kph|km/hr": Decimal(1) / Decimal("3.6"),
        "mph|mi/h": "0.44704",
        "kn|kt|kts|knot|knots": Decimal(1852) / Decimal(3600),
    },
    "area": {
        "m2|m^2|sqm|sq m": "1",
        "mm2|mm^2": "0.000001",
        "cm2|cm^2": "0.0001",
        "ft2|ft^2|sqft|sq ft": _FOOT**2,
    },
    "volume": {
        "m3|m^3|cum|cu m": "1",
        "l|litre|litres|liter|liters": "0.001",
        "ml": "0.000001",
        "ft3|ft^3|cu ft|cuft": _FOOT**3,
        "yd3|yd^3|cu yd": Decimal("0.9144") ** 3,
    },
    "force": {
        "N|newton|newtons": "1",
        "kN": "1000",
        "MN": "1000000",
        "lbf": _POUND * _G,
        "kip": _POUND * _G * 1000,
        "kgf": _G,
        "tf": _G * 1000,
    },
    "stress": {
        "Pa": "1",
        "kPa|kN/m2|kN/m^2": "1000",
        "MPa|N/mm2|N/mm^2|MN/m2": "1000000",
        "GPa|kN/mm2": "1000000000",
        "psi": _PSI,
        "psf": _PSI / 144,
    },
    "mass": {
        "kg": "1",
        "g": "0.001",
        "t|tonne|tonnes": "1000",
        "lb|lbs|pound|pounds": _POUND,
    },
    "time": {"h|hr|hrs|hour|hours": "1", "min|minute|minutes|mins": Decimal(1) / Decimal(60)},
    "section": {"m3|m^3": "1", "cm3|cm^3": "0.000001", "mm3|mm^3": "0.000000001", "in3|in^3": _INCH**3},
    "percent": {"%|percent|per cent|pct": "0.01"},
}
# Spellings whose factor is left to pint: our spelling to kind, pint's name and the unit to convert to.
BY_PINT: Mapping[str, tuple[str, str, str]] = {
    "mi": ("distance", "mile", "kilometer"),
    "mile": ("distance", "mile", "kilometer"),
    "miles": ("distance", "mile", "kilometer"),
    "nautical miles": ("distance", "nautical_mile", "kilometer"),
    "yd2": ("area", "yard ** 2", "meter ** 2"),
    "in2": ("area", "inch ** 2", "meter ** 2"),
    "acre": ("area", "acre", "meter ** 2"),
    "ha": ("area", "hectare", "meter ** 2"),
    "gal": ("volume", "gallon", "meter ** 3"),
    "us gallon": ("volume", "gallon", "meter ** 3"),
    "imperial gallon": ("volume", "imperial_gallon", "meter ** 3"),
    "in3": ("volume", "inch ** 3", "meter ** 3"),
    "ksi": ("stress", "ksi", "pascal"),
    "bar": ("stress", "bar", "pascal"),
    "oz": ("mass", "ounce", "kilogram"),
    "cwt": ("mass", "hundredweight", "kilogram"),
    "short ton": ("mass", "short_ton", "kilogram"),
    "long ton": ("mass", "long_ton", "kilogram"),
    "ft/s": ("speed", "foot / second", "meter / second"),
    "ft/min": ("speed", "foot / minute", "meter / second"),
    "grad": ("angle", "grade", "degree"),
}

KIND_WORDS: Mapping[str, str] = {
    "length": "a length",
    "distance": "a distance",
    "angle": "an angle",
    "speed": "a speed",
    "area": "an area",
    "volume": "a volume",
    "force": "a force",
    "stress": "a pressure",
    "mass": "a mass",
    "time": "a time",
    "section": "a section modulus",
    "percent": "a per cent",
}

BILL_UNITS: Factors = {
    "length": {
        "m|metre|metre run|lm|lin m": "1",
        "mm": "0.001",
        "cm": "0.01",
        "km": "1000",
        "ft|foot|feet|lf": _FOOT,
        "in|inch|inches": _INCH,
        "yd|yard": "0.9144",
    },
    "area": {"m2|sqm|sq m": "1", "mm2": "0.000001", "ft2|sq ft|sqft": _FOOT**2, "yd2|sq yd": "0.83612736"},
    "volume": {
        "m3|cum|cu m": "1",
        "l|litre|liter": "0.001",
        "ml": "0.000001",
        "ft3|cu ft": _FOOT**3,
        "yd3|cu yd": Decimal("0.9144") ** 3,
    },
    "mass": {"kg": "1", "g": "0.001", "t|tonne": "1000", "lb|pound": _POUND},
    "time": {"h|hr|hour|person-hour": "60", "min|minute": "1"},
    "day": {"day|d|days": "1"},
    "count": {"each|ea|pc|pce|piece|no|nr|item|unit": "1", "pair": "2", "dozen": "12"},
}
