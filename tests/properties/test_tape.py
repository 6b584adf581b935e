"""What must hold for any figure of taped points."""

from __future__ import annotations

import math
import random
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from estimator.geometry.tape import Adjusted, TapedPoint, adjust
from tests.geometry_tape.figures import framed, measured, pentagon, quadrilateral


def _adjusted(points, lines, **words) -> Adjusted:
    found = adjust(points, lines, **words)
    assert isinstance(found, Adjusted)
    return found


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), five=st.booleans(), level=st.booleans())
def test_lines_come_back_within_the_tape_and_redundancies_add_up(seed: int, five: bool, level: bool) -> None:
    chance = random.Random(seed)
    spots = (pentagon if five else quadrilateral)(chance)
    points, lines = measured(spots, chance, level=level)
    found = _adjusted(points, lines)
    assert found.closes
    assert found.other_places == ()
    assert sum(line.redundancy for line in found.lines) == pytest.approx(found.spare, abs=1e-6)
    assert found.spare == (3 if five else 1)
    for line in found.lines:
        a, b = (next(p for p in found.points if p.name == name) for name in (line.start, line.end))
        rise = 0.0 if level else a.height - b.height
        computed = math.hypot(a.across - b.across, a.out - b.out, rise)
        assert computed - line.length == pytest.approx(line.residual, abs=1e-9)
        assert abs(line.residual) < 0.004


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), order=st.permutations(range(10)))
def test_order_and_direction_of_the_lines_do_not_matter(seed: int, order: list[int]) -> None:
    chance = random.Random(seed)
    points, lines = measured(pentagon(chance), chance)
    one = _adjusted(points, lines)
    turned = [type(line)(line.end, line.start, line.length, line.level) for line in (lines[at] for at in order)]
    two = _adjusted(points, turned)
    for a, b in zip(one.points, two.points, strict=True):
        assert (a.across, a.out) == pytest.approx((b.across, b.out), abs=1e-7)
        assert (a.across_std, a.out_std) == pytest.approx((b.across_std, b.out_std), abs=1e-7)
    assert one.misclosure == pytest.approx(two.misclosure, abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), move=st.tuples(st.floats(-50, 50), st.floats(-50, 50)), turn=st.floats(-3.1, 3.1))
def test_given_coordinates_move_the_figure_and_nothing_else(seed: int, move: tuple[float, float], turn: float) -> None:
    chance = random.Random(seed)
    spots = framed(quadrilateral(chance))
    turned = [
        (x * math.cos(turn) - y * math.sin(turn) + move[0], x * math.sin(turn) + y * math.cos(turn) + move[1])
        for x, y in spots
    ]
    points, lines = measured(turned, chance)
    held = [TapedPoint(p.name, p.height, *turned[at]) if at < 3 else p for at, p in enumerate(points)]
    found = _adjusted(held, lines)
    assert found.spare == 4
    assert (found.points[3].across, found.points[3].out) == pytest.approx(turned[3], abs=0.01)
    assert [(p.across_std, p.out_std) for p in found.points[:3]] == [(0, 0)] * 3


def _flat(points, lines) -> bool:
    """Whether some taped triangle has no height to speak of in plan."""
    height = {p.name: p.height for p in points}
    plan = {frozenset((n.start, n.end)): math.sqrt(n.length**2 - (height[n.start] - height[n.end]) ** 2) for n in lines}
    for three in combinations(height, 3):
        sides = sorted(plan.get(frozenset(pair), math.inf) for pair in combinations(three, 2))
        if sides[2] < math.inf and sides[0] + sides[1] - sides[2] < 0.02:
            return True
    return False


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10**6), which=st.integers(0, 5))
def test_without_any_line_of_six_the_rest_is_exact_and_unchecked(seed: int, which: int) -> None:
    chance = random.Random(seed)
    pairs = [pair for at, pair in enumerate(combinations(range(4), 2)) if at != which]
    points, lines = measured(quadrilateral(chance), chance, pairs=pairs)
    assume(not _flat(points, lines))  # three points in a row never add up to the millimetre
    found = _adjusted(points, lines)
    assert found.unchecked
    assert max(abs(line.residual) for line in found.lines) < 1e-7
