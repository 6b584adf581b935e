"""Outlines, surfaces, hollow edges, falls and posts."""

from __future__ import annotations

from math import cos, hypot, inf, isfinite, nan, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from estimator.geometry.angles import corner_angles, second_diagonal
from estimator.geometry.edges import edge_radius, net_area, net_surface_area, segment_area
from estimator.geometry.falls import falls, lowest
from estimator.geometry.outline import (
    Impossible,
    area_centroid,
    crosses_itself,
    flat_area,
    inward_corners,
    perimeter,
    quadrilateral,
    rectangle,
    sides_of,
    signed_area,
    spread_of_areas,
    triangle,
)
from estimator.geometry.plane import best_plane, into_plane, out_of_plane, ring_plane
from estimator.geometry.post import foot, hole_centre, lean_direction, post_lengths
from estimator.geometry.refused import Refused
from estimator.geometry.surface import area, plan_area, surface_heights
from tests.geometry.sites import convex_outline

lengths = st.floats(0.5, 12)


# --- outlines


@given(lengths, lengths, lengths)
def test_triangles_have_the_sides_asked_for(a: float, b: float, c: float) -> None:
    shape = triangle(a, b, c)
    if 2 * max(a, b, c) >= a + b + c:
        assert isinstance(shape, Impossible)
        assert shape.length == max(a, b, c)
        assert shape.limit == pytest.approx(a + b + c - max(a, b, c))
    else:
        assert not isinstance(shape, Impossible)
        assert sides_of(shape) == pytest.approx((a, b, c), abs=1e-6)
        assert signed_area(shape) >= 0


@given(lengths, lengths, lengths, lengths, lengths)
def test_quadrilaterals_have_the_sides_asked_for(a: float, b: float, c: float, d: float, e: float) -> None:
    shape = quadrilateral(a, b, c, d, e)
    if isinstance(shape, Impossible):
        assert abs(a - b) >= e * (1 - 1e-12) or abs(c - d) >= e * (1 - 1e-12) or e >= min(a + b, c + d) * (1 - 1e-12)
        return
    assert sides_of(shape) == pytest.approx((a, b, c, d), abs=1e-6)
    assert hypot(shape[2][0] - shape[0][0], shape[2][1] - shape[0][1]) == pytest.approx(e)
    assert signed_area(shape) >= 0
    spread = spread_of_areas(a, b, c, d)
    assert not isinstance(spread, Impossible)
    assert spread[0] * (1 - 1e-9) - 1e-9 <= flat_area(shape) <= spread[1] * (1 + 1e-9) + 1e-9


@pytest.mark.parametrize(
    ("shape", "side"),
    [
        (triangle(9, 4, 4), "side 1"),
        (triangle(4, 8, 4), "side 2"),
        (triangle(0, 4, 4), "side 1"),
        (triangle(4, nan, 4), "side 2"),
        (triangle(4, 4, inf), "side 3"),
        (rectangle(4, -1), "side 2"),
        (quadrilateral(4, 4, 4, 4, 8), "diagonal"),
        (quadrilateral(4, 9, 4, 4, 5), "side 2"),
        (quadrilateral(4, 4, 1, 9, 5), "side 4"),
        (quadrilateral(4, 4, 4, 4, 0), "diagonal"),
        (spread_of_areas(1, 2, 3, 7), "side 4"),
        (spread_of_areas(1, 2, 0, 7), "side 3"),
        (second_diagonal(4, 4, 4, 4, 9), "diagonal"),
    ],
)
def test_impossible_lengths_name_their_side(shape: object, side: str) -> None:
    assert isinstance(shape, Impossible)
    assert shape.side == side
    assert shape.why


@settings(max_examples=50)
@given(st.integers(0, 10**9), st.integers(3, 8), st.floats(-100, 100))
def test_area_and_centroid_do_not_depend_on_the_start(seed: int, n: int, away: float) -> None:
    outline = convex_outline(np.random.default_rng(seed), n)
    moved = np.roll(outline, 2, axis=0)[::-1] + away
    assert flat_area(moved.tolist()) == pytest.approx(flat_area(outline.tolist()), rel=1e-9)
    assert area_centroid(moved.tolist()) == pytest.approx(
        [value + away for value in area_centroid(outline.tolist())], abs=1e-9
    )
    assert crosses_itself(outline.tolist()) is None
    assert inward_corners(outline.tolist()) == ()


def test_crossings() -> None:
    assert crosses_itself([(0, 0), (4, 4), (4, 0), (0, 4)]) == (0, 2)
    assert crosses_itself([(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)]) == (0, 2)  # a corner on another side
    assert crosses_itself([(0, 0), (4, 0), (2, 3)]) is None
    assert inward_corners([(0, 0), (2, 0), (4, 0), (2, 3)]) == (1,)
    assert area_centroid([(0, 0), (2, 2), (4, 4)]) == (2, 2)
    assert corner_angles([(0, 0, 0), (3, 0, 0), (3, 0, 3)]) == pytest.approx((45, 90, 45))


# --- planes and surfaces


@settings(max_examples=50)
@given(st.integers(0, 10**9), st.integers(3, 8))
def test_plane_there_and_back(seed: int, n: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.column_stack([convex_outline(rng, n), rng.uniform(2, 3, n)])
    plane = best_plane(points)
    assert not isinstance(plane, Refused)
    assert plane.axes @ plane.axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert plane.axes[2][2] > 0
    assert out_of_plane(plane, into_plane(plane, points)) == pytest.approx(points)
    # least squares: no plane of nearby normal through the mean has less
    least = (into_plane(plane, points)[:, 2] ** 2).sum()
    for nudge in np.eye(3) * 0.01:
        normal = plane.axes[2] + nudge
        other = (((points - plane.origin) @ (normal / np.linalg.norm(normal))) ** 2).sum()
        assert other >= least - 1e-12


@settings(max_examples=50)
@given(st.integers(0, 10**9), st.integers(3, 8))
def test_surface_passes_through_the_fixings(seed: int, n: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.column_stack([convex_outline(rng, n), rng.uniform(2, 3, n)])
    plane = ring_plane(points)
    assume(not isinstance(plane, Refused))
    assert not isinstance(plane, Refused)
    flat = into_plane(plane, points)
    assume(not inward_corners(flat.tolist()))
    assert surface_heights(flat, flat[:, :2]) == pytest.approx(flat[:, 2], abs=1e-9)


@settings(max_examples=80)
@given(st.integers(0, 10**9), st.floats(0, 1), st.floats(0, 1))
def test_bilinear_surface_from_its_place(seed: int, a: float, b: float) -> None:
    rng = np.random.default_rng(seed)
    f = np.column_stack([convex_outline(rng, 4), rng.uniform(-1, 1, 4)])
    assume(not inward_corners(f.tolist()))
    point = (1 - a) * (1 - b) * f[0] + a * (1 - b) * f[1] + a * b * f[2] + (1 - a) * b * f[3]
    assert surface_heights(f, point[None, :2])[0] == pytest.approx(point[2], abs=1e-7)


def test_bilinear_surface_on_a_parallelogram_and_a_trapezium() -> None:
    for third in (4.0, 3.0, 4.0 + 1e-13, 4.0 - 1e-9):
        f = np.array([(0, 0, 0), (4, 0, 1), (third, 3, 0), (0, 3, 1)], dtype=float)
        middle = f.mean(axis=0)
        assert surface_heights(f, middle[None, :2])[0] == pytest.approx(0.5, abs=1e-9)


def test_surface_of_a_dart_folds_along_its_inner_corner() -> None:
    f = np.array([(0, 0, 0), (6, 0, 1), (2, 2, 0.4), (0, 6, 1)], dtype=float)
    assert surface_heights(f, f[:, :2]) == pytest.approx(f[:, 2])
    assert surface_heights(f, np.array([(1.0, 1.0)]))[0] == pytest.approx(0.2)  # half way along the fold
    assert isfinite(surface_heights(f, np.array([(3.0, 3.0)]))[0])


@settings(max_examples=40)
@given(st.integers(0, 10**9), st.integers(3, 7))
def test_areas_of_a_level_and_a_sloping_sail(seed: int, n: int) -> None:
    outline = convex_outline(np.random.default_rng(seed), n)
    level = [(x, y, 3.0) for x, y in outline]
    slope = [(x, y, 3 + 0.5 * x) for x, y in outline]
    assert area(level) == pytest.approx(flat_area(outline.tolist()), rel=1e-9)
    assert plan_area(slope) == pytest.approx(flat_area(outline.tolist()), rel=1e-12)
    assert area(slope) == pytest.approx(flat_area(outline.tolist()) * sqrt(1.25), rel=1e-9)


# --- hollow edges


@given(lengths, st.floats(1e-6, 0.5))
def test_segment_by_sector_less_triangle(chord: float, share: float) -> None:
    dip = chord * share
    radius = edge_radius(chord, dip)
    half = np.arcsin(min(chord / (2 * radius), 1.0))
    by_hand = radius**2 * half - chord / 2 * (radius - dip)
    assert segment_area(chord, dip) == pytest.approx(by_hand, rel=1e-6, abs=1e-15 * radius**2)


def test_segment_is_smooth_where_the_formula_changes() -> None:
    below, above = segment_area(6, 6 * 0.0009999999), segment_area(6, 6 * 0.0010000001)
    assert above / below == pytest.approx(1.0000002, abs=1e-8)


def _counted(outline: np.ndarray, hollow: float, cells: int = 1500) -> float:
    """Net area by counting cells: inside every side and outside the circle of every edge."""
    x, y = np.meshgrid(*(np.linspace(c.min(), c.max(), cells, endpoint=False) for c in outline.T))
    step = [(c.max() - c.min()) / cells for c in outline.T]
    x, y = x + step[0] / 2, y + step[1] / 2
    kept = np.ones_like(x, dtype=bool)
    for p, q in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        side = np.hypot(*(q - p))
        normal = np.array([-(q - p)[1], (q - p)[0]]) / side
        dip = hollow * side
        radius = side**2 / (8 * dip) + dip / 2
        centre = (p + q) / 2 - normal * (radius - dip)
        kept &= (x - p[0]) * normal[0] + (y - p[1]) * normal[1] >= 0
        kept &= np.hypot(x - centre[0], y - centre[1]) >= radius
    return float(kept.sum()) * step[0] * step[1]


@pytest.mark.parametrize(
    ("outline", "hollow", "crossing"),
    [
        ([(0, 0), (5, 0), (5, 5), (0, 5)], 0.1, False),
        ([(0, 0), (5, 0), (5, 5), (0, 5)], 0.3, True),
        ([(0, 0), (6, 0), (6, 2)], 0.1, True),
        ([(0, 0), (6, 0), (7, 1.5), (2, 3)], 0.12, False),
        ([(0, 0), (8, 0), (4, 1.2)], 0.1, True),
        ([(0, 0), (6, 0), (0.4, 5)], 0.14, True),
        ([(0, 0), (7, 0), (7, 1.0), (0, 1.0)], 0.1, True),
        ([(0, 0), (6, 0), (3, 0.7)], 0.2, True),
    ],
)
def test_net_area_by_counting_cells(outline: list[tuple[float, float]], hollow: float, crossing: bool) -> None:
    found, crossed = net_area(outline, hollow)
    assert found == pytest.approx(_counted(np.array(outline, dtype=float), hollow), rel=3e-3, abs=2e-3)
    assert crossed is crossing
    assert net_area(outline[::-1], hollow)[0] == pytest.approx(found, abs=1e-9)


@settings(max_examples=60)
@given(st.integers(0, 10**9), st.integers(3, 7), st.floats(0.01, 0.2), st.floats(0.1, 10))
def test_net_area_between_bounds(seed: int, n: int, hollow: float, factor: float) -> None:
    outline = convex_outline(np.random.default_rng(seed), n)
    found, crossed = net_area(outline.tolist(), hollow)
    flat = flat_area(outline.tolist())
    alone = flat - sum(segment_area(side, hollow * side) for side in sides_of(outline.tolist()))
    assert max(alone, 0) - 1e-9 <= found <= flat
    assert crossed or found == pytest.approx(alone)
    assert net_area((outline * factor).tolist(), hollow)[0] == pytest.approx(found * factor**2, rel=1e-6, abs=1e-9)


def test_net_area_of_straight_edges_and_of_a_sail_in_space() -> None:
    square = [(0, 0), (5, 0), (5, 5), (0, 5)]
    assert net_area(square, 0.0) == (25.0, False)
    skew = [(0, 0, 3), (5, 0, 2), (5, 5, 3), (0, 5, 2)]
    side = sqrt(26)
    net, crossing = net_surface_area(skew, 0.1)
    assert net == pytest.approx(area(skew) - 4 * segment_area(side, side / 10))
    assert not crossing
    needle = [(0, 0, 3), (8, 0, 3), (4, 1.2, 3)]
    assert net_surface_area(needle, 0.1) == (pytest.approx(net_area([p[:2] for p in needle], 0.1)[0]), True)
    assert net_surface_area([(0, 0, 3), (4, 0, 3), (8, 0, 3)], 0.1) == (0.0, False)


# --- falls


def test_falls_run_from_high_to_low_along_sides_and_diagonals() -> None:
    found = falls([(0, 0, 3.0), (5, 0, 2.0), (5, 5, 3.5), (0, 5, 2.0)])
    assert [(f.start, f.end, f.side) for f in found] == [
        (0, 1, True),
        (2, 1, True),
        (2, 3, True),
        (0, 3, True),
        (2, 0, False),
        (1, 3, False),
    ]
    assert all(f.drop >= 0 for f in found)
    assert found[0].percent == pytest.approx(20)
    assert found[4].run == pytest.approx(5 * sqrt(2))
    assert found[4].mm_per_m == pytest.approx(1000 * 0.5 / (5 * sqrt(2)))
    assert found[5].degrees == 0
    assert lowest([(0, 0, 3.0), (5, 0, 2.0), (5, 5, 3.5), (0, 5, 2.1)]) == (1,)


def test_a_corner_right_above_another_has_no_slope_per_metre() -> None:
    found = falls([(0, 0, 3), (0, 0, 2), (4, 0, 2)])
    assert (found[0].degrees, found[0].percent, found[0].mm_per_m) == (90.0, None, None)
    assert len(found) == 3


# --- posts


def test_post_leans_away_from_what_pulls_it() -> None:
    assert lean_direction([(3, 4, -1)], 0.1) == pytest.approx((0.6, 0.8))
    # two sails: by direction only, whatever the length of the run
    assert lean_direction([(1, 0, 0), (0, 9, 0)], 0.1) == pytest.approx((sqrt(0.5), sqrt(0.5)))
    assert lean_direction([(1, 0.02, 0), (-5, 0.1, 0)], 0.1) == (0.0, 0.0)
    assert lean_direction([(0, 0, -2)], 0.1) == (0.0, 0.0)
    assert lean_direction([(0, 0, 0)], 0.0) == (0.0, 0.0)
    assert lean_direction([], 0.1) == (0.0, 0.0)


@given(st.floats(2, 5), st.floats(-1, 1), st.floats(0, 15), st.floats(0.3, 2), st.floats(0, 2 * pi))
def test_the_axis_runs_from_the_hole_through_foot_and_fixing(
    height: float, ground: float, lean: float, depth: float, bearing: float
) -> None:
    toward = (cos(bearing), sin(bearing))
    fixing = (1.0, 2.0, height)
    above, below = post_lengths(height, ground, lean, 0.1, depth)
    at = foot(fixing, ground, lean, toward)
    hole = hole_centre(at, depth, lean, toward)
    assert hypot(at[0] - 1, at[1] - 2, height - ground) == pytest.approx(above - 0.1)
    # half way down the hole the axis is at its centre
    assert hypot(hole[0] - at[0], hole[1] - at[1], depth / 2) == pytest.approx(below / 2)
    assert (at[0] - 1) * toward[0] + (at[1] - 2) * toward[1] == pytest.approx((height - ground) * tan(radians(lean)))


def test_a_plumb_post_stands_under_its_fixing() -> None:
    assert foot((1, 2, 3), 0.0, 0.0, (0.0, 0.0)) == (1, 2)
    assert post_lengths(3.0, 0.2, 0.0, 0.125, 0.9) == pytest.approx((2.925, 0.9))
    assert perimeter([(0, 0), (3, 0), (3, 4)]) == 12
