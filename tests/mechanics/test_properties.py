"""What must hold for any figures: more wind presses more, stronger ground needs no deeper pole, forces balance."""

from __future__ import annotations

from math import cos, hypot, inf, radians, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.geometry.fasteners import EYE_BOLTS, eye_bolt_load, ultimate_withdrawal, withdrawal
from estimator.geometry.pole import (
    clay_capacity,
    clay_depth,
    constrained_depth,
    sand_capacity,
    sand_depth,
    stress_at_third,
    unconstrained_depth,
    unconstrained_pass,
)
from estimator.geometry.post_bending import (
    Stiffness,
    base_moment,
    bending_stress,
    fixed_guyed_post,
    hinged_guyed_post,
    top_movement,
)
from estimator.geometry.sections import cold_formed_radii, round_solid, round_tube, square_solid, square_tube
from estimator.geometry.slings import CHAIN_GRADES, chain_breaking_force, leg_factor, leg_force
from estimator.geometry.wind import SPEED_UNITS, from_metres_per_second, gust, pressure, speed_of_pressure
from estimator.geometry.wind_codes import (
    EXPOSURES,
    ROUGHNESS,
    TERRAINS,
    asce_pressure,
    elevation_factor,
    exposure_factor,
    peak_pressure,
    probability_factor,
    regional_speed,
    terrain_multiplier,
)

forces = st.floats(100, 50_000)
heights = st.floats(0, 8)
widths = st.floats(0.2, 1.2)
laterals = st.floats(5_000, 200_000)
speeds = st.floats(1, 90)
more = st.floats(1.001, 3)


@given(speeds, more, st.floats(0.1, 2), st.floats(0.9, 1.3))
def test_more_wind_presses_more(speed: float, times: float, shape: float, density: float) -> None:
    assert pressure(speed * times, shape, density=density) > pressure(speed, shape, density=density)
    assert speed_of_pressure(pressure(speed, shape, density=density), shape, density=density) == pytest.approx(speed)
    assert pressure(gust(speed, times)) == pytest.approx(times**2 * pressure(speed))


@given(speeds, more)
def test_speeds_keep_their_order_in_every_unit(speed: float, times: float) -> None:
    for unit in SPEED_UNITS:
        assert from_metres_per_second(speed * times, unit) > from_metres_per_second(speed, unit)
    kmh, mph, knots = (from_metres_per_second(speed, unit) for unit in ("km/h", "mph", "kn"))
    assert kmh > mph > knots > speed


@given(st.floats(0, 20), st.floats(0, 20), st.sampled_from(sorted(ROUGHNESS)), speeds)
def test_higher_up_the_wind_is_never_weaker(one: float, other: float, terrain: str, speed: float) -> None:
    low, high = sorted((one, other))
    assert peak_pressure(speed, high, terrain) >= peak_pressure(speed, low, terrain)
    for category in TERRAINS:
        assert terrain_multiplier(high, category) >= terrain_multiplier(low, category) - 1e-12
    for exposure in EXPOSURES:
        assert exposure_factor(high, exposure) >= exposure_factor(low, exposure)
        assert asce_pressure(speed, exposure_factor(high, exposure)) >= asce_pressure(
            speed, exposure_factor(low, exposure)
        )
    assert elevation_factor(100 * high) <= elevation_factor(100 * low)


@given(st.floats(0, 20), speeds)
def test_rougher_ground_slows_the_wind(height: float, speed: float) -> None:
    by_code = (
        [terrain_multiplier(height, category) for category in TERRAINS],
        [exposure_factor(height, exposure) for exposure in "DCB"],
        [peak_pressure(speed, max(height, 10), terrain) for terrain in ("0", "I", "II", "III", "IV")],
    )
    for found in by_code:
        assert found == sorted(found, reverse=True)


@given(st.floats(5, 2000), st.floats(5, 2000))
def test_rarer_winds_are_never_slower(one: float, other: float) -> None:
    often, seldom = sorted((one, other))
    for region in "ABCD":
        assert regional_speed(region, seldom) >= regional_speed(region, often)
        assert abs(regional_speed(region, often) - regional_speed(region, often, whole=False)) <= 0.5
    assert probability_factor(1 / seldom) >= probability_factor(1 / often)


@given(forces, heights, widths, laterals, more)
def test_depth_of_a_free_pole(force: float, height: float, width: float, lateral: float, times: float) -> None:
    depth = unconstrained_depth(force, height, width, lateral)
    assert unconstrained_pass(force, height, width, stress_at_third(lateral, depth)) == pytest.approx(depth, rel=1e-9)
    assert unconstrained_depth(force, height, width, lateral * times) < depth
    assert unconstrained_depth(force, height, width * times, lateral) < depth
    assert unconstrained_depth(force * times, height, width, lateral) > depth
    assert unconstrained_depth(force, height + times, width, lateral) > depth
    assert unconstrained_depth(0.0, height, width, lateral) == 0.0
    assert unconstrained_depth(force, height, width, lateral, cap_on_third=True) <= depth * (1 + 1e-9)
    assert constrained_depth(force * height, width, lateral) <= depth


@given(forces, widths, laterals)
def test_a_force_at_the_ground_has_a_closed_form(force: float, width: float, lateral: float) -> None:
    found = unconstrained_depth(force, 0.0, width, lateral, cap=inf)
    assert found == pytest.approx(sqrt(3 * 2.34 * force / (lateral * width)), rel=1e-9)


@given(st.floats(100, 1e6), widths, laterals, more)
def test_depth_of_a_held_pole(moment: float, width: float, lateral: float, times: float) -> None:
    depth = constrained_depth(moment, width, lateral)
    stress = lateral * min(depth, 3.6576)
    assert depth**2 == pytest.approx(4.25 * moment / (stress * width))
    assert constrained_depth(moment, width, lateral * times) < depth < constrained_depth(moment * times, width, lateral)


@given(st.floats(5e3, 300e3), widths, st.floats(0.05, 5), st.floats(0, 6), more)
def test_clay_balances(strength: float, width: float, below: float, arm: float, times: float) -> None:
    depth = 1.5 * width + below
    force = clay_capacity(strength, width, depth, arm)
    q, top = 9 * strength * width, 1.5 * width
    # The ground pushes back down to where it turns, and forward below: both sums vanish.
    turn = (force / q + top + depth) / 2
    assert top < turn < depth
    assert q * ((turn - top) - (depth - turn)) == pytest.approx(force, abs=1e-6 * q)
    assert q * ((depth**2 - turn**2) - (turn**2 - top**2)) / 2 == pytest.approx(force * arm, abs=1e-6 * q)
    assert force > 0
    assert clay_capacity(strength * times, width, depth, arm) > force
    assert clay_capacity(strength, width, depth * times, arm) > force
    assert clay_capacity(strength, width, depth, arm + times) < force
    assert clay_capacity(strength, width, top, arm) == 0
    assert clay_depth(force, force * arm, strength, width) == pytest.approx(depth, rel=1e-6)
    assert clay_depth(force, force * arm, strength * times, width) < depth


@given(st.floats(8e3, 22e3), st.floats(20, 45), widths, st.floats(0.3, 5), st.floats(0, 6), more)
def test_sand_there_and_back(weight: float, phi: float, width: float, depth: float, arm: float, times: float) -> None:
    force = sand_capacity(weight, phi, width, depth, arm)
    assert sand_depth(force, force * arm, weight, phi, width) == pytest.approx(depth, rel=1e-9)
    assert sand_depth(force, force * arm, weight * times, phi, width) < depth
    assert sand_depth(force, force * arm, weight, phi + 1, width) < depth
    assert sand_capacity(weight, phi, width, depth * times, arm) > force
    assert sand_capacity(weight, phi, width, depth, arm + times) < force


@given(st.floats(0.03, 0.4), st.floats(0.02, 0.45))
def test_a_tube_lies_between_nothing_and_a_solid(outer: float, share: float) -> None:
    wall = outer * share
    for tube, solid in (
        (round_tube(outer, wall), round_solid(outer)),
        (square_tube(outer, outer, wall, (0.0, 0.0)), square_solid(outer, outer)),
    ):
        assert 0 < tube.area < solid.area
        assert 0 < tube.inertia < solid.inertia
        assert 1 < tube.plastic / tube.modulus < 1.8
    assert round_tube(outer, wall).plastic <= round_solid(outer).plastic


@given(st.floats(0.04, 0.4), st.floats(0.04, 0.4), st.floats(0.02, 0.12))
def test_corners_only_take_away(height: float, width: float, share: float) -> None:
    wall = min(height, width) * share
    sharp = square_tube(height, width, wall, (0.0, 0.0))
    rounded = square_tube(height, width, wall, cold_formed_radii(wall))
    assert rounded.area < sharp.area
    assert rounded.inertia < sharp.inertia
    assert rounded.plastic < sharp.plastic


@given(st.floats(0.31, 0.73), st.floats(0.006, 0.02), st.floats(0.02, 0.2), more)
def test_denser_wood_and_thicker_screws_hold_more(gravity: float, diameter: float, thread: float, times: float) -> None:
    assert withdrawal(gravity * times, diameter) > withdrawal(gravity, diameter)
    assert withdrawal(gravity, diameter * times) > withdrawal(gravity, diameter)
    assert withdrawal(gravity, diameter, end_grain=True) < withdrawal(gravity, diameter)
    assert ultimate_withdrawal(gravity, diameter, thread * times) > ultimate_withdrawal(gravity, diameter, thread)
    assert ultimate_withdrawal(gravity, diameter, thread) / thread > 4 * withdrawal(gravity, diameter)


@given(st.floats(0, 45), st.floats(0, 45), st.sampled_from(sorted(EYE_BOLTS)))
def test_an_eye_bolt_never_gains_by_a_slant(one: float, other: float, size: str) -> None:
    straight, slanted = sorted((one, other))
    assert eye_bolt_load(size, slanted) <= eye_bolt_load(size, straight) + 1e-9
    # the straight line between two values of a falling, rounded curve stays under that curve, here the cosine
    assert eye_bolt_load(size, slanted) <= eye_bolt_load(size, 0) * cos(radians(slanted)) * 1.046


@given(st.floats(0.004, 0.02), more, st.floats(0, 59), st.integers(2, 4))
def test_chain_and_legs(diameter: float, times: float, angle: float, legs: int) -> None:
    for grade in CHAIN_GRADES:
        assert chain_breaking_force(diameter * times, grade) > chain_breaking_force(diameter, grade)
    assert leg_force(1, legs, angle + 1) > leg_force(1, legs, angle)
    assert leg_factor(legs, angle + 1) <= leg_factor(legs, angle)
    assert leg_factor(legs, angle) <= 1 / leg_force(1, min(legs, 3), angle) + 1e-9


@given(forces, st.floats(1, 8), st.floats(0, 2), st.floats(1e4, 1e8), more)
def test_a_post_bends_as_the_cantilever_does(
    force: float, height: float, beyond: float, bending: float, times: float
) -> None:
    top = height + beyond
    moved = top_movement(force, height, top, bending, 1.0)
    assert top_movement(force, top, top, bending, 1.0) == pytest.approx(force * top**3 / (3 * bending))
    # above the force the post stays straight: it goes on with the slope F h2/(2 E I)
    at_force = force * height**3 / (3 * bending)
    assert moved == pytest.approx(at_force + beyond * force * height**2 / (2 * bending))
    assert top_movement(force * times, height, top, bending, 1.0) > moved
    moment = base_moment(force, height)
    assert base_moment(force, height, 0.2, 1000.0) == pytest.approx(moment + 200)
    assert bending_stress(moment * times, 1e-4) > bending_stress(moment, 1e-4)
    assert bending_stress(moment, 1e-4, 5000.0, 0.002) == pytest.approx(bending_stress(moment, 1e-4) + 2.5e6)


@given(forces, st.floats(0, 5000), st.floats(1, 8), st.floats(0.5, 8))
def test_a_guyed_corner_balances(sideways: float, downward: float, height: float, reach: float) -> None:
    corner = hinged_guyed_post(sideways, downward, height, reach)
    slope = hypot(height, reach)
    assert corner.guy * reach / slope == pytest.approx(sideways)
    assert corner.compression == pytest.approx(downward + corner.uplift)
    assert corner.guy == pytest.approx(hypot(sideways, corner.uplift))
    assert hinged_guyed_post(sideways, downward, height, reach * 1.1).guy < corner.guy


stiffness = st.builds(Stiffness, st.floats(1e5, 1e7), st.floats(1e8, 1e9), st.floats(1e5, 1e8))


@given(forces, st.floats(0, 5000), st.floats(1, 8), st.floats(0.5, 8), stiffness)
def test_a_guy_takes_at_most_what_a_hinged_post_would_leave_it(
    sideways: float, downward: float, height: float, reach: float, gives: Stiffness
) -> None:
    shared = fixed_guyed_post(sideways, downward, height, reach, gives)
    alone = hinged_guyed_post(sideways, downward, height, reach)
    assert 0 <= shared.guy < alone.guy
    assert 0 < shared.moment <= base_moment(sideways, height) * (1 + 1e-12)
    assert 0 < shared.movement <= top_movement(sideways, height, height, gives.bending, 1.0) * (1 + 1e-12)
    # moments about the foot
    assert shared.moment + shared.guy * reach / hypot(height, reach) * height == pytest.approx(sideways * height)
    assert shared.compression == pytest.approx(downward + shared.uplift)


def test_a_guy_does_not_push() -> None:
    # A heavy pull down shortens the post more than the small pull sideways lengthens the guy.
    slack = fixed_guyed_post(1.0, 100_000.0, 4.0, 1.0, Stiffness(1e7, 1e6, 1e7))
    assert slack.guy == 0
    assert slack.moment == pytest.approx(4.0)
