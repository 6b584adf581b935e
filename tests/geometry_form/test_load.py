"""The sail under pressure: what the corners hold is what the wind brings, and a finer mesh says the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from estimator.geometry.form import Film, Loaded, film, loaded
from estimator.geometry.form_density import NAMES, NotSettled
from estimator.geometry.form_elastic import cloth_at, cloth_forces, principal
from estimator.geometry.form_mesh import fan
from tests.geometry_form.sails import Sail, random_sail

SQUARE = [(0.0, 0.0, 2.4), (5.0, 0.0, 3.6), (5.0, 5.0, 2.4), (0.0, 5.0, 3.6)]


def formed(sail: Sail, divisions: int = 14) -> Film:
    fixings = None if sail.fixings is None else sail.fixings.tolist()
    found = film(sail.corners.tolist(), sail.prestress, dips=sail.dips, fixings=fixings, divisions=divisions)
    assert isinstance(found, Film), found
    return found


def blown(sail: Sail, shape: Film) -> Loaded:
    found = loaded(shape, sail.pressure, sail.stiffness, sail.poisson, sail.edge_stiffness)
    assert isinstance(found, Loaded), found
    return found


def check_balance(seed: int) -> None:
    sail = random_sail(seed)
    shape = formed(sail)
    found = blown(sail, shape)
    size = float(np.linalg.norm(found.resultant))
    assert np.abs(found.forces.sum(axis=0) - found.resultant).max() <= 1e-6 * size
    # moments close as well: every triangle's load acts at its middle
    at = found.points[shape.mesh.triangles]
    area = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]) / 2
    upward = 1 if area[:, 2].sum() > 0 else -1
    load = np.cross(at.mean(axis=1), upward * sail.pressure * area).sum(axis=0)
    on = found.points[shape.mesh.corners] if sail.fixings is None else sail.fixings
    assert np.abs(np.cross(on, found.forces).sum(axis=0) - load).max() <= 1e-6 * size * float(np.abs(on).max())
    # of a push no more than a thousandth is left, which keeps slack cloth in its place
    assert found.stresses.min() >= -1e-3 * 0.2 * sail.stiffness / (1 - sail.poisson**2)
    assert found.resultant[2] * sail.pressure > 0
    assert found.lowest[2] <= found.highest[2]


@pytest.mark.parametrize("seed", range(20))
def test_corner_forces_add_up_to_the_pressure(seed: int) -> None:
    check_balance(seed)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(20, 320))
def test_corner_forces_add_up_to_the_pressure_for_many(seed: int) -> None:
    check_balance(seed)


@pytest.mark.parametrize("seed", [0, 1, 15])
def test_half_the_mesh_size_moves_corner_forces_by_under_2_percent(seed: int) -> None:
    sail = random_sail(seed)
    coarse, fine = (blown(sail, formed(sail, divisions)).forces for divisions in (14, 28))
    apart = np.linalg.norm(coarse - fine, axis=1)
    assert (apart <= 0.02 * np.linalg.norm(fine, axis=1)).all()


def test_without_wind_the_prestress_stays() -> None:
    shape = film(SQUARE, 1000.0)
    assert isinstance(shape, Film)
    found = loaded(shape, 0.0, 1e5)
    assert isinstance(found, Loaded)
    assert found.released == 0
    assert found.stresses == pytest.approx(1000, rel=0.25)  # nodes slide until the force within the cloth is even too
    assert np.median(found.stresses) == pytest.approx(1000, rel=5e-3)
    assert found.forces == pytest.approx(shape.forces, rel=2e-3)
    assert np.linalg.norm(found.points - shape.points, axis=1).max() < 2e-3


def test_wind_from_below_lifts_and_from_above_presses() -> None:
    shape = film([(0, 0, 3), (5, 0, 3), (5, 5, 3), (0, 5, 3)], 1000.0)
    assert isinstance(shape, Film)
    up, down = loaded(shape, 400.0, 1e5), loaded(shape, -400.0, 1e5)
    assert isinstance(up, Loaded)
    assert isinstance(down, Loaded)
    assert up.highest[2] - 3 == pytest.approx(3 - down.lowest[2], rel=1e-6)
    assert up.highest[2] > 3.2
    assert up.forces[:, 2] == pytest.approx(-down.forces[:, 2], rel=1e-6)
    assert (up.forces[:, 2] > 0).all()


def test_a_sail_given_the_other_way_round_is_the_same() -> None:
    one, two = film(SQUARE, 800.0), film(SQUARE[::-1], 800.0)
    assert isinstance(one, Film)
    assert isinstance(two, Film)
    a, b = loaded(one, 300.0, 1e5), loaded(two, 300.0, 1e5)
    assert isinstance(a, Loaded)
    assert isinstance(b, Loaded)
    assert a.forces == pytest.approx(b.forces[::-1], rel=1e-6)


def test_a_warm_start_comes_to_the_same_rest() -> None:
    sail = replace(random_sail(1), pressure=300.0)
    shape = formed(sail)
    half = loaded(shape, 150.0, sail.stiffness, sail.poisson, sail.edge_stiffness)
    assert isinstance(half, Loaded)
    cold = blown(sail, shape)
    warm = loaded(shape, 300.0, sail.stiffness, sail.poisson, sail.edge_stiffness, start=half)
    assert isinstance(warm, Loaded)
    assert warm.forces == pytest.approx(cold.forces, rel=1e-5, abs=1e-3)


def test_links_keep_their_length_and_lie_in_line_with_the_pull() -> None:
    sail = next(s for s in map(random_sail, range(3, 40)) if s.fixings is not None and len(s.corners) == 8)
    shape = formed(sail)
    assert sail.fixings is not None
    link = shape.corners - sail.fixings
    length = np.linalg.norm(link, axis=1)
    assert length == pytest.approx(np.linalg.norm(sail.corners - sail.fixings, axis=1), rel=1e-5)
    unit = shape.forces / np.linalg.norm(shape.forces, axis=1)[:, None]
    assert np.linalg.norm(link / length[:, None] - unit, axis=1).max() < 1e-4
    found = blown(sail, shape)
    under_load = found.points[shape.mesh.corners] - sail.fixings
    across = np.cross(under_load, found.forces) / np.linalg.norm(found.forces, axis=1)[:, None]
    assert np.abs(across).max() < 1e-6  # a link passes on no more than the pull along it


def test_a_film_begun_from_one_that_is_near() -> None:
    near = film(SQUARE, 1000.0)
    assert isinstance(near, Film)
    moved = [*SQUARE[:3], (-0.1, 5.1, 3.8)]
    warm, cold = film(moved, 1000.0, start=near), film(moved, 1000.0)
    assert isinstance(warm, Film)
    assert isinstance(cold, Film)
    assert warm.corners == pytest.approx(np.array(moved), abs=1e-12)
    assert warm.area == pytest.approx(cold.area, rel=1e-3)
    assert warm.forces == pytest.approx(cold.forces, rel=5e-3, abs=20)
    other = film(moved, 1000.0, start=near, divisions=8)  # another mesh: begun afresh
    assert isinstance(other, Film)
    assert len(other.mesh.segments) == 32


def test_the_area_of_a_film_is_less_than_that_of_its_straight_sides() -> None:
    shape = film(SQUARE, 1000.0)
    assert isinstance(shape, Film)
    assert 0.7 * 25.4737449 < shape.area < 25.4737449  # the bilinear patch on straight sides; mathematics


@pytest.mark.parametrize(
    ("given", "stress"),
    [
        ((2e-3, 1e-3), (1e5 / 0.91 * 2.3e-3, 1e5 / 0.91 * 1.6e-3)),  # taut both ways: plane stress
        ((2e-3, -1e-3), (200.0, 0.0)),  # would be pushed one way: pulls the other way only
        ((-1e-3, -2e-3), (0.0, 0.0)),  # slack
    ],
)
def test_cloth_is_never_pushed(given: tuple[float, float], stress: tuple[float, float]) -> None:
    found = principal(np.array([given]), 1e5, 0.3)[0][0]
    assert found == pytest.approx(np.array(stress), rel=2e-3, abs=1e-3 * 1e5 / 0.91 * 2.6e-3)


def test_even_stretch_of_one_triangle() -> None:
    # stretched by 1 % every way: Green's strain 0.01005, stress E t e / (1 - nu)
    points = np.array([[0.0, 0, 0], [2, 0, 1], [0.5, 1.5, 0]])
    cloth = cloth_at(points, np.array([[0, 1, 2]]), 500.0, 1e5, 0.3)
    assert cloth_forces(cloth, points)[2] == pytest.approx(np.full((1, 2), 500.0))
    assert cloth_forces(cloth, 1.01 * points)[2] == pytest.approx(np.full((1, 2), 500 + 1e5 * 0.01005 / 0.7))


def test_turning_a_triangle_does_not_stress_it() -> None:
    points = np.array([[0.0, 0, 0], [2, 0, 1], [0.5, 1.5, 0]])
    cloth = cloth_at(points, np.array([[0, 1, 2]]), 500.0, 1e5, 0.3)
    turn = np.array([[0.0, -1, 0], [0, 0, -1], [1, 0, 0]])
    assert cloth_forces(cloth, points @ turn.T + 7)[2] == pytest.approx(np.full((1, 2), 500.0))


def test_an_upright_sail_bears_to_the_side_its_corners_run_counter_clockwise_on() -> None:
    shape = film([(0, 0, 0), (5, 0, 0), (5, 0, 5), (0, 0, 5)], 1000.0)
    assert isinstance(shape, Film)
    found = loaded(shape, 300.0, 1e5)
    assert isinstance(found, Loaded)
    assert found.forces.sum(axis=0) == pytest.approx((0, -300 * shape.area, 0), rel=1e-2, abs=1e-3)


def test_a_shape_that_does_not_come_to_rest_is_said() -> None:
    sliver = film([(0, 0, 0), (10, 0, 0), (10, 0.3, 0), (0, 0.3, 0)], 1000.0)  # its long edges would cross
    assert isinstance(sliver, NotSettled)
    assert sliver.name == "film"
    assert sliver.residual > 1
    assert sliver.steps > 0


def test_refusals_have_names() -> None:
    def name(found: Film | Loaded | NotSettled) -> str:
        assert isinstance(found, NotSettled)
        assert found.name in NAMES
        return found.name

    assert name(film(SQUARE[:2], 1000.0)) == "not so many corners"
    assert name(film([(0, 0), (5, 0), (5, 5), (0, 5), (1, 1), (2, 2)], 1000.0)) == "not so many corners"
    assert name(film(SQUARE, 1000.0, fixings=SQUARE)) == "not a number"  # links of no length
    assert name(film([SQUARE[0], *SQUARE], 1000.0)) == "not a number"  # two corners in one place
    assert name(film([(0, 0, 0), (5, 0, 0), (1.5, 1.5, 0), (0, 5, 0)], 1000.0)) == "edges meet"
    assert name(film(SQUARE, 1000.0, dips=[0.5])) == "not so many corners"
    assert name(film(SQUARE, float("nan"))) == "not a number"
    assert name(film(SQUARE, 1000.0, dips=[0.5, 0.5, 0.0, 0.5])) == "not a number"
    assert name(film(SQUARE, 1000.0, pulls=[1000.0] * 4)) == "edges meet"  # radius under half the chord
    assert name(film([(0, 0, 0), (5, 0, 0), (5, 1, 0)], 1000.0)) == "edges meet"
    shape = film(SQUARE, 1000.0)
    assert isinstance(shape, Film)
    assert name(loaded(shape, float("inf"), 1e5)) == "not a number"
    assert name(loaded(shape, 100.0, 0.0)) == "not a number"


@pytest.mark.parametrize("corners", range(3, 9))
def test_mesh_covers_a_ring_once(corners: int) -> None:
    mesh = fan(corners, 4)
    sides = np.sort(mesh.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    _, times = np.unique(sides, axis=0, return_counts=True)
    assert (times == 1).sum() == corners * 4  # the rim
    assert times.max() == 2
    assert mesh.count - len(times) + len(mesh.triangles) == 1  # Euler: one piece without a hole
