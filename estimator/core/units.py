"""Units: a plain table for the common ones, pint for the few others, nothing guessed."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from math import floor

from estimator.core.unit_tables import BILL_UNITS, BY_PINT, KIND_WORDS, UNITS

__all__ = [
    "KIND_WORDS",
    "TABLE",
    "convert",
    "knows",
    "show_length",
    "spelling",
    "straight_quotes",
    "to_si",
    "unit_kind",
]

TABLE: Mapping[str, Mapping[str, Decimal]] = {
    kind: {name: Decimal(factor) for names, factor in units.items() for name in names.split("|")}
    for kind, units in UNITS.items()
}

_QUOTES = str.maketrans({"’": "'", "‘": "'", "′": "'", "`": "'", "´": "'", "“": '"', "”": '"', "″": '"', "º": "°"})


def straight_quotes(text: str) -> str:
    """The text with every kind of quote and prime as ' or ", two single ones as a double.

    >>> print(straight_quotes("5\u2032 6\u2033"))
    5' 6"
    """
    return text.translate(_QUOTES).replace("''", '"')


@lru_cache(maxsize=2000)
def spelling(unit: str) -> str:
    """A unit as the tables spell it, case kept: one kind of quote, no full stop, single spaces.

    >>> spelling(" m² "), spelling("″"), spelling("in.")
    ('m2', '"', 'in')
    """
    # Quotes first: NFKC splits a double prime and strips the accent that people type for feet.
    text = straight_quotes(unicodedata.normalize("NFKC", straight_quotes(unit)))
    return " ".join(text.rstrip(". ").split())


@lru_cache(maxsize=2000)
def _factor(unit: str, kind: str) -> Decimal | None:
    """Factor of a unit in the plain table; case counts only where two spellings differ by it."""
    units = TABLE.get(kind, {})
    name = spelling(unit)
    if name in units or any(name in others for others in TABLE.values()):
        return units.get(name)  # kN is no spelling of kn
    folded = name.casefold()
    return next((factor for known, factor in units.items() if known.casefold() == folded), None)


def knows(unit: str, kind: str) -> bool:
    """Whether a unit belongs to a kind.

    >>> knows("MM", "length"), knows("kg", "force")
    (True, False)
    """
    return _factor(unit, kind) is not None or BY_PINT.get(spelling(unit).casefold(), ("",))[0] == kind


def unit_kind(unit: str) -> str:
    """The kind of a unit, blank for an unknown one. m is a length, m3 a volume, kN a force, kn a speed.

    >>> unit_kind("mm"), unit_kind("kN"), unit_kind("kn"), unit_kind("bananas")
    ('length', 'force', 'speed', '')
    """
    name = spelling(unit)
    exact = next((kind for kind, units in TABLE.items() if name in units), "")
    return exact or next((kind for kind in TABLE if knows(unit, kind)), "")


def to_si(number: float, unit: str, kind: str) -> float:
    """A number with its unit in the unit of its kind.

    kind: length m, distance km, angle degrees, speed m/s, area m2, volume m3, force N, stress Pa, mass kg,
    time h, section m3, percent fraction. ValueError for a unit that is not of that kind.

    >>> to_si(2900, "mm", "length"), to_si(36, "km/h", "speed"), to_si(1, "in", "length")
    (2.9, 10.0, 0.0254)
    >>> round(to_si(10, "miles", "distance"), 5)
    16.09344
    """
    factor = _factor(unit, kind)
    if factor is not None:
        return float(f"{Decimal(repr(float(number))) * factor:.15g}")
    found, name, target = BY_PINT.get(spelling(unit).casefold(), ("", "", ""))
    if found != kind:
        raise ValueError(f"{unit!r} is not {KIND_WORDS.get(kind, kind)}")
    return _through_pint(float(number), name, target)


def _through_pint(number: float, name: str, target: str) -> float:
    """Number and unit apart: pint never parses what somebody typed."""
    import pint  # here, because it takes long to load and is seldom needed

    registry = pint.get_application_registry()  # type: ignore[no-untyped-call]
    return float(registry.Quantity(number, name).to(target).magnitude)


_BILL: Mapping[str, tuple[str, Decimal]] = {
    name: (dimension, Decimal(factor))
    for dimension, units in BILL_UNITS.items()
    for names, factor in units.items()
    for name in names.split("|")
}


def _bill_unit(unit: str) -> tuple[str, Decimal]:
    name = spelling(unit).casefold()
    single = name[:-1] if name.endswith("s") and len(name) > 2 else name
    # A unit in words (bag, roll, trip) is a dimension of its own.
    return _BILL.get(name) or _BILL.get(single) or (f"={single}", Decimal(1))


def convert(quantity: Decimal, from_unit: str, to_unit: str) -> Decimal | None:
    """A quantity of a bill in another unit; None where the two do not convert. A day is no number of hours.

    >>> convert(Decimal("2500"), "mm", "m"), convert(Decimal(2), "each", "pcs"), convert(Decimal(3), "m2", "m3")
    (Decimal('2.500'), Decimal('2'), None)
    """
    (one, up), (other, down) = _bill_unit(from_unit), _bill_unit(to_unit)
    if one != other:
        return None
    return quantity if up == down else quantity * up / down


def show_length(metres: float, units: str) -> str:
    """A length to read: metres to the millimetre, or feet and inches to the eighth, halves up.

    >>> show_length(3.6, "metric"), show_length(3.6, "feet and inches"), show_length(0.2476, "feet and inches")
    ('3.600 m', '11\\' 9 3/4"', '9 3/4"')
    """
    if units != "feet and inches":
        return f"{floor(abs(metres) * 1000 + 0.5) / 1000 * (-1 if metres < 0 else 1) + 0:.3f} m"
    eighths = floor(abs(metres) / 0.0254 * 8 + 0.5)
    sign = "-" if metres < 0 and eighths else ""
    feet, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)
    top, bottom = part, 8
    while top and top % 2 == 0:
        top, bottom = top // 2, bottom // 2
    shown = " ".join(x for x in (str(inches) if inches or not top else "", f"{top}/{bottom}" if top else "") if x)
    return f"{sign}{feet}' {shown}\"" if feet else f'{sign}{shown}"'
