"""Pools on surfaces whose water is known: bowls, planes, saddles, notches; and what must not change it."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin
from time import perf_counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from estimator.geometry.form_mesh import Index, grid
from estimator.geometry.plane import Array
from estimator.geometry.ponding import Pool, pool, water_levels

Height = Callable[[Array, Array], Array]
seeds = st.integers(0, 10**9)


def disc(radius: float, rings: int, spokes: int) -> tuple[Array, Index]:
    """Plan of a round of rings and spokes: places (k, 2) with the hub first, ring after ring; triangles."""
    angle = 2 * pi * np.arange(spokes) / spokes
    places = [np.zeros((1, 2))]
    places += [radius * ring / rings * np.stack([np.cos(angle), np.sin(angle)], 1) for ring in range(1, rings + 1)]
    triangles = [(0, 1 + k, 1 + (k + 1) % spokes) for k in range(spokes)]
    for ring in range(1, rings):
        inner, outer = 1 + (ring - 1) * spokes, 1 + ring * spokes
        for k in range(spokes):
            after = (k + 1) % spokes
            triangles.append((inner + k, outer + k, outer + after))
            triangles.append((inner + k, outer + after, inner + after))
    return np.concatenate(places), np.array(triangles, dtype=np.intp)


def raised(places: Array, height: Height) -> Array:
    return np.column_stack([places, height(places[:, 0], places[:, 1])])


def square(divisions: int, side: float, height: Height) -> tuple[Array, Index]:
    shares, triangles, _ = grid(divisions)
    return raised((shares - 0.5) * side, height), triangles


def held(points: Array, triangles: Index, least: float = 1e-3) -> Pool:
    found = pool(points, triangles, least)
    assert found is not None
    return found


def rough(seed: int, divisions: int = 9) -> tuple[Array, Index]:
    rng = np.random.default_rng(seed)
    points, triangles = square(divisions, 6.0, lambda x, y: 0 * x)
    points[:, 2] = rng.uniform(0, 0.4, len(points))
    points[:, :2] += rng.uniform(-0.15, 0.15, (len(points), 2))
    return points, triangles


def test_a_round_bowl_holds_what_its_formula_says() -> None:
    # Source: a paraboloid z = k r2 of radius R is filled to k R2: volume pi k R4 / 2, half of the cylinder's.
    k, radius = 0.05, 3.0
    places, triangles = disc(radius, 60, 120)
    found = held(raised(places, lambda x, y: k * (x * x + y * y)), triangles)
    assert found.depth == pytest.approx(k * radius**2, rel=1e-12)
    assert found.area == pytest.approx(pi * radius**2, rel=1e-3)
    assert found.volume == pytest.approx(pi * k * radius**4 / 2, rel=2e-3)
    assert found.middle == pytest.approx((0, 0, 0.45), abs=1e-9)
    assert found.lowest == (0, 0, 0)


@pytest.mark.parametrize("tilt", [0.03, 0.1, 0.2])
def test_a_tilted_bowl_holds_a_smaller_round(tilt: float) -> None:
    # Source: derived. z = k r2 + s x completes to k |p - c|2 with c = -s / (2 k); it spills at x = -R, so the water is
    # a round of radius R - s / (2 k) about c, k times its square deep.
    k, radius = 0.05, 3.0
    places, triangles = disc(radius, 120, 180)
    found = held(raised(places, lambda x, y: k * (x * x + y * y) + tilt * x), triangles)
    left = radius - tilt / (2 * k)
    assert found.depth == pytest.approx(k * left**2, rel=0.01)
    assert found.area == pytest.approx(pi * left**2, rel=0.01)
    assert found.volume == pytest.approx(pi * k * left**4 / 2, rel=0.02)
    assert found.middle[:2] == pytest.approx((-tilt / (2 * k), 0), abs=0.01)


def test_a_tilt_as_steep_as_the_rim_drains_the_bowl() -> None:
    # the rim of z = k r2 rises at 2 k R = 0.3
    places, triangles = disc(3.0, 60, 120)
    assert pool(raised(places, lambda x, y: 0.05 * (x * x + y * y) + 0.31 * x), triangles, 0.0) is None
    assert pool(raised(places, lambda x, y: 0.05 * (x * x + y * y) + 0.25 * x), triangles, 0.0) is not None


@pytest.mark.parametrize(
    "height",
    [
        lambda x, y: 0 * x + 2,
        lambda x, y: 0.1 * x - 0.05 * y,
        lambda x, y: 0.1 * x * y,
        lambda x, y: 0.05 * (x * x - y * y),
        lambda x, y: -0.05 * (x * x + y * y),
    ],
    ids=["level", "tilted", "saddle", "saddle on its axes", "dome"],
)
def test_these_hold_nothing(height: Height) -> None:
    assert pool(*square(20, 5.0, height), 0.0) is None


def dents(*each: tuple[float, float, float, float]) -> Height:
    """A level surface with round dents (x, y, radius, depth), each a paraboloid."""

    def height(x: Array, y: Array) -> Array:
        down = [np.minimum(0.0, d * (((x - a) ** 2 + (y - b) ** 2) / r**2 - 1)) for a, b, r, d in each]
        return np.asarray(sum(down))

    return height


def test_of_two_bowls_the_deeper_is_given_with_its_own_water_only() -> None:
    found = held(*square(160, 8.0, dents((-2, 0, 1.5, 0.2), (2, 1, 1.0, 0.3))))
    assert found.depth == pytest.approx(0.3, rel=1e-9)
    assert found.area == pytest.approx(pi, rel=0.06)  # a film reaches to the next node, half a step of 0.05
    assert found.volume == pytest.approx(pi * 0.3 / 2, rel=0.01)  # pi r2 d / 2
    assert found.middle == pytest.approx((2, 1, 0), abs=0.01)


def test_two_hollows_under_one_rim_are_one_pool() -> None:
    # a trough with two hollows, whose saddle (0.15) lies under the rim (0.3): a row of six nodes, and sides at 0.3
    row = [0.3, 0.0, 0.15, 0.05, 0.2, 0.3]
    points = [(x, y, 0.3 if y else z) for y in (-1, 0, 1) for x, z in enumerate(row)]
    triangles = []
    for y in range(2):
        for x in range(5):
            a = 6 * y + x
            triangles += [(a, a + 1, a + 7), (a, a + 7, a + 6)]
    found = held(np.array(points, dtype=float), np.array(triangles, dtype=np.intp))
    assert found.depth == pytest.approx(0.3)
    # every strip between two rows is linear from the row to a side at the water's surface, cut by its diagonals:
    # a node's depth counts a third of the triangles about it, each of area 1/2; six of them about each inner node
    assert found.volume == pytest.approx(6 * 0.5 / 3 * (0.3 + 0.15 + 0.25 + 0.1))
    assert found.lowest == (1.0, 0.0, 0.0)


@pytest.mark.parametrize("notch", [0.30, 0.40, 0.44])
def test_a_notch_in_the_rim_sets_the_level(notch: float) -> None:
    # rings of a bowl at 0.45 x (ring / 10)2; the ring inside the rim stands at 0.3645: water cannot leave lower
    places, triangles = disc(3.0, 10, 60)
    points = raised(places, lambda x, y: 0.05 * (x * x + y * y))
    points[-60, 2] = notch
    found = held(points, triangles)
    spill = max(notch, 0.45 * 0.81)
    assert found.depth == pytest.approx(spill, rel=1e-12)
    assert found.volume == pytest.approx(pi * (spill / 0.05) ** 2 * 0.05 / 2, rel=0.02)  # pi r4 k / 2, r2 = spill / k


def test_the_least_depth_is_the_line() -> None:
    points, triangles = square(2, 2.0, lambda x, y: 0.25 * (x * x + y * y))
    deep = held(points, triangles).depth
    assert deep == pytest.approx(0.25)
    assert pool(points, triangles, deep) is not None
    assert pool(points, triangles, deep + 1e-9) is None


def test_what_has_no_edge_or_hangs_upright_holds_nothing() -> None:
    tetrahedron = np.array([(0, 0, 0), (1, 0, 0), (0, 1, 0), (0.3, 0.3, 1)], dtype=float)
    closed = np.array([(0, 1, 2), (0, 1, 3), (1, 2, 3), (2, 0, 3)], dtype=np.intp)
    assert pool(tetrahedron, closed) is None
    upright = np.array([(0, 0, 1), (2, 0, 1), (2, 0, 3), (0, 0, 3), (1, 0, 0.5)], dtype=float)
    assert pool(upright, np.array([(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4)])) is None
    assert pool(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.intp)) is None


def test_water_leaves_through_a_hole() -> None:
    places, triangles = disc(3.0, 10, 60)
    points = raised(places, lambda x, y: 0.05 * (x * x + y * y))
    assert pool(points, triangles[60:], 0.0) is None  # the middle cut out


def slow_levels(points: Array, triangles: Index) -> NDArray[np.float64]:
    """The same levels by passing heights on until nothing changes."""
    sides = {tuple(sorted((int(t[i]), int(t[i - 1])))) for t in triangles for i in range(3)}
    count = dict.fromkeys(sides, 0)
    for t in triangles:
        for i in range(3):
            count[tuple(sorted((int(t[i]), int(t[i - 1]))))] += 1
    level = np.full(len(points), np.inf)
    for (a, b), n in count.items():
        if n == 1:
            level[[a, b]] = points[[a, b], 2]
    changed = True
    while changed:
        changed = False
        for a, b in sides:
            for one, other in ((a, b), (b, a)):
                new = max(points[one, 2], level[other])
                if new < level[one]:
                    level[one], changed = new, True
    return level


@pytest.mark.parametrize("seed", range(12))
def test_levels_and_volume_agree_with_a_slow_way(seed: int) -> None:
    points, triangles = rough(seed)
    level = slow_levels(points, triangles)
    depth = level - points[:, 2]
    found = held(points, triangles, 0.0)
    assert found.depth == pytest.approx(depth.max(), abs=1e-12)
    # the pool's water, by drops laid evenly over every triangle that it wets
    at = points[triangles]
    share = (np.stack(np.meshgrid(np.arange(60), np.arange(60)), -1).reshape(-1, 2) + 1 / 3) / 60
    share = share[share.sum(axis=1) < 1]
    on = at[:, :1] + share[:, :1] * (at[:, 1:2] - at[:, :1]) + share[:, 1:] * (at[:, 2:] - at[:, :1])
    one, two = at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]
    size = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / 2
    top = found.middle[2]
    wet = {int(depth.argmax())}
    while True:
        more = {int(n) for t in triangles if wet & set(t.tolist()) for n in t if points[n, 2] < top} - wet
        if not more:
            break
        wet |= more
    mine = np.array([bool(wet & set(t.tolist())) for t in triangles])
    under = np.maximum(0.0, top - on[..., 2]) * mine[:, None]
    each = size[:, None] / len(share)
    assert found.volume == pytest.approx(float((under * each).sum()), rel=0.03)
    assert found.area == pytest.approx(float(((under > 0) * each).sum()), rel=0.03)
    centre = (under[..., None] * on[..., :2] * each[..., None]).sum(axis=(0, 1)) / float((under * each).sum())
    assert found.middle[:2] == pytest.approx(centre, abs=0.03)


@settings(max_examples=40, deadline=None)
@given(seeds, st.floats(-3, 3), st.floats(-50, 50), st.floats(-50, 50), st.floats(-5, 5))
def test_turned_about_the_vertical_and_moved(seed: int, turn: float, x: float, y: float, up: float) -> None:
    points, triangles = rough(seed, 6)
    spin = np.array([[cos(turn), -sin(turn), 0], [sin(turn), cos(turn), 0], [0, 0, 1]])
    one, two = held(points, triangles, 0.0), held(points @ spin.T + (x, y, up), triangles, 0.0)
    assert (two.depth, two.area, two.volume) == pytest.approx((one.depth, one.area, one.volume), rel=1e-6)
    assert two.middle == pytest.approx(spin @ np.array(one.middle) + (x, y, up), abs=1e-6)
    assert two.lowest == pytest.approx(spin @ np.array(one.lowest) + (x, y, up), abs=1e-9)


@settings(max_examples=25, deadline=None)
@given(seeds, st.floats(-3.1, 3.1))
def test_any_surface_drains_when_tilted_enough(seed: int, way: float) -> None:
    # steeper than any triangle: then every node has a lower neighbour, so water runs to the edge
    points, triangles = rough(seed, 6)
    steep = np.array(points)
    steep[:, 2] += 20 * (cos(way) * points[:, 0] + sin(way) * points[:, 1])
    assert pool(steep, triangles, 0.0) is None


@settings(max_examples=25, deadline=None)
@given(seeds, st.floats(0.1, 10), st.floats(0.1, 10))
def test_wider_and_deeper(seed: int, wider: float, deeper: float) -> None:
    points, triangles = rough(seed, 6)
    one, two = held(points, triangles, 0.0), held(points * (wider, wider, deeper), triangles, 0.0)
    assert two.depth == pytest.approx(one.depth * deeper, rel=1e-9)
    assert two.area == pytest.approx(one.area * wider**2, rel=1e-6)
    assert two.volume == pytest.approx(one.volume * wider**2 * deeper, rel=1e-6)


@settings(max_examples=25, deadline=None)
@given(seeds)
def test_a_full_surface_holds_no_more(seed: int) -> None:
    points, triangles = rough(seed, 6)
    full = np.array(points)
    full[:, 2] = slow_levels(points, triangles)
    assert pool(full, triangles, 0.0) is None


def test_a_way_out_over_the_lowest_of_several_saddles() -> None:
    # a hollow (node 2) between two ways out, over 1.0 and over 0.7
    assert water_levels([0.5, 1.0, 0.0, 0.7, 0.6], [[1], [0, 2], [1, 3], [2, 4], [3]], [0, 4])[2] == 0.7


def test_a_large_surface_takes_a_moment() -> None:
    points, triangles = rough(1, 150)
    start = perf_counter()
    held(points, triangles)
    assert perf_counter() - start < 5  # some 0.2 s; the square of 22 801 nodes would be minutes
