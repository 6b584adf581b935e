"""Sections, screws, eye bolts, chain and slings against published tables."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from estimator.geometry.fasteners import EYE_BOLTS, GRAVITY, eye_bolt_load, ultimate_withdrawal, withdrawal
from estimator.geometry.sections import (
    Section,
    as_nzs_radii,
    cold_formed_radii,
    hot_finished_radii,
    mass_per_metre,
    round_solid,
    round_tube,
    square_solid,
    square_tube,
)
from estimator.geometry.slings import chain_breaking_force, leg_factor, leg_force

INCH = 0.0254
POUND = 4.4482216152605


def in_table_units(section: Section) -> list[float]:
    """kg/m, cm2, cm4, cm3, cm3."""
    return [
        mass_per_metre(section),
        section.area * 1e4,
        section.inertia * 1e8,
        section.modulus * 1e6,
        section.plastic * 1e6,
    ]


def printed_alike(found: list[float], printed: str) -> None:
    """Each figure agrees to within just over half a unit in the last place that is printed."""
    for value, text in zip(found, printed.split(), strict=True):
        places = len(text.partition(".")[2])
        assert abs(value - float(text)) <= 0.502 * 10**-places, (value, text)


@pytest.mark.parametrize(
    ("outer", "wall", "row"),
    [
        # Source: a cold-formed table in public.
        (48.3, 3, "3.35 4.27 11.0 4.55 6.17"),
        (60.3, 3, "4.24 5.40 22.2 7.37 9.86"),
        (76.1, 4, "7.11 9.06 59.1 15.5 20.8"),
        (88.9, 4, "8.38 10.7 96.3 21.7 28.9"),
        (88.9, 5, "10.3 13.2 116 26.2 35.2"),
        # Source: recomputed by the formulas of EN 10219-2.
        (114.3, 5, "13.48 17.17 256.9 44.96 59.77"),
        (139.7, 5, "16.61 21.16 480.5 68.80 90.76"),
        (168.3, 5, "20.14 25.65 855.8 101.7 133.4"),
    ],
)
def test_round_tubes(outer: float, wall: float, row: str) -> None:
    printed_alike(in_table_units(round_tube(outer / 1000, wall / 1000)), row)


@pytest.mark.parametrize(
    ("height", "width", "wall", "row"),
    # Source: a cold-formed table in public, to EN 10219.
    [
        (40, 20, 2, "1.68 2.14 4.05 2.02 2.61"),
        (50, 30, 3, "3.30 4.21 12.83 5.13 6.57"),
        (60, 40, 3, "4.25 5.41 25.38 8.46 10.53"),
        (60, 40, 4, "5.45 6.95 30.99 10.33 13.16"),
    ],
)
def test_rectangular_tubes(height: float, width: float, wall: float, row: str) -> None:
    tube = square_tube(height / 1000, width / 1000, wall / 1000, cold_formed_radii(wall / 1000))
    printed_alike(in_table_units(tube), row)


@pytest.mark.parametrize(
    ("side", "wall", "radii", "row"),
    # Source: recomputed from the corner radii of EN 10219, EN 10210 and AS/NZS 1163 by the formulas of EN 10219-2.
    [
        (100, 5, cold_formed_radii, "14.41 18.36 271.1 54.22 64.59"),
        (100, 5, hot_finished_radii, "14.70 18.73 279.4 55.89 66.36"),
        (100, 5, as_nzs_radii, "14.24 18.14 265.7 53.14 63.51"),
        (75, 4, cold_formed_radii, "8.59 10.95 90.19 24.05 28.76"),
        (75, 4, hot_finished_radii, "8.78 11.19 93.16 24.84 29.61"),
        (75, 4, as_nzs_radii, "8.49 10.81 88.24 23.53 28.24"),
        (90, 5, cold_formed_radii, "12.84 16.36 192.9 42.87 51.41"),
        (90, 5, hot_finished_radii, "13.13 16.73 199.6 44.35 52.99"),
        (90, 5, as_nzs_radii, "12.67 16.14 188.6 41.90 50.44"),
    ],
)
def test_square_tubes(side: float, wall: float, radii: Callable[[float], tuple[float, float]], row: str) -> None:
    tube = square_tube(side / 1000, side / 1000, wall / 1000, radii(wall / 1000))
    printed_alike(in_table_units(tube), row)


def test_corner_radii_go_with_the_wall() -> None:
    # Source: EN 10219-2: outer radius 2t up to 6 mm, 2.5t up to 10 mm, 3t above; inner one wall less.
    radii = [cold_formed_radii(wall / 1000) for wall in (6, 8, 10, 12)]
    assert [outer * 1000 for outer, _ in radii] == pytest.approx([12, 20, 25, 36])
    assert [inner * 1000 for _, inner in radii] == pytest.approx([6, 12, 15, 24])


def test_timber_posts() -> None:
    # Source: Z = b d2/6 and pi d3/32; derived.
    squares = [square_solid(side, side).modulus * 1e6 for side in (0.09, 0.1, 0.125, 0.15)]
    assert squares == pytest.approx([121.5, 166.67, 325.52, 562.5], abs=0.005)
    assert [round_solid(d).modulus * 1e6 for d in (0.15, 0.2)] == pytest.approx([331.34, 785.40], abs=0.005)


DIAMETERS = (1 / 4, 5 / 16, 3 / 8, 7 / 16, 1 / 2, 5 / 8, 3 / 4)
# Source: NDS table 12.2A, pounds per inch of thread in side grain, by specific gravity and the diameters above.
WITHDRAWAL = {
    0.73: (397, 469, 538, 604, 668, 789, 905),
    0.67: (349, 413, 473, 531, 587, 694, 796),
    0.55: (260, 307, 352, 395, 437, 516, 592),
    0.50: (225, 266, 305, 342, 378, 447, 513),
    0.46: (199, 235, 269, 302, 334, 395, 453),
    0.43: (179, 212, 243, 273, 302, 357, 409),
    0.42: (173, 205, 235, 264, 291, 344, 395),
    0.35: (132, 156, 179, 200, 222, 262, 300),
}


@pytest.mark.parametrize(
    ("gravity", "inches", "pounds"),
    [(g, d, w) for g, row in WITHDRAWAL.items() for d, w in zip(DIAMETERS, row, strict=True)],
)
def test_all_cells_of_the_screw_table(gravity: float, inches: float, pounds: int) -> None:
    found = withdrawal(gravity, inches * INCH) * INCH / POUND
    assert abs(found - pounds) <= 0.5
    assert withdrawal(gravity, inches * INCH, end_grain=True) * INCH / POUND == pytest.approx(0.75 * found)


def test_the_screw_table_has_56_cells() -> None:
    assert sum(len(row) for row in WITHDRAWAL.values()) == 56


@pytest.mark.parametrize(
    ("gravity", "inches", "exact"),
    # Source: cells recomputed before rounding.
    [(0.50, 3 / 8, 304.97), (0.55, 1 / 2, 436.56), (0.42, 1 / 2, 291.32), (0.67, 5 / 8, 693.90), (0.35, 1 / 4, 131.77)],
)
def test_cells_before_rounding(gravity: float, inches: float, exact: float) -> None:
    assert withdrawal(gravity, inches * INCH) * INCH / POUND == pytest.approx(exact, abs=0.0051)


def test_ultimate_pull_out() -> None:
    # Source: Wood Handbook (USDA Forest Products Laboratory): 125.4 in N and mm, 8100 in pounds and inches.
    found = ultimate_withdrawal(0.42, 0.5 * INCH, 3 * INCH)
    assert found == pytest.approx(17_498, abs=0.5)
    assert found == pytest.approx(3932.9 * POUND, rel=3e-4)
    assert ultimate_withdrawal(0.42, 0.010, 0.070) == pytest.approx(13_436, abs=0.5)
    assert ultimate_withdrawal(0.42, 0.010, 0.070, end_grain=True) == pytest.approx(0.75 * 13_436, abs=0.5)
    # 8100/1800 = 4.5: what the allowable value leaves
    assert found / (withdrawal(0.42, 0.5 * INCH) * 3 * INCH) == pytest.approx(4.5, rel=3e-4)


def test_eye_bolts() -> None:
    # Source: DIN 580:2003 table A.1, kg along the shank and at 45 degrees.
    table = {
        "M8": (140, 100),
        "M10": (230, 170),
        "M12": (340, 240),
        "M16": (700, 500),
        "M20": (1200, 860),
        "M24": (1800, 1290),
        "M30": (3200, 2300),
        "M36": (4600, 3300),
    }
    assert EYE_BOLTS.keys() == table.keys()
    for size, (axial, slanted) in table.items():
        assert eye_bolt_load(size, 0) == pytest.approx(axial * 9.80665)
        assert eye_bolt_load(size, 45) == pytest.approx(slanted * GRAVITY)
        # Source: derived from the table: 0.706 to 0.739, about the cosine of 45 degrees
        assert 0.705 < eye_bolt_load(size, 45) / eye_bolt_load(size, 0) < 0.740
    for beyond in (-1, 45.1, 90):
        with pytest.raises(ValueError, match="45"):
            eye_bolt_load("M12", beyond)


@pytest.mark.parametrize(
    ("grade", "diameter", "kilonewtons"),
    # Source: EN 818: mean stress at the least breaking force; T and V recomputed, T as the table prints it.
    [("T", 8, 80.42), ("T", 6, 45.24), ("V", 8, 100.53), ("M", 8, 40.21), ("P", 8, 50.27), ("S", 8, 63.33)],
)
def test_chain_breaking_force(grade: str, diameter: float, kilonewtons: float) -> None:
    assert chain_breaking_force(diameter / 1000, grade) / 1000 == pytest.approx(kilonewtons, abs=0.006)


@pytest.mark.parametrize(("diameter", "kilograms"), [(6, 4800), (8, 8000), (10, 12_800)])
def test_hoist_chain_holds_four_times_its_load(diameter: float, kilograms: float) -> None:
    # Source: hoist chain grade T, 6x18, 8x24, 10x30: working load 1200, 2000, 3200 kg, breaking load four times that.
    # Those breaking loads are rounded: within 4 % of the stress times the area.
    assert chain_breaking_force(diameter / 1000, "T") / 9.80665 == pytest.approx(kilograms, rel=0.04)


def test_sling_legs() -> None:
    # Source: EN 13414-1 table 4: 1; 1.4 and 1; 2.1 and 1.5; each is n cos of the limit (2 cos 45 = 1.414), rounded.
    assert [leg_factor(1, 0), leg_factor(2, 45), leg_factor(2, 60)] == [1.0, 1.4, 1.0]
    assert [leg_factor(legs, angle) for legs in (3, 4) for angle in (45, 60)] == [2.1, 1.5, 2.1, 1.5]
    for legs, angle in ((2, 45), (2, 60), (3, 45), (3, 60)):
        assert leg_factor(legs, angle) == pytest.approx(1 / leg_force(1, legs, angle), rel=0.011)
        assert leg_factor(legs, angle) <= 1 / leg_force(1, legs, angle) + 1e-9
    for legs, angle in ((1, 30), (2, 61), (5, 30), (2, -1)):
        with pytest.raises(ValueError, match="legs at"):
            leg_factor(legs, angle)
