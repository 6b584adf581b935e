"""Sails made to fit."""

from __future__ import annotations

from math import nan, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.geometry.draw_in import MadeToFit, centroid_of, draw_in
from estimator.geometry.refused import WHYS, Refused
from tests.geometry.sites import convex_outline

SKEW = [(0, 0, 3.2), (6, 0.5, 2.2), (6.4, 5, 3.4), (0.3, 4.6, 2.0)]


def made(found: MadeToFit | Refused) -> MadeToFit:
    assert isinstance(found, MadeToFit), found
    return found


def test_each_corner_lies_on_the_bisector_in_space() -> None:
    tight, stretch = [0.3, 0.4, 0.5, 0.45], 0.03
    found = made(draw_in(SKEW, tight, stretch))
    fixings = np.array(SKEW)
    for i in range(4):
        back, ahead = fixings[i - 1] - fixings[i], fixings[(i + 1) % 4] - fixings[i]
        inward = back / np.linalg.norm(back) + ahead / np.linalg.norm(ahead)
        drawn = np.subtract(found.corners[i], fixings[i])
        assert np.cross(drawn, inward) == pytest.approx([0, 0, 0], abs=1e-9)
        assert np.linalg.norm(drawn) == pytest.approx(tight[i] + stretch * found.radius[i], abs=1e-8)
        assert found.gap[i] == pytest.approx(np.linalg.norm(drawn))
        assert found.gap[i] == pytest.approx(found.needed[i], abs=1e-8)
        assert found.radius[i] == pytest.approx(np.linalg.norm(np.subtract(found.corners[i], found.centroid)), abs=1e-8)


def test_sides_sewn_and_diagonals() -> None:
    found = made(draw_in(SKEW, [0.4] * 4, 0.05))
    for i in range(4):
        side = np.linalg.norm(np.subtract(found.corners[i], found.corners[(i + 1) % 4]))
        assert found.sides[i] == pytest.approx(side)
        assert found.sewn[i] == pytest.approx(side / 1.05)
    assert [(i, j) for i, j, _ in found.diagonals] == [(0, 2), (1, 3)]
    assert found.diagonals[1][2] == pytest.approx(np.linalg.norm(np.subtract(found.corners[1], found.corners[3])))
    assert all(forward > 0 for forward in found.forward)


def test_uneven_hardware_pulls_the_corners_unevenly_and_says_so() -> None:
    even = made(draw_in(SKEW, [0.4] * 4, 0.0))
    uneven = made(draw_in(SKEW, [0.2, 0.9, 0.2, 0.9], 0.0))
    assert max(even.off_bisector) < max(uneven.off_bisector)
    assert max(uneven.off_centroid) > 5


def test_nothing_drawn_in_is_the_fixings_themselves() -> None:
    found = made(draw_in(SKEW, [0.0] * 4, 0.0))
    assert np.array(found.corners) == pytest.approx(np.array(SKEW, dtype=float))
    assert found.off_bisector == (0.0,) * 4


def test_square_by_hand() -> None:
    # corner at rest: half diagonal of the fixings 2.5 root 2 = R + 0.4 + 0.03 R
    found = made(draw_in([(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)], [0.4] * 4, 0.03))
    radius = (2.5 * sqrt(2) - 0.4) / 1.03
    assert found.radius == pytest.approx([radius] * 4, abs=1e-8)
    assert found.sides == pytest.approx([radius * sqrt(2)] * 4, abs=1e-8)
    assert found.off_bisector == pytest.approx([0] * 4, abs=1e-6)


def test_centroid_of_a_level_sail_is_that_of_its_area() -> None:
    # an L cut to a trapezium: area centroid, not the mean of the corners
    found = centroid_of(np.array([(0, 0, 3), (6, 0, 3), (3, 4, 3), (0, 4, 3)], dtype=float))
    assert not isinstance(found, Refused)
    assert found == pytest.approx(np.array([7 / 3, 16 / 9, 3]))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**9), st.integers(3, 8), st.floats(-3, 3), st.floats(0, 0.06), st.booleans())
def test_any_convex_site(seed: int, n: int, turn: float, stretch: float, mirror: bool) -> None:
    """The corners turn and mirror with the site; gap and needed agree; the sail is smaller than its site."""
    rng = np.random.default_rng(seed)
    fixings = np.column_stack([convex_outline(rng, n) * 1.5, rng.uniform(2.2, 3.2, n)])
    tight = rng.uniform(0.1, 0.2, n).tolist()
    c, s = np.cos(turn), np.sin(turn)
    spin = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ np.diag((-1 if mirror else 1, 1, 1))
    one, two = draw_in(fixings.tolist(), tight, stretch), draw_in((fixings @ spin.T).tolist(), tight, stretch)
    if isinstance(one, Refused):
        assert isinstance(two, Refused)
        assert one.why == two.why
        return
    assert isinstance(two, MadeToFit)
    assert np.array(two.corners) == pytest.approx(np.array(one.corners) @ spin.T, abs=1e-7)
    assert one.gap == pytest.approx(one.needed, abs=1e-8)
    assert sum(one.sides) < np.linalg.norm(np.roll(fixings, -1, axis=0) - fixings, axis=1).sum()


@pytest.mark.parametrize(
    ("fixings", "tight", "stretch", "why"),
    [
        (SKEW, [4.0] * 4, 0.0, "side used up"),
        ([(0, 0, 3), (1, 0, 3), (1, 9, 3), (0, 9, 3)], [0.8] * 4, 0.0, "side used up"),
        ([(0, 0, 3), (6, 0, 3), (2, 2, 3), (0, 6, 3)], [0.3] * 4, 0.0, "turned in"),
        ([(0, 0, 3), (3, 0, 3), (6, 0, 3), (3, 6, 3)], [0.3] * 4, 0.0, "turned in"),
        ([(0, 0, 3), (5, 0, 3), (0, 5, 3), (5, 5, 3)], [0.3] * 4, 0.0, "crossing"),
        ([(0, 0, 3), (5, 0, 3), (9, 0, 3)], [0.3] * 3, 0.0, "in one line"),
        ([(0, 0, 3), (0, 0, 3), (9, 5, 3)], [0.3] * 3, 0.0, "coincident"),
        ([(0, 0, 3), (nan, 0, 3), (9, 5, 3)], [0.3] * 3, 0.0, "not a number"),
        (SKEW, [0.3, nan, 0.3, 0.3], 0.0, "not a number"),
        (SKEW, [0.3, -0.3, 0.3, 0.3], 0.0, "not a number"),
        (SKEW, [0.3] * 4, -0.1, "not a number"),
        (SKEW, [0.3] * 3, 0.0, "too few"),
        (SKEW[:2], [0.3] * 2, 0.0, "too few"),
    ],
)
def test_no_sail_can_be_made(fixings: list, tight: list[float], stretch: float, why: str) -> None:
    found = draw_in(fixings, tight, stretch)
    assert isinstance(found, Refused)
    assert found.why == why
    assert found.why in WHYS


def test_a_side_used_up_is_named() -> None:
    found = draw_in([(0, 0, 3), (1, 0, 3), (1, 9, 3), (0, 9, 3)], [0.8] * 4, 0.0)
    assert isinstance(found, Refused)
    assert found.at == (0, 2)
    assert "between fixings 1 and 2" in found.words
