"""Where sails hang, and what is refused."""

from __future__ import annotations

from math import inf, nan, sqrt
from time import perf_counter

import numpy as np
import pytest
from scipy.optimize import brentq, fsolve, minimize

from estimator.geometry.corners import hang
from estimator.geometry.margin import largest_margin, largest_scale
from estimator.geometry.outline import flat_area, perimeter, rectangle
from estimator.geometry.placement import Placement, fits, given_for, least_margin, place, place_sail
from estimator.geometry.refused import WHYS, Refused
from tests.geometry.independent import flattened, outward, ways
from tests.geometry.sites import convex_outline, site_around

SQUARE = [(0.0, 0.0), (3.6, 0.0), (3.6, 3.6), (0.0, 3.6)]


def lopsided(far: float, near: float = 0.42) -> list[tuple[float, float, float]]:
    """Fixings of the 3.6 m square: three `near` m off its corners, the third one `far` m away along the diagonal."""
    d, f = near / sqrt(2), far / sqrt(2)
    return [(-d, -d, 3.0), (3.6 + d, -d, 3.0), (3.6 + f, 3.6 + f, 3.0), (-d, 3.6 + d, 3.0)]


def refused(found: Placement | Refused, why: str) -> Refused:
    assert isinstance(found, Refused)
    assert found.why == why
    assert found.why in WHYS
    assert found.words.endswith(".")
    return found


def placed(found: Placement | Refused) -> Placement:
    assert isinstance(found, Placement), found
    return found


def test_one_far_fixing_does_not_move_the_sail() -> None:
    found = placed(place_sail(SQUARE, lopsided(3.8), [0.3] * 4, 0.02))
    assert max(found.off_bisector) < 2
    assert found.gap == pytest.approx([0.42, 0.42, 3.8, 0.42])
    assert np.array(found.corners)[:, :2] == pytest.approx(np.array(SQUARE), abs=1e-9)
    assert found.how == "bisector"


def test_one_far_fixing_with_a_fall_neither() -> None:
    fixings = [(x, y, z) for (x, y, _), z in zip(lopsided(3.8), (3.0, 2.6, 3.0, 2.6), strict=True)]
    found = placed(place_sail(SQUARE, fixings, [0.3] * 4, 0.02))
    assert max(found.off_bisector) < 2
    assert found.offsets_squared < 1e-20


@pytest.mark.parametrize("turn", [0.0, 0.4, 1.1])
@pytest.mark.parametrize("first", [0, 1, 2, 3])
def test_equal_placements_of_a_square_are_one(first: int, turn: float) -> None:
    c, s = np.cos(turn), np.sin(turn)
    around = [(c * x - s * y, s * x + c * y, z) for x, y, z in lopsided(1.0)]
    found = placed(place_sail(SQUARE, around[first:] + around[:first], [0.3] * 4, 0.0))
    assert found.gap == pytest.approx([1.0 if (k + first) % 4 == 2 else 0.42 for k in range(4)])
    assert found.order == (0, 1, 2, 3)
    assert not found.mirrored


def test_a_rectangle_turns_to_its_fixings() -> None:
    shape = rectangle(5, 3)
    found = placed(place_sail(shape, [(0, 0, 3), (3.8, 0, 3), (3.8, 5.8, 3), (0, 5.8, 3)], [0.3] * 4, 0.0))
    assert found.gap == pytest.approx([0.4 * sqrt(2)] * 4)
    assert found.sides == pytest.approx([3, 5, 3, 5])
    assert found.order == (1, 2, 3, 0)


def test_a_lopsided_triangle_is_turned_over_when_that_is_shorter() -> None:
    turned_over = np.array([(0.0, 0.0), (-1.0, 2.5), (-5.0, 0.0)])
    fixings = turned_over + 0.3 * outward(turned_over)
    found = placed(place_sail([(0, 0), (5, 0), (1, 2.5)], [(*f, 3.0) for f in fixings], [0.2] * 3, 0.0))
    assert found.mirrored
    assert found.order == (0, 2, 1)
    assert found.gap == pytest.approx([0.3] * 3)


def test_three_corners_lie_in_the_plane_of_their_fixings() -> None:
    fixings = np.array([(0, 0, 3.2), (6, 0.5, 2.4), (2.5, 5, 2.9)])
    found = placed(place_sail([(0, 0), (5, 0), (2, 4)], fixings.tolist(), [0.2] * 3, 0.0))
    normal = np.cross(fixings[1] - fixings[0], fixings[2] - fixings[0])
    assert (np.array(found.corners) - fixings[0]) @ normal == pytest.approx([0, 0, 0], abs=1e-9)
    assert found.scale == pytest.approx(1)
    assert np.linalg.norm(np.subtract(fixings, found.corners), axis=1) == pytest.approx(list(found.gap))
    assert found.offsets_squared < 1e-20


def test_four_corners_lie_on_the_bilinear_surface() -> None:
    f = np.array([(0, 0, 3.2), (6, 0.5, 2.2), (6.4, 5, 3.4), (0.3, 4.6, 2.0)])
    found = placed(place_sail(rectangle(5, 3.6), f.tolist(), [0.2] * 4, 0.0))

    def surface(at: np.ndarray) -> np.ndarray:
        a, b = at
        return (1 - a) * (1 - b) * f[0] + a * (1 - b) * f[1] + a * b * f[2] + (1 - a) * b * f[3]

    for corner, start in zip(found.corners, [(0, 0), (1, 0), (1, 1), (0, 1)], strict=True):
        at = fsolve(lambda at, corner=corner: (surface(at) - corner)[:2], start, xtol=1e-13)
        assert surface(at) == pytest.approx(np.array(corner), abs=1e-9)
    assert perimeter(found.corners) == pytest.approx(17.2, abs=1e-8)
    assert found.scale < 1


def test_five_corners_lie_on_the_triangles_to_the_middle() -> None:
    f = np.array([(0, 0, 3), (4, -1, 2), (7, 2, 3), (4, 6, 2.4), (0, 4, 3.0)])
    outline = [(0.5, 0.5), (3.9, -0.2), (6, 2.2), (3.8, 5), (0.5, 3.5)]
    found = placed(place_sail(outline, f.tolist(), [0.1] * 5, 0.0))
    middle = f.mean(axis=0)
    for corner in found.corners:
        away = [
            abs(np.dot(np.subtract(corner, middle), np.cross(p - middle, q - middle)))
            for p, q in zip(f, np.roll(f, -1, axis=0), strict=True)
        ]
        assert min(away) < 1e-8
    assert perimeter(found.corners) == pytest.approx(perimeter(outline), abs=1e-8)


def test_gap_forward_and_angles_of_a_twisted_sail() -> None:
    fixings = [(0, 0, 3.2), (6, 0.5, 2.2), (6.4, 5, 3.4), (0.3, 4.6, 2.0)]
    found = placed(place_sail(rectangle(5, 3.6), fixings, [0.2] * 4, 0.03))
    corners = np.array(found.corners)
    for i in range(4):
        pull = np.subtract(fixings[i], corners[i])
        back, ahead = corners[i - 1] - corners[i], corners[(i + 1) % 4] - corners[i]
        out = -(back / np.linalg.norm(back) + ahead / np.linalg.norm(ahead))
        cosine = pull @ out / np.linalg.norm(pull) / np.linalg.norm(out)
        assert found.gap[i] == pytest.approx(np.linalg.norm(pull))
        assert found.forward[i] == pytest.approx(found.gap[i] * cosine)
        assert np.cos(np.radians(found.off_bisector[i])) == pytest.approx(cosine)
        outwards = corners[i] - found.centroid
        cosine = pull @ outwards / np.linalg.norm(pull) / np.linalg.norm(outwards)
        assert np.cos(np.radians(found.off_centroid[i])) == pytest.approx(cosine)
        assert found.radius[i] == pytest.approx(np.hypot(5, 3.6) / 2)
        assert found.needed[i] == pytest.approx(0.2 + 0.03 * found.radius[i])


def test_the_answer_is_the_same_every_time() -> None:
    fixings = [(0, 0, 3.2), (6, 0.5, 2.2), (6.4, 5, 3.4), (0.3, 4.6, 2.0)]
    for need in (0.2, 0.55, 0.8):
        assert repr(place_sail(SQUARE, fixings, [need] * 4, 0.03)) == repr(
            place_sail(SQUARE, fixings, [need] * 4, 0.03)
        )


def test_a_vertical_sail_hangs_too() -> None:
    found = placed(place_sail(SQUARE, [(0, 2, 0), (4.4, 2, 0), (4.4, 2, 4.4), (0, 2, 4.4)], [0.3] * 4, 0.0))
    assert found.gap == pytest.approx([0.4 * sqrt(2)] * 4)
    assert np.abs(found.normal) == pytest.approx([0, 1, 0])


def test_a_placement_is_quick() -> None:
    fixings = [(0, 0, 3.2), (6, 0.5, 2.2), (6.4, 5, 3.4), (0.3, 4.6, 2.0)]
    times = []
    for _ in range(10):
        start = perf_counter()
        place_sail(SQUARE, fixings, [0.3] * 4, 0.03)
        times.append(perf_counter() - start)
    assert min(times) < 0.010


# --- what is refused


def test_a_corner_past_its_fixing_is_always_refused() -> None:
    fixings = [(0, 0, 3), (3.4, 0, 3), (3.4, 3.4, 3), (0, 3.4, 3)]
    found = refused(place_sail(SQUARE, fixings, [0.0] * 4, 0.0), "past its fixing")
    assert all(corner.gap < 0 for corner in found.corners)
    assert found.largest_scale == pytest.approx(3.4 / 3.6, abs=2e-6)


@pytest.mark.parametrize("seed", range(12))
def test_larger_sails_than_their_fixings_are_refused(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = 3 + seed % 4
    outline = convex_outline(rng, n)
    fixings = np.column_stack([outline, np.full(n, 3.0)])
    found = place_sail((outline * 1.05).tolist(), fixings.tolist(), [0.0] * n, 0.0, find_scale=False)
    assert isinstance(found, Refused)
    assert found.corners
    assert found.largest_scale is None


def test_too_large_says_which_corners_and_the_size_that_fits() -> None:
    fixings = [(0, 0, 3), (4.2, 0, 3), (4.2, 4.2, 3), (0, 4.2, 3)]
    found = refused(place_sail(SQUARE, fixings, [0.4] * 4, 0.03), "no room")
    assert [corner.index for corner in found.corners] == [0, 1, 2, 3]
    assert found.corners[0].gap == pytest.approx(0.3 * sqrt(2))
    assert found.corners[0].needed == pytest.approx(0.4 + 0.03 * 1.8 * sqrt(2))
    # half diagonal of the fixings less that of the sail is the gap: 2.1 root 2 - k h = 0.4 + 0.03 k h
    k = brentq(lambda k: (2.1 - 1.8 * k) * sqrt(2) - 0.4 - 0.03 * k * 1.8 * sqrt(2), 0, 1)
    assert found.largest_scale == pytest.approx(k, abs=2e-6)
    side = 3.6 * (k - 1e-5)
    smaller = rectangle(side, side)
    assert isinstance(place_sail(smaller, fixings, [0.4] * 4, 0.03), Placement)


def test_no_size_fits_where_the_parts_are_longer_than_the_site() -> None:
    found = refused(place_sail(SQUARE, lopsided(0.5), [9.0] * 4, 0.0), "no room")
    assert found.largest_scale == 0


@pytest.mark.parametrize(
    ("fixings", "why"),
    [
        ([(0, 0, 3), (5, 0, 3), (0, 5, 3), (5, 5, 3)], "crossing"),
        ([(0, 0, 3), (2, 0, 3), (4, 0, 3), (6, 0, 3)], "in one line"),
        ([(0, 0, 3), (2, 1, 3), (4, 2, 3), (6, 3, 3)], "in one line"),
        ([(0, 0, 3), (0, 0, 3), (5, 5, 3), (0, 5, 3)], "coincident"),
        ([(0, 0, 3), (5, nan, 3), (5, 5, 3), (0, 5, 3)], "not a number"),
        ([(0, 0, 3), (5, inf, 3), (5, 5, 3), (0, 5, 3)], "not a number"),
        ([(0, 0, 3), (5, 0, 3), (5, 5, 3)], "too few"),
        ([(0, 0, 3)], "too few"),
        ([], "too few"),
        ([(0, 0), (5, 0), (5, 5), (0, 5)], "too few"),
        ([(0, 0, 3), (5, "x", 3), (5, 5, 3), (0, 5, 3)], "not a number"),
    ],
)
def test_fixings_that_hold_no_sail(fixings: list[tuple[float, ...]], why: str) -> None:
    refused(place_sail(SQUARE, fixings, [0.3] * 4, 0.0), why)


@pytest.mark.parametrize(
    ("outline", "needed", "stretch", "why"),
    [
        (SQUARE, [0.3, 0.3, nan, 0.3], 0.0, "not a number"),
        (SQUARE, [0.3, 0.3, -0.1, 0.3], 0.0, "not a number"),
        (SQUARE, [0.3] * 4, nan, "not a number"),
        (SQUARE, [0.3] * 4, -0.01, "not a number"),
        (SQUARE, [0.3] * 3, 0.0, "too few"),
        (SQUARE[:3], [0.3] * 4, 0.0, "too few"),
        ([(0, 0), (4, 0), (1, 1), (0, 4)], [0.3] * 4, 0.0, "turned in"),
        ([(0, 0), (2, 0), (4, 0), (0, 4)], [0.3] * 4, 0.0, "turned in"),
        ([(0, 0), (4, 4), (4, 0), (0, 4)], [0.3] * 4, 0.0, "crossing"),
        ([(0, 0), (nan, 0), (4, 4), (0, 4)], [0.3] * 4, 0.0, "not a number"),
    ],
)
def test_sails_that_cannot_hang(outline: list, needed: list[float], stretch: float, why: str) -> None:
    refused(place_sail(outline, [(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)], needed, stretch), why)


def test_fixing_inside_the_others() -> None:
    dart = [(0, 0, 3), (6, 0, 3.4), (2.9, 2.9, 2.6), (0, 6, 3.4)]
    shape = rectangle(2, 2)
    found = refused(place_sail(shape, dart, [0.2] * 4, 0.0, find_scale=False), "no room")
    assert found.at == (2,)


# --- the margin


def test_a_short_corner_is_given_room_from_the_one_across() -> None:
    d, f = 0.25 / sqrt(2), 0.75 / sqrt(2)
    m = 0.5 / sqrt(2)
    fixings = [(-d, -d, 3), (3.6 + m, -m, 3), (3.6 + f, 3.6 + f, 3), (-m, 3.6 + m, 3)]
    found = placed(place_sail(SQUARE, fixings, [0.3] * 4, 0.0))
    assert found.how == "margin"
    # 0.25 and 0.75 m on one diagonal become 0.5 each, or as near as 15 degrees at the neighbours allow
    shift = 0.5 * np.tan(np.radians(15))
    assert found.gap[0] == pytest.approx(0.25 + shift, abs=1e-5)
    assert found.gap[2] == pytest.approx(0.75 - shift, abs=1e-5)
    assert max(found.off_bisector) <= 15 + 1e-4
    assert found.offsets_squared == pytest.approx(2 * shift**2, abs=1e-5)


def test_no_sail_is_turned_askew_to_find_room() -> None:
    # turned by 25 degrees this square would have 0.4 m and more everywhere, until it is pulled tight
    fixings = [(0, 0, 3), (4, 0, 3), (4, 4, 3), (0, 4, 3)]
    found = refused(place_sail(SQUARE, fixings, [0.4] * 4, 0.0), "no room")
    assert [corner.gap for corner in found.corners] == pytest.approx([0.2 * sqrt(2)] * 4)


@pytest.mark.parametrize("seed", range(6))
def test_margin_against_a_second_optimiser(seed: int) -> None:
    """On level sites: in the plane, from the words of the rule, with a penalty for pulls that are too far off."""
    rng = np.random.default_rng(100 + seed)
    n = 3 + seed % 3
    outline = convex_outline(rng, n)
    fixings = site_around(rng, outline, 0.1, 3.0, 3.0)
    needed = rng.uniform(0.3, 0.9, n)
    start = given_for(outline.tolist(), fixings.tolist(), needed.tolist(), 0.0)
    assert not isinstance(start, Refused)
    limit = np.radians(min(max(15.0, *place(start).off_bisector), 30.0))
    flat = flattened(fixings)
    # flattened() may walk the other way round or turn the axes, but keeps the order of the fixings
    best = -inf
    for corners in ways(outline - outline.mean(axis=0)):

        def lack(at: np.ndarray, corners: np.ndarray = corners) -> float:
            c, s = np.cos(at[2]), np.sin(at[2])
            placed_at = corners @ np.array([[c, s], [-s, c]]) + at[:2]
            away = flat - placed_at
            gap = np.hypot(*away.T)
            askew = gap * np.cos(limit) - (outward(placed_at) * away).sum(axis=1)
            return float(-((outward(placed_at) * away).sum(axis=1) - needed).min() + 100 * max(askew.max(), 0))

        for k in range(12):
            begin = (*flat.mean(axis=0), 2 * np.pi * k / 12)
            answer = minimize(lack, begin, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-9, "maxiter": 900})
            best = max(best, -float(answer.fun))
    found = largest_margin(start, place(start), 15.0)
    ahead = min(forward - need for forward, need in zip(found.forward, found.needed, strict=True))
    assert ahead >= best - 2e-4
    assert least_margin(found) >= ahead - 1e-9
    assert max(found.off_bisector) <= np.degrees(limit) + 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_the_size_named_fits_and_a_larger_one_does_not(seed: int) -> None:
    rng = np.random.default_rng(200 + seed)
    n = 3 + seed % 3
    outline = convex_outline(rng, n)
    fixings = site_around(rng, outline, 0.1, 2.4, 3.2)
    needed = [1.0] * n
    found = place_sail(outline.tolist(), fixings.tolist(), needed, 0.03)
    assert isinstance(found, Refused)
    assert found.largest_scale is not None
    assert 0 < found.largest_scale < 1
    fitting, larger = ((outline * found.largest_scale * k).tolist() for k in (1 - 1e-5, 1 + 1e-3))
    assert isinstance(place_sail(fitting, fixings.tolist(), needed, 0.03), Placement)
    assert isinstance(place_sail(larger, fixings.tolist(), needed, 0.03, find_scale=False), Refused)


def test_a_sail_that_fits_is_named_whole() -> None:
    start = given_for(SQUARE, lopsided(1.0), [0.3] * 4, 0.0)
    assert not isinstance(start, Refused)
    assert fits(place(start))
    assert largest_scale(start, 15.0) == pytest.approx(1, abs=2e-6)


def test_hang_measures_signed_room() -> None:
    corners = np.array([(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 0)], dtype=float)
    fixings = np.array([(-1, -1, 0), (1, 1, 0), (3, 3, 0), (-1, 3, 0)], dtype=float)
    hung = hang(corners, fixings)
    assert hung.gap == pytest.approx([sqrt(2)] * 4)
    assert hung.forward == pytest.approx([sqrt(2), -sqrt(2), sqrt(2), sqrt(2)])
    assert flat_area(SQUARE) == pytest.approx(12.96)
