"""What the adjustment promises over many random figures: coordinates, slips found and named, false alarms.

Noise of a line: uniform within the limit of a class II tape, so its standard deviation is the limit / root 3.
Shares of 1,000 trials are run with `-m long`; the default run takes 150 of each.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable

import pytest

from estimator.geometry.tape import Refused, adjust
from tests.geometry_tape.figures import Spot, framed, measured, pentagon, quadrilateral

TRIALS = [150, pytest.param(1000, marks=pytest.mark.long)]


def _trial_counts(
    trials: int, seed: int, make: Callable[[random.Random], list[Spot]], reading: float, slip: float
) -> Counter[str]:
    chance, counts = random.Random(seed), Counter[str]()
    for _ in range(trials):
        spots = make(chance)
        slipped = chance.randrange(len(spots) * (len(spots) - 1) // 2)
        points, lines = measured(spots, chance, reading, (slipped, chance.choice((-slip, slip))))
        found = adjust(points, lines, tape_error=reading)
        if isinstance(found, Refused):  # a slip in a flat triangle: refused, its three lines named
            assert {fault.kind for fault in found.faults} == {"too-long"}
            assert any(slipped in fault.lines for fault in found.faults)
            counts["alarm"] += 1
            continue
        counts["alarm"] += not found.closes
        if found.slip:
            counts["named" if found.slip.line == slipped else "misnamed"] += 1
        counts["one spare line named somebody"] += found.spare == 1 and found.slip is not None
        for point, (x, y) in zip(found.points, framed(spots), strict=True):
            for value, true, std in ((point.across, x, point.across_std), (point.out, y, point.out_std)):
                if std > 0:
                    counts["coordinates"] += 1
                    counts["within"] += abs(value - true) <= 3 * std
    return counts


@pytest.mark.parametrize("trials", TRIALS)
def test_class_ii_noise_leaves_coordinates_within_three_standard_deviations(trials: int) -> None:
    counts = _trial_counts(trials, 11, quadrilateral, reading=0.0, slip=0.0)
    assert counts["coordinates"] == 5 * trials
    assert counts["within"] >= 0.995 * counts["coordinates"]
    assert counts["alarm"] <= 0.01 * trials


@pytest.mark.parametrize("trials", TRIALS)
def test_reading_error_of_the_default_setting_raises_no_more_false_alarms(trials: int) -> None:
    counts = _trial_counts(trials, 12, quadrilateral, reading=0.003, slip=0.0)
    assert counts["alarm"] <= 0.01 * trials
    assert counts["within"] >= 0.99 * counts["coordinates"]


@pytest.mark.parametrize("trials", TRIALS)
@pytest.mark.parametrize(("slip", "share"), [(0.040, 0.95), (0.020, 0.85)])
def test_a_slip_in_one_of_six_lines_is_detected_and_nobody_named(trials: int, slip: float, share: float) -> None:
    counts = _trial_counts(trials, 13, quadrilateral, reading=0.0, slip=slip)
    assert counts["alarm"] >= share * trials
    assert counts["one spare line named somebody"] == 0


@pytest.mark.parametrize("trials", TRIALS)
def test_a_slip_in_one_of_ten_lines_is_named(trials: int) -> None:
    counts = _trial_counts(trials, 14, pentagon, reading=0.0, slip=0.040)
    assert counts["named"] >= 0.9 * trials
    assert counts["misnamed"] <= 0.01 * trials


@pytest.mark.parametrize("trials", TRIALS)
def test_a_named_slip_is_right_about_as_often_as_it_says(trials: int) -> None:
    counts = _trial_counts(trials, 15, pentagon, reading=0.003, slip=0.040)
    assert counts["named"] >= 0.6 * trials
    assert counts["misnamed"] <= 0.06 * (counts["named"] + counts["misnamed"])
