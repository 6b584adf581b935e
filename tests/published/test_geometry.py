"""Geometry against answers that are not ours: mathematics in print, and situations asked in public.

`Own arithmetic` marks a figure worked out by hand from the numbers of a public question.
"""

from __future__ import annotations

from itertools import combinations
from math import cos, degrees, dist, radians, sqrt

import numpy as np
import pytest

from estimator.geometry.angles import angle_between_sides, corner_angles, second_diagonal
from estimator.geometry.draw_in import MadeToFit, draw_in
from estimator.geometry.edges import arc_length, edge_radius, half_angle, net_area, segment_area
from estimator.geometry.falls import fall, litres_a_second
from estimator.geometry.outline import (
    Impossible,
    flat_area,
    quadrilateral,
    quadrilateral_area,
    rectangle,
    spread_of_areas,
    triangle,
)
from estimator.geometry.placement import Placement, place_sail
from estimator.geometry.surface import area

FOOT = 0.3048
INCH = 0.0254


# Edge cable under even stress: R = L2 / (8 f) + f / 2. Derived from the balance of the edge (circular arc of constant
# pull); mathematics, recomputed from the formula, five columns of one table.
@pytest.mark.parametrize(
    ("share", "radius", "arc", "angle"),
    [
        (0.05, 2.5250, 1.006653, 11.4212),
        (0.08, 1.6025, 1.016980, 18.1806),
        (0.10, 1.3000, 1.026457, 22.6199),
        (0.12, 1.101667, 1.037968, 26.9915),
        (0.15, 0.908333, 1.058960, 33.3985),
    ],
)
def test_edge_arc(share: float, radius: float, arc: float, angle: float) -> None:
    assert edge_radius(1, share) == pytest.approx(radius, abs=1e-6)
    assert arc_length(1, share) == pytest.approx(arc, abs=1e-6)
    assert degrees(half_angle(1, share)) == pytest.approx(angle, abs=1e-4)


def test_angle_left_between_hollow_edges_of_a_square() -> None:
    # square of 5 m, edges 10 % hollow: 90 - 2 x 22.6199 degrees between the edges at a corner; mathematics
    assert 90 - 2 * degrees(half_angle(5, 0.5)) == pytest.approx(44.7603, abs=1e-4)


# Area of z = c x y over the unit square; mathematics, the integral of sqrt(1 + c2 x2 + c2 y2).
@pytest.mark.parametrize(("c", "expected"), [(0.5, 1.0790370164), (1, 1.2807892753), (2, 1.8615641808)])
def test_area_of_a_twisted_unit_square(c: float, expected: float) -> None:
    assert area([(0, 0, 0), (1, 0, 0), (1, 1, c), (0, 1, 0)]) == pytest.approx(expected, abs=1e-9)


# Bilinear patches of the size of a sail; mathematics, by numerical integration elsewhere.
@pytest.mark.parametrize(
    ("a", "b", "heights", "expected"),
    [
        (5, 5, (2.4, 3.6, 2.4, 3.6), 25.4737449),
        (6, 4, (2.5, 3.5, 2.5, 3.5), 24.3572473),
        (5, 4, (2.4, 4.0, 2.4, 3.2), 20.6395491),
        (5, 5, (3.0, 3.0, 3.0, 3.0), 25.0),
    ],
)
def test_area_of_a_twisted_sail(a: float, b: float, heights: tuple[float, ...], expected: float) -> None:
    plan = [(0, 0), (a, 0), (a, b), (0, b)]
    corners = [(x, y, z) for (x, y), z in zip(plan, heights, strict=True)]
    assert area(corners) == pytest.approx(expected, abs=1e-6)


def test_area_of_the_patch_on_four_edges_of_a_tetrahedron() -> None:
    # regular tetrahedron of edge 1, bilinear patch 0.6403946376; mathematics
    s = 1 / sqrt(8)
    corners = [(s, s, s), (s, -s, -s), (-s, -s, s), (-s, s, -s)]
    assert dist(corners[0], corners[1]) == pytest.approx(1)
    assert area(corners) == pytest.approx(0.6403946376, abs=1e-8)


def test_cosine_rule() -> None:
    # Euclid, Elements, II.12 and II.13; 2 3 4: cos = (4 + 9 - 16) / 12 = -1/4
    assert cos(radians(angle_between_sides(2, 3, 4))) == pytest.approx(-0.25)
    shape = triangle(2, 3, 4)
    assert not isinstance(shape, Impossible)
    assert corner_angles(shape)[1] == pytest.approx(angle_between_sides(2, 3, 4))
    assert sum(corner_angles(shape)) == pytest.approx(180)


def test_heron() -> None:
    # Heron of Alexandria, Metrica, I.8: sides 13, 14, 15, area 84
    shape = triangle(13, 14, 15)
    assert not isinstance(shape, Impossible)
    assert flat_area(shape) == pytest.approx(84)


@pytest.mark.parametrize("diagonal", [4.0, 5.0, 6.2, 7.4])
def test_bretschneider(diagonal: float) -> None:
    # Bretschneider 1842: area of a quadrilateral from its sides and two opposite angles
    sides = (5.0, 4.0, 6.0, 3.5)
    shape = quadrilateral(*sides, diagonal)
    assert not isinstance(shape, Impossible)
    opposite = angle_between_sides(sides[0], sides[1], diagonal) + angle_between_sides(sides[2], sides[3], diagonal)
    assert flat_area(shape) == pytest.approx(quadrilateral_area(*sides, opposite), rel=1e-12)


def test_brahmagupta() -> None:
    # Brahmagupta, 628: the greatest area of four sides is that on a circle; a square of side 3 has 9
    assert quadrilateral_area(3, 3, 3, 3, 180) == 9.0
    assert spread_of_areas(3, 3, 3, 3) == (0.0, 9.0)


@pytest.mark.parametrize("diagonal", [4.2, 5.5, 7.0])
def test_four_points_of_a_plane_have_no_volume(diagonal: float) -> None:
    # Cayley 1841, Menger 1928: 288 V2 = determinant of the squared distances, bordered by ones
    shape = quadrilateral(5, 4, 6, 3.5, diagonal)
    assert not isinstance(shape, Impossible)
    matrix = np.ones((5, 5)) - np.eye(5)
    for i, j in combinations(range(4), 2):
        matrix[i + 1, j + 1] = matrix[j + 1, i + 1] = dist(shape[i], shape[j]) ** 2
    second = second_diagonal(5, 4, 6, 3.5, diagonal)
    assert not isinstance(second, Impossible)
    assert np.linalg.det(matrix) == pytest.approx(0, abs=1e-8)
    matrix[2, 4] = matrix[4, 2] = (second + 0.01) ** 2
    assert abs(np.linalg.det(matrix)) > 1


def test_square_on_four_posts() -> None:
    # public question: 18 ft square, post centres 20 ft 10 in each way; own arithmetic: 432 mm per axis, 611 mm
    half, post = 9 * FOOT, (20 * 12 + 10) * INCH / 2
    square = [(-half, -half), (half, -half), (half, half), (-half, half)]
    posts = [(-post, -post, 3), (post, -post, 3), (post, post, 3), (-post, post, 3)]
    found = place_sail(square, posts, [0.4] * 4, 0.0)
    assert isinstance(found, Placement)
    assert found.gap == pytest.approx([0.611] * 4, abs=5e-4)
    assert abs(posts[0][0] - found.corners[0][0]) == pytest.approx(0.432, abs=5e-4)
    assert max(found.off_bisector) < 1e-6


def test_ten_per_cent_off_each_side() -> None:
    # public question: fixings 5.00 x 3.00 m, sail 4.50 x 2.70 m; own arithmetic: 292 mm, pulled at 31 degrees, not 45
    shape = rectangle(4.5, 2.7)
    assert not isinstance(shape, Impossible)
    found = place_sail(shape, [(0, 0, 3), (5, 0, 3), (5, 3, 3), (0, 3, 3)], [0.25] * 4, 0.0)
    assert isinstance(found, Placement)
    assert found.gap == pytest.approx([0.2915] * 4, abs=5e-4)
    assert found.off_bisector == pytest.approx([45 - 30.96] * 4, abs=0.01)


def test_four_sides_and_two_diagonals() -> None:
    # public question: a rectangle meant to be 5.8 x 4.9 m; own arithmetic: diagonal 7,593 mm
    second = second_diagonal(5.8, 4.9, 5.8, 4.9, 7.593)
    assert second == pytest.approx(7.593, abs=1e-3)
    shape = quadrilateral(5.8, 4.9, 5.8, 4.9, 7.5927597)
    assert not isinstance(shape, Impossible)
    assert corner_angles(shape) == pytest.approx([90] * 4, abs=1e-5)
    assert isinstance(quadrilateral(5.8, 4.9, 5.8, 4.9, 10.8), Impossible)


def test_four_sides_and_no_diagonal() -> None:
    # public question: 50, 64, 30 and 67 ft 11 in; own arithmetic: about 1,000 to 2,605 sq ft
    spread = spread_of_areas(50, 64, 30, 67 + 11 / 12)
    assert not isinstance(spread, Impossible)
    assert spread[0] == pytest.approx(1000, rel=0.06)
    assert spread[1] == pytest.approx(2605, abs=0.5)


@pytest.mark.parametrize(("hollow", "net"), [(0.0, 110.9), (0.06, 80.0), (0.10, 59.3)])
def test_triangle_gives_less_shade_than_hoped(hollow: float, net: float) -> None:
    # public question: 16 ft triangle; own arithmetic: flat 110.9, net about 80 at 6 % and about 60 at 10 %
    shape = triangle(16, 16, 16)
    assert not isinstance(shape, Impossible)
    found, crossing = net_area(shape, hollow)
    assert found == pytest.approx(net, abs=0.06)
    assert not crossing


def test_segment() -> None:
    # half a disc of radius 1; mathematics
    assert segment_area(2, 1) == pytest.approx(np.pi / 2, rel=1e-15)


@pytest.mark.parametrize(("angle", "mm_per_m"), [(15, 268), (20, 364)])
def test_fall_of_a_roof(angle: float, mm_per_m: float) -> None:
    # public legal file: 15 or 20 degrees; own arithmetic: 268 and 364 mm/m
    drop = np.tan(np.radians(angle))
    found, percent, mm = fall((0, 0, drop), (1, 0, 0))
    assert found == pytest.approx(angle)
    assert percent is not None
    assert mm is not None
    assert mm == pytest.approx(mm_per_m, abs=0.5)
    assert percent == pytest.approx(mm_per_m / 10, abs=0.05)


def test_one_in_five() -> None:
    # common practice, no source: 1 in 5 is 20 %, 11.3 degrees, 200 mm/m
    assert fall((0, 0, 1), (5, 0, 0)) == (pytest.approx(11.31, abs=0.01), pytest.approx(20), pytest.approx(200))


def test_cloudburst() -> None:
    # public question: 20 m2 at 100 mm an hour; own arithmetic: 0.56 litres a second
    assert litres_a_second(20, 100) == pytest.approx(0.56, abs=0.005)


def test_drawn_in_square() -> None:
    # mathematics: drawn in by d on the diagonal, each side of a square loses d x root 2
    made = draw_in([(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)], [0.5] * 4, 0.0)
    assert isinstance(made, MadeToFit)
    assert made.sides == pytest.approx([5 - 0.5 * sqrt(2)] * 4)
