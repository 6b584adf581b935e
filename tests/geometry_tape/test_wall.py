"""Marks on a wall, posts opposite them, and distances to a hole."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.geometry.wall import (
    WallRefused,
    WallSetOut,
    extra_gap,
    hole_edge_clearance,
    set_out_wall,
    two_tape,
)

USUAL: dict[str, float | None] = {
    "length": 9.0,
    "start_across": -2.0,
    "out": 0.5,
    "centre": 4.5,
    "fixing_height": 2.7,
    "side_along": 4.0,
    "side_out": 3.0,
    "spare_each_end": 0.2,
    "needed_each_end": 0.35,
    "post_height": 2.3,
    "post_ground": -0.1,
}


def wall(**changed: float | None) -> WallSetOut | WallRefused:
    return set_out_wall(**{**USUAL, **changed})  # type: ignore[arg-type]


def set_out(**changed: float | None) -> WallSetOut:
    found = wall(**changed)
    assert isinstance(found, WallSetOut)
    return found


def refused(**changed: float | None) -> WallRefused:
    found = wall(**changed)
    assert isinstance(found, WallRefused)
    return found


def test_without_rafters_nothing_moves_and_the_larger_spare_counts() -> None:
    found = set_out()
    left, right = found.marks
    assert (left.to_start, left.to_end, right.to_start, right.to_end) == pytest.approx((2.15, 6.85, 6.85, 2.15))
    assert (left.across, left.out, left.height, left.moved, left.rafter) == pytest.approx((0.15, 0.5, 2.7, 0, None))
    assert found.each_end == 0.35
    assert found.extra_each_corner == 0.0
    assert set_out(spare_each_end=0.5).each_end == 0.5


def test_each_post_stands_opposite_the_mark_of_its_number() -> None:
    found = set_out()
    first, second = found.posts
    assert (first.name, first.opposite, second.name, second.opposite) == ("P1", "W1", "P2", "W2")
    assert (first.across, first.out) == pytest.approx((0.15, 0.5 + 0.35 + 3.0 + 0.35))
    assert (second.across, second.out) == pytest.approx((4.85, 4.2))
    assert (first.height, first.ground) == (2.3, -0.1)


def test_marks_move_outward_to_their_rafters_and_posts_follow() -> None:
    found = set_out(first_rafter=0.4, rafter_spacing=0.9)
    left, right = found.marks
    assert (left.to_start, left.moved, left.rafter) == pytest.approx((1.3, 0.85, 2))
    assert (right.to_start, right.moved, right.rafter) == pytest.approx((7.6, 0.75, 9))
    assert [post.across for post in found.posts] == pytest.approx([-0.7, 5.6])
    assert [post.out for post in found.posts] == pytest.approx([4.2, 4.2])
    assert found.extra_each_corner == pytest.approx(math.hypot(0.35 + 0.8, 0.35) - 0.35 * math.sqrt(2))


@pytest.mark.parametrize(("off", "moves"), [(0.0, False), (0.0009, False), (-0.0009, False), (0.0011, True)])
def test_a_mark_within_a_millimetre_of_a_rafter_stays(off: float, moves: bool) -> None:
    found = set_out(first_rafter=2.15 - off - 2 * 0.6, rafter_spacing=0.6)
    assert found.marks[0].moved == pytest.approx(off if moves else 0.0, abs=1e-9)


def test_marks_exactly_at_both_ends_stay_on_the_wall() -> None:
    found = set_out(side_along=8.3)
    assert (found.marks[0].to_start, found.marks[1].to_end) == pytest.approx((0, 0), abs=1e-9)


def test_no_mark_may_leave_the_wall() -> None:
    found = refused(centre=3.0, side_along=6.0)
    assert (found.kind, found.marks) == ("off-the-wall", ("W1",))
    assert found.by == pytest.approx((0.35,))
    assert found.longest == pytest.approx(5.3)
    both = refused(side_along=9.0)
    assert (both.marks, both.by) == (("W1", "W2"), pytest.approx((0.35, 0.35)))


def test_a_mark_on_the_wall_with_no_rafter_outward_of_it() -> None:
    found = refused(first_rafter=2.5, rafter_spacing=0.6)
    assert (found.kind, found.marks) == ("no-rafter", ("W1",))
    assert found.by == pytest.approx((0.35,))
    assert found.longest == pytest.approx(2 * (4.5 - 2.5 - 0.35))


def test_nothing_fits_round_a_centre_too_near_the_end() -> None:
    assert refused(centre=0.2).longest == 0.0


@pytest.mark.parametrize("changed", [{"first_rafter": 0.3}, {"rafter_spacing": 0.6}])
def test_rafters_half_given_are_never_assumed(changed: dict[str, float]) -> None:
    assert refused(**changed).kind == "rafters-half-given"


@pytest.mark.parametrize("changed", [{"length": 0.0}, {"side_out": math.nan}, {"centre": -1.0}, {"side_along": -2.0}])
def test_lengths_that_are_none(changed: dict[str, float]) -> None:
    assert refused(**changed).kind == "not-a-length"


@given(
    length=st.floats(2, 30),
    share=st.floats(0.1, 0.9),
    side=st.floats(0.5, 12),
    first=st.floats(0, 1),
    spacing=st.floats(0.3, 1.2),
    spare=st.floats(0, 0.6),
)
def test_marks_lie_outward_on_rafters_of_the_wall_or_the_longest_side_would(
    length: float, share: float, side: float, first: float, spacing: float, spare: float
) -> None:
    asked = {"length": length, "centre": length * share, "first_rafter": first, "rafter_spacing": spacing}
    found = wall(**asked, side_along=side, spare_each_end=spare, needed_each_end=0.0)
    if isinstance(found, WallRefused):
        assert found.longest is not None
        assert found.longest < side
        if found.longest > 0.01:
            fits = wall(**asked, side_along=found.longest - 1e-6, spare_each_end=spare, needed_each_end=0.0)
            assert isinstance(fits, WallSetOut)
        return
    half = side / 2 + spare
    for mark, wanted, way in zip(found.marks, (length * share - half, length * share + half), (-1, 1), strict=True):
        moved = way * (mark.to_start - wanted)
        assert -1e-9 <= moved < spacing + 1e-9
        assert mark.moved == pytest.approx(abs(moved), abs=1e-9)
        steps = (mark.to_start - first) / spacing
        assert abs(steps - round(steps)) * spacing <= 0.001 + 1e-9
        assert mark.rafter == round(steps) + 1 >= 1
        assert -1e-9 <= mark.to_start <= length + 1e-9


def test_moving_outward_never_shortens_a_corner() -> None:
    assert extra_gap(0.3, 0.0, 0.0) == 0.0
    assert extra_gap(0.3, 0.4, 0.0) == pytest.approx(extra_gap(0.3, 0.2, 0.2))
    assert 0 < extra_gap(0.3, 0.2, 0.2) < 0.2


def test_two_tapes_take_the_marks_that_cross_best() -> None:
    marks = [("W1", 0.0, 0.0), ("W2", 1.0, 0.0), ("W3", 8.0, 0.0)]
    found = two_tape(marks, (4.0, 4.0))
    assert found is not None
    assert (found.first, found.second, found.side) == ("W1", "W3", "left")
    assert (found.first_distance, found.second_distance) == pytest.approx((math.sqrt(32), math.sqrt(32)))
    assert found.crossing == pytest.approx(90)
    below = two_tape(marks, (4.0, -4.0))
    assert below is not None
    assert below.side == "right"


def test_two_tapes_need_two_marks_out_of_line() -> None:
    assert two_tape([("W1", 0, 0)], (1, 1)) is None
    assert two_tape([("W1", 0, 0), ("W2", 4, 0)], (2, 0)) is None
    assert two_tape([("W1", 0, 0), ("W2", 4, 0)], (0, 0)) is None


def test_edge_of_a_hole_unknown_direction_is_the_worst() -> None:
    assert hole_edge_clearance(1.0, 0.45, 0.2) == pytest.approx(1.0 - 0.2 - 0.225)
    assert hole_edge_clearance(1.0, 0.45, 0.2, angle=180) == pytest.approx(0.975)
    assert hole_edge_clearance(1.0, 0.45, 0.2, angle=90) == pytest.approx(0.775)
    assert hole_edge_clearance(0.3, 0.45, 0.2) == pytest.approx(-0.125)
