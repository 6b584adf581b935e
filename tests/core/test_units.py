"""Units: against published factors, against pint, and back and forth."""

from __future__ import annotations

from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.units import TABLE, convert, knows, show_length, spelling, to_si, unit_kind

# International yard and pound (agreement of 1959), standard gravity and nautical mile (SI brochure, 9th edition 2019,
# and NIST SP 811, 2008, appendix B).
PUBLISHED = [
    (1, "ft", "length", 0.3048),
    (1, "in", "length", 0.0254),
    (1, "yd", "length", 0.9144),
    (1, "mile", "distance", 1.609344),
    (1, "kn", "speed", 1852 / 3600),
    (1, "mph", "speed", 0.44704),
    (1, "lb", "mass", 0.45359237),
    (1, "lbf", "force", 4.4482216152605),
    (1, "kgf", "force", 9.80665),
    (1, "psi", "stress", 6894.757),
    (1, "psf", "stress", 47.88026),
    (1, "ft3", "volume", 0.028316846592),
    (1, "yd3", "volume", 0.764554857984),
    (1, "acre", "area", 4046.873),
    (180, "degrees", "angle", 180.0),
    (1, "rad", "angle", 57.29577951308232),
    (90, "min", "time", 1.5),
]


@pytest.mark.parametrize(("number", "unit", "kind", "expected"), PUBLISHED)
def test_published_factors(number: float, unit: str, kind: str, expected: float) -> None:
    assert to_si(number, unit, kind) == pytest.approx(expected, rel=3e-7)


PINT = {
    "length": "meter",
    "distance": "kilometer",
    "angle": "degree",
    "speed": "meter / second",
    "area": "meter ** 2",
    "volume": "meter ** 3",
    "force": "newton",
    "stress": "pascal",
    "mass": "kilogram",
    "time": "hour",
    "section": "meter ** 3",
}
NAMES = {
    "'": "foot",
    '"': "inch",
    "°": "degree",
    "t": "tonne",
    "kn": "knot",
    "kts": "knot",
    "lb": "pound",
    "tf": "tonne * g_0",
}


@pytest.mark.parametrize("kind", PINT)
def test_the_plain_table_agrees_with_pint(kind: str) -> None:
    registry = pint.UnitRegistry()
    compared = 0
    for unit in TABLE[kind]:
        try:
            known = registry.Quantity(1, NAMES.get(unit, unit)).to(PINT[kind]).magnitude
        except (pint.UndefinedUnitError, pint.DimensionalityError, pint.errors.DefinitionSyntaxError):
            continue  # a spelling of ours, such as sqm
        assert to_si(1, unit, kind) == pytest.approx(known, rel=1e-12), unit
        compared += 1
    assert compared >= 2


def test_a_unit_of_another_kind_is_refused() -> None:
    for unit, kind in (("kg", "force"), ("m2", "length"), ("kN", "speed"), ("acre", "length"), ("bananas", "mass")):
        assert not knows(unit, kind)
        with pytest.raises(ValueError):
            to_si(1, unit, kind)


def test_case_counts_only_where_it_must() -> None:
    assert (unit_kind("kN"), unit_kind("kn"), unit_kind("KN"), unit_kind("MM"), unit_kind("M")) == (
        "force",
        "speed",
        "speed",
        "length",
        "length",
    )
    assert spelling(" Sq  m. ") == "Sq m"
    assert (unit_kind("′"), unit_kind("´"), unit_kind("''"), unit_kind("m³"), unit_kind("㎡")) == (
        "length",
        "length",
        "length",
        "volume",
        "area",
    )


def test_no_float_noise() -> None:
    assert to_si(2900, "mm", "length") == 2.9
    assert to_si(166.67, "cm3", "section") == 166.67e-6
    assert to_si(0.1 + 0.2, "kN", "force") == 300.0


@pytest.mark.parametrize(
    ("quantity", "unit", "other", "expected"),
    [
        ("2.5", "m", "mm", "2500"),
        ("1200", "MM", "metres", "1.2"),
        ("1", "ft", "m", "0.3048"),
        ("3", "Litres", "m3", "0.003"),
        ("1.5", "t", "kg", "1500"),
        ("90", "min", "hours", "1.5"),
        ("4", "pcs", "each", "4"),
        ("4", "no", "ea", "4"),
        ("2", "pairs", "each", "4"),
        ("3", "bags", "Bag", "3"),
        ("1", "day", "h", None),
        ("1", "m2", "m3", None),
        ("1", "m", "each", None),
        ("1", "bag", "roll", None),
        ("1", "kg", "m3", None),
    ],
)
def test_bill_units(quantity: str, unit: str, other: str, expected: str | None) -> None:
    found = convert(Decimal(quantity), unit, other)
    assert found == (None if expected is None else Decimal(expected))


@given(
    st.decimals(0, 10**6, places=3), st.sampled_from(["m", "mm", "ft", "in", "km", "yd"]), st.sampled_from(["m", "ft"])
)
def test_bill_units_there_and_back(quantity: Decimal, unit: str, other: str) -> None:
    there = convert(quantity, unit, other)
    assert there is not None
    back = convert(there, other, unit)
    assert back is not None
    assert abs(back - quantity) <= Decimal("1e-18") * (1 + quantity)


@pytest.mark.parametrize(
    ("metres", "metric", "feet"),
    [
        (0.0, "0.000 m", '0"'),
        (3.6, "3.600 m", "11' 9 3/4\""),
        (0.3048, "0.305 m", "1' 0\""),
        (-0.3048, "-0.305 m", "-1' 0\""),
        (0.0254 / 16, "0.002 m", '1/8"'),
        (0.0254 * 11.99, "0.305 m", "1' 0\""),
        (0.0254 * 6.5, "0.165 m", '6 1/2"'),
        (-0.0001, "0.000 m", '0"'),
    ],
)
def test_lengths_to_read(metres: float, metric: str, feet: str) -> None:
    assert show_length(metres, "metric") == metric
    assert show_length(metres, "feet and inches") == feet


@given(st.floats(-500, 500))
def test_feet_and_inches_are_true_to_the_eighth(metres: float) -> None:
    from estimator.sheets.numbers import read_amount

    shown = show_length(metres, "feet and inches")
    amount = read_amount(shown)
    assert not isinstance(amount, str)
    assert float(amount.readings[0]) * 0.0254 == pytest.approx(metres, abs=0.0254 / 16 + 1e-9)
