"""Published answers for tape surveys."""

from __future__ import annotations

import math

import pytest

from estimator.geometry.tape import (
    Adjusted,
    Refused,
    TapedLine,
    TapedPoint,
    adjust,
    area_span,
    class_limit,
    corner_angle,
)
from estimator.geometry.tape_checks import reduce_to_plan
from estimator.geometry.tape_solve import jacobian, misfit, network


@pytest.mark.parametrize(
    ("length", "one", "two", "three"), [(3, 0.4, 0.9, 1.8), (5, 0.6, 1.3, 2.6), (8, 0.9, 1.9, 3.8), (10, 1.1, 2.3, 4.6)]
)
def test_limits_of_tape_classes(length: float, one: float, two: float, three: float) -> None:
    """UK SI 2016/1153 Schedule 1I (= MID annex MI-008): a + b L mm with L rounded up to whole metres;
    I 0.1/0.1, II 0.3/0.2, III 0.6/0.4."""
    assert [class_limit(length, name) * 1000 for name in ("I", "II", "III")] == pytest.approx([one, two, three])


def test_limit_counts_whole_metres_upward() -> None:
    """Same schedule: 7.2 m counts as 8 m, class II 1.9 mm (derived)."""
    assert class_limit(7.2) == class_limit(8.0) == pytest.approx(0.0019)
    assert class_limit(8.001) == pytest.approx(0.0021)


# Wolf and Ghilani, Adjustment Computations, example 14.1; the input data are from memory, not verified. Feet.
HELD = [TapedPoint("A", 0, 865.40, 4527.15), TapedPoint("B", 0, 2432.55, 2047.25), TapedPoint("C", 0, 2865.22, 27.15)]
TO_U = [TapedLine("A", "U", 6049.00, True), TapedLine("B", "U", 4736.83, True), TapedLine("C", "U", 5446.49, True)]
EQUAL = 50.0  # a reading error so large that the three lines weigh the same, as in the book


def test_trilateration_from_three_given_points() -> None:
    """Converged coordinates, residuals and S0 derived from those inputs; the residuals agree with the book."""
    found = adjust([*HELD, TapedPoint("U", 0)], TO_U, tape_error=EQUAL)
    assert isinstance(found, Adjusted)
    assert (found.points[3].across, found.points[3].out) == pytest.approx((6861.3168, 3727.8186), abs=2e-4)
    residuals = [line.residual for line in found.lines]
    assert residuals == pytest.approx([-0.0374, 0.0768, -0.0474], abs=1e-4)
    assert found.spare == 1
    assert math.sqrt(sum(v * v for v in residuals) / found.spare) == pytest.approx(0.0977, abs=1e-4)


def test_first_step_of_the_trilateration() -> None:
    """From the approximate place (6861.325, 3727.596) the first step is (-0.00821, +0.22257) (derived)."""
    import numpy as np

    net = network(reduce_to_plan([*HELD, TapedPoint("U", 0)], TO_U, "II", EQUAL))
    start = np.array([[865.40, 4527.15], [2432.55, 2047.25], [2865.22, 27.15], [6861.325, 3727.596]])
    step, *_ = np.linalg.lstsq(jacobian(net, start)[:, 6:], -misfit(net, start), rcond=None)
    assert step.tolist() == pytest.approx([-0.00821, 0.22257], abs=2e-5)


def test_nominal_diagonal_of_a_rectangle_fixes_its_angles() -> None:
    """A rectangle of 5.8 x 4.9 m has a diagonal of 7,593 mm (Pythagoras): four sides and it give four right angles,
    and the other diagonal is the check."""
    assert round(math.hypot(5.8, 4.9) * 1000) == 7593
    assert corner_angle(5.8, 4.9, 7.593) == pytest.approx(90, abs=0.01)
    sides = [TapedLine("A", "B", 5.8), TapedLine("B", "C", 4.9), TapedLine("C", "D", 5.8), TapedLine("D", "A", 4.9)]
    points = [TapedPoint(name, 2.5) for name in "ABCD"]
    found = adjust(points, [*sides, TapedLine("A", "C", 7.593), TapedLine("B", "D", 7.600)])
    assert isinstance(found, Adjusted)
    assert found.closure is not None
    assert found.closure.difference * 1000 == pytest.approx(-7.5, abs=0.5)


def test_area_that_four_sides_alone_allow() -> None:
    """Sides of 50, 64, 30 ft and 67 ft 11 in: about 1,000 to 2,605 square feet (derived: Brahmagupta's formula for
    the greatest; the least at the shortest diagonal from the first corner, 37 ft 11 in)."""
    least, greatest = area_span(50, 64, 30, 67 + 11 / 12) or (0.0, 0.0)
    assert greatest == pytest.approx(2605, abs=1)
    assert least == pytest.approx(1000, rel=0.1)
    foot = 0.3048
    sides = [("A", "B", 50), ("B", "C", 64), ("C", "D", 30), ("D", "A", 67 + 11 / 12)]
    refused = adjust([TapedPoint(n, 0) for n in "ABCD"], [TapedLine(a, b, n * foot) for a, b, n in sides])
    assert isinstance(refused, Refused)
    assert refused.faults[0].kind == "flexes"
    assert refused.faults[0].greatest == pytest.approx(greatest * foot**2)
    assert refused.faults[0].least == pytest.approx(least * foot**2)
