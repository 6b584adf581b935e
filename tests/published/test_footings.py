"""Footings, holes, layers, posts: common practice and closed forms."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from math import cos, pi, radians

import pytest

from estimator.core.money import plain
from estimator.geometry.post import post_lengths
from estimator.rates.model import Concrete, FootingDepth, Origin
from estimator.rates.read import load_rates
from estimator.takeoff.concrete import ways
from estimator.takeoff.footings import choose_depth, depth_by_side, hole_diameter, hole_volume, outline_area

ROWS = (FootingDepth(3, 0.8, Origin("footing_depths", 2)), FootingDepth(5, 1.2, Origin("footing_depths", 3)))


@pytest.mark.parametrize(
    ("side", "depth", "stretched"),
    # common practice, no source: 3 m side 0.8 m, 5 m side 1.2 m; linear between, flat below, its slope above
    [(3, 0.8, False), (5, 1.2, False), (4, 1.0, False), (2, 0.8, False), (6, 1.4, True)],
)
def test_depth_goes_with_the_longest_side(side: float, depth: float, stretched: bool) -> None:
    found, beyond = depth_by_side(ROWS, side)
    assert found == pytest.approx(depth)
    assert beyond is stretched


@pytest.mark.parametrize(("height", "third_of_post", "third_of_height"), [(2.4, 1.2, 0.8), (3.0, 1.5, 1.0)])
def test_which_one_third(height: float, third_of_post: float, third_of_height: float) -> None:
    # Source: a question in public with three answers that differ by 1.5 times; own arithmetic from its numbers.
    book, problems = load_rates(None, date(2026, 4, 3))
    assert book is not None, problems
    depth = choose_depth(book, 3.0, height, None)
    everything = {**dict(depth.others), depth.rule: depth.depth}
    assert everything["third of the post"] == pytest.approx(third_of_post)
    assert everything["third of the height"] == pytest.approx(third_of_height)
    assert everything["longest side"] == pytest.approx(0.8)
    assert depth.depth == pytest.approx(max(0.8, third_of_height))


def test_a_hole_is_about_three_post_widths() -> None:
    # common practice, no source: three post widths, augers in 50 mm steps, at least 300 mm
    assert hole_diameter(0.125, 3, 0.05, 0.3) == pytest.approx(0.40)
    assert hole_diameter(0.09, 3, 0.05, 0.3) == pytest.approx(0.30)
    assert hole_diameter(0.10, 3, 0.05, 0.3) == pytest.approx(0.30)


@pytest.mark.parametrize(
    ("diameter", "depth", "volume"),
    # Source: V = pi D^2 h / 4; derived.
    [(0.30, 0.90, 0.063617), (0.45, 1.20, 0.190852), (0.50, 1.50, 0.294524), (0.60, 1.80, 0.508938)],
)
def test_cylinders(diameter: float, depth: float, volume: float) -> None:
    assert hole_volume(diameter, depth) == pytest.approx(volume, abs=5e-7)


def test_a_hole_less_its_post() -> None:
    # Source: the same formula: 0.60 x 1.80 m less a 100 mm square post 1.70 m deep; derived.
    assert hole_volume(0.60, 1.80) - outline_area("square", 0.1) * 1.70 == pytest.approx(0.491938, abs=5e-7)


def test_post_leans_five_degrees_and_runs_on_one_width() -> None:
    # common practice, no source: 5 degrees, one post width above the fixing
    above, below = post_lengths(2.4, 0.0, 5.0, 0.125, 1.2)
    assert above == pytest.approx(2.4 / cos(radians(5)) + 0.125)
    assert below == pytest.approx(1.2 / cos(radians(5)))


def _bag(litres_per_bag: float) -> Concrete:
    return Concrete("B", "bag", "bag", litres_per_bag, 0.0, 0.0, Decimal(1), "bag", None, Origin("concrete", 2))


FT3 = 0.0283168466


@pytest.mark.parametrize(
    ("volume", "bag", "count"),
    [
        # Source: premix bag yields in common print (80 lb 0.60 ft3): an 8 in hole 36 in deep is "1 ft3, 2 bags".
        (pi / 4 * (8 / 12) ** 2 * 3 * FT3, 0.60 * FT3, 2),
        # Source: the same yield: 0.491938 m3 is 29 bags of 80 lb; at 108 bags of 20 kg a m3 it is 54.
        (0.491938, 0.60 * FT3, 29),
        (0.491938, 1 / 108, 54),
        # Source: a page prints 40 lb = 0.60 ft3 in one sentence and 0.30 in the next; 0.30 is right, so 2 bags.
        (0.60 * FT3, 0.30 * FT3, 2),
    ],
)
def test_bags(volume: float, bag: float, count: int) -> None:
    found = ways([_bag(bag)], volume, 0.0, Decimal(0), 1.0)
    assert plain(found[0].quantity) == str(count)


def test_26_holes_and_52_bags() -> None:
    # Source: a question in public: 26 holes of 8 in by 2 ft, 52 bags of 66 lb bought for "a bag fills 6 in by
    # 1 ft", about 18 used: the post takes 60 % of the hole. 19.8 litres gross each: own arithmetic.
    each = hole_volume(8 * 0.0254, 0.6096)
    assert each == pytest.approx(0.0198, abs=0.0001)
    net = 26 * each * 0.4
    bag = 66 * 0.45359237 / 2136  # m3: 133.3 lb/ft3 in common print
    once = ways([_bag(bag)], net, 0.0, Decimal(0), 1.0)[0].quantity
    by_hole = 26 * ways([_bag(bag)], net / 26, 0.0, Decimal(0), 1.0)[0].quantity
    assert once == 15
    assert by_hole == 26
    assert once < 18 < 52
