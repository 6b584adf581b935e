"""Form against answers that are not ours: statics and minimal surfaces in print, recomputed from their formulas."""

from __future__ import annotations

from collections.abc import Callable
from math import log, pi

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ellipk

from estimator.geometry.edges import edge_radius
from estimator.geometry.form import Film, film
from estimator.geometry.form_curves import catenary, catenary_of_length, catenary_of_sag, parabola
from estimator.geometry.form_density import NotSettled, force_density
from estimator.geometry.form_elastic import Ropes, cloth_at
from estimator.geometry.form_film import NO_PAIRS, NOTHING, minimal, spanned
from estimator.geometry.form_load import settled
from estimator.geometry.form_mesh import fan, grid

Array = NDArray[np.float64]
Patch = Callable[[Array], Array]


# Parabola, H = w L2 / (8 s) and its length in closed form; textbook statics (cables under a load even along the
# span), values recomputed from the formulas.
@pytest.mark.parametrize(
    ("w", "span", "sag", "level", "most", "length"),
    [
        (1, 10, 1, 12.5, 13.462912, 10.260606),
        (1, 10, 0.5, 25, 25.495098, 10.066272),
        (0.5, 6, 0.6, 3.75, 4.038874, 6.156364),
        (2, 8, 0.8, 20, 21.540659, 8.208485),
        (1, 50, 10, 31.25, 40.019526, 54.911504),
    ],
)
def test_parabola(w: float, span: float, sag: float, level: float, most: float, length: float) -> None:
    found = parabola(w, span, sag)
    assert found.level == pytest.approx(level, rel=1e-9)
    assert found.upright == pytest.approx(w * span / 2, rel=1e-9)
    assert found.most == pytest.approx(most, abs=6e-7)
    assert found.length == pytest.approx(length, abs=6e-7)


def test_length_of_a_parabola_by_integration() -> None:
    # mathematics: the integral of sqrt(1 + y'2), y = 4 s x (L - x) / L2, by 60 Gauss points
    at, weight = np.polynomial.legendre.leggauss(60)
    slope = 4 * 0.1 * at
    assert parabola(3, 10, 1).length == pytest.approx(5 * float(weight @ np.sqrt(1 + slope**2)), rel=1e-9)


# Catenary y = a cosh(x / a); mathematics, recomputed.
@pytest.mark.parametrize(
    ("a", "span", "sag", "length", "share"),
    [
        (100, 100, 12.762597, 104.219061, 1.12762597),
        (1, 2, 0.543080635, 2.350402387, 1.543080635),
        (50, 40, 4.053619, 41.075233, 1.081072),
    ],
)
def test_catenary(a: float, span: float, sag: float, length: float, share: float) -> None:
    found = catenary(2, span, a)
    assert found.sag == pytest.approx(sag, abs=6e-7)
    assert found.length == pytest.approx(length, abs=6e-7)
    assert found.most / found.level == pytest.approx(share, abs=6e-7)
    assert found.level == pytest.approx(2 * a, rel=1e-12)


def test_catenary_found_from_length_and_from_sag() -> None:
    # span 10, length 10.5: a 9.196396, sag 1.393042; sag a tenth of the span: a / L 1.266324. Mathematics
    a = catenary_of_length(10, 10.5)
    assert a == pytest.approx(9.196396, abs=6e-7)
    assert catenary(1, 10, a).sag == pytest.approx(1.393042, abs=6e-7)
    assert catenary_of_sag(1, 0.1) == pytest.approx(1.266324, abs=6e-7)


def test_chain_of_even_force_densities() -> None:
    # sag at the middle = P n2 / (8 q): n 8, q 4, P 1 gives 2 exactly. Mathematics
    points = np.zeros((9, 3))
    points[8, 0] = 8
    held = np.array([True, *[False] * 7, True])
    pairs = np.stack([np.arange(8), np.arange(1, 9)], axis=1)
    loads = np.tile([0.0, 0, -1], (9, 1))
    found = force_density(points, pairs, np.full(8, 4.0), held, loads)
    assert not isinstance(found, NotSettled)
    assert found[4, 2] == pytest.approx(-2, abs=1e-9)
    at = np.arange(9)
    assert found[:, 2] == pytest.approx(-at * (8 - at) / 8, abs=1e-9)  # a parabola through the nodes
    assert found[:, 0] == pytest.approx(at, abs=1e-9)


def test_square_net_on_a_skew_quadrilateral_is_bilinear() -> None:
    # z = x y is harmonic on the net as well, so the inner nodes lie on the bilinear patch. Mathematics
    n = 9
    uv = grid(n)[0]
    corners = np.array([[0.0, 0, 2.4], [5, 0.5, 4.0], [5.5, 4, 2.4], [-0.3, 4.2, 3.2]])
    patch = bilinear(corners)(uv)
    number = np.arange((n + 1) ** 2).reshape(n + 1, n + 1)
    pairs = [
        np.stack([a.ravel(), b.ravel()], 1) for a, b in ((number[:-1], number[1:]), (number[:, :-1], number[:, 1:]))
    ]
    branches = np.concatenate(pairs)
    rim = grid(n)[2]
    found = force_density(np.where(rim[:, None], patch, 0.0), branches, np.full(len(branches), 7.0), rim)
    assert not isinstance(found, NotSettled)
    assert np.abs(found - patch).max() < 1e-9


def test_a_net_with_nothing_to_hold_it_is_refused() -> None:
    found = force_density(np.zeros((3, 3)), np.array([[0, 1]]), np.ones(1), np.array([True, False, False]))
    assert isinstance(found, NotSettled)
    assert found.name == "singular"


def bilinear(corners: Array) -> Patch:
    def at(uv: Array) -> Array:
        u, v = uv[:, :1], uv[:, 1:]
        one, two = (1 - u) * corners[0] + u * corners[1], (1 - u) * corners[3] + u * corners[2]
        return np.asarray((1 - v) * one + v * two)

    return at


def least(patch: Patch, n: int) -> tuple[Array, float]:
    """The minimal surface over the rim of a patch, n elements a side; the inside is told nothing."""
    uv, triangles, rim = grid(n)
    found = minimal(np.where(rim[:, None], patch(uv), 0.0), triangles, rim)
    assert not isinstance(found, NotSettled), found
    return found


# Four edges of a regular tetrahedron of edge 1: the patch of H. A. Schwarz's D surface, area K'(m = 3/4) / (2 K(m =
# 1/4)) with complete elliptic integrals; mathematics, 0.6396307856.
TETRAHEDRON = bilinear(np.array([[0.0, 0, 0], [1, 0, 1], [1, 1, 0], [0, 1, 1]]) / 2**0.5)
SCHWARZ = 0.6396307856


# Scherk's surface z = ln(cos y / cos x) over a square of half side a; mathematics, areas by integration.
def scherk(a: float) -> Patch:
    def at(uv: Array) -> Array:
        x, y = a * (2 * uv - 1).T
        return np.stack([x, y, np.log(np.cos(y) / np.cos(x))], axis=1)

    return at


# Catenoid between rings of radius 1, h apart, r = c cosh(z / c); a quarter of it, held along its meridians too.
def catenoid(height: float, c: float) -> Patch:
    def at(uv: Array) -> Array:
        turn, z = pi / 2 * uv[:, 0], height * (uv[:, 1] - 0.5)
        r = c * np.cosh(z / c)
        return np.stack([r * np.cos(turn), r * np.sin(turn), z], axis=1)

    return at


MINIMAL = {
    "Schwarz": (TETRAHEDRON, SCHWARZ),
    "Scherk 0.5": (scherk(0.5), 1.0872459638),
    "Scherk pi/4": (scherk(pi / 4), 3.0448248192),
    "Scherk 1": (scherk(1.0), 5.6975122116),
    "catenoid 0.5": (catenoid(0.5, 0.9675209), 3.1081124 / 4),
    "catenoid 1": (catenoid(1.0, 0.8483379), 5.9917970 / 4),
    "catenoid 1.2": (catenoid(1.2, 0.7450711), 6.9996426 / 4),
}


def test_area_of_the_schwarz_patch_is_what_the_integrals_say() -> None:
    assert 0.5 * ellipk(0.75) / ellipk(0.25) == pytest.approx(SCHWARZ, abs=1e-10)


@pytest.mark.parametrize("name", MINIMAL)
def test_minimal_area_at_second_order(name: str) -> None:
    patch, area = MINIMAL[name]
    off = [abs(least(patch, n)[1] / area - 1) for n in (8, 16, 32)]
    assert off[2] < 5e-4
    assert 3.4 < off[0] / off[1] < 4.8
    assert 3.4 < off[1] / off[2] < 4.8


@pytest.mark.long
@pytest.mark.parametrize("name", MINIMAL)
def test_minimal_area_with_64_a_side(name: str) -> None:
    patch, area = MINIMAL[name]
    assert least(patch, 64)[1] == pytest.approx(area, rel=1e-4)


def test_heights_of_the_schwarz_patch() -> None:
    # the middle by symmetry 0.353553; mathematics
    points = least(TETRAHEDRON, 32)[0]
    assert points[33 * 16 + 16, 2] == pytest.approx(0.353553, abs=1e-6)


@pytest.mark.parametrize("a", [0.5, pi / 4, 1.0])
def test_heights_of_the_scherk_surface(a: float) -> None:
    points = least(scherk(a), 32)[0]
    x, y, z = points.T
    assert z.max() == pytest.approx(-log(np.cos(a)), abs=1e-6)
    assert np.abs(z - np.log(np.cos(y) / np.cos(x))).max() < 1e-3 * z.max()


def test_neck_of_a_catenoid() -> None:
    points = least(catenoid(1.0, 0.8483379), 32)[0]
    inside = np.hypot(points[:, 0], points[:, 1])
    assert inside.min() == pytest.approx(0.8483379, rel=1e-3)


# Edge under even stress: an arc of radius T / stress. Square of 5 m, hollow 10 %, 1 kN/m: T 6.5 kN, angle between the
# edges 44.7603 degrees, corner pull 2 T cos(22.3801) = 12.0208 kN; mathematics (balance of the edge).
def test_edges_of_a_flat_film_are_arcs_and_the_corner_pull_closes() -> None:
    square = [(0.0, 0.0, 3.0), (5.0, 0.0, 3.0), (5.0, 5.0, 3.0), (0.0, 5.0, 3.0)]
    found = film(square, 1000.0, pulls=[6500.0] * 4, divisions=14)
    assert isinstance(found, Film)
    assert np.linalg.norm(found.forces, axis=1) == pytest.approx(12020.8, rel=1e-3)
    assert np.abs(found.forces.sum(axis=0)).max() < 1e-3
    for nodes in found.mesh.edges:
        edge = found.points[nodes]
        middle = (edge[0] + edge[-1]) / 2
        dip = float(np.linalg.norm(edge[7] - middle))
        assert dip == pytest.approx(0.5, rel=1e-3)
        inward = (edge[7] - middle) / dip
        centre = middle - inward * (6.5 - 0.5)  # outside the sail, one radius from the edge
        assert np.linalg.norm(edge - centre, axis=1) == pytest.approx(6.5, rel=1e-3)
    # across the middle: stress x (L - 2 f) + 2 T = 4 + 13 = 17 kN is what two corners pull along the square
    assert found.forces[found.corners[:, 0] < 2.5, 0].sum() == pytest.approx(17000, rel=1e-3)


@pytest.mark.parametrize("share", [0.05, 0.08, 0.10, 0.12])
def test_dip_asked_for_is_the_dip_found(share: float) -> None:
    square = [(0.0, 0.0, 3.0), (6.0, 0.0, 3.0), (6.0, 6.0, 3.0), (0.0, 6.0, 3.0)]
    found = film(square, 1000.0, dips=[6 * share] * 4, divisions=14)
    assert isinstance(found, Film)
    assert found.pulls == pytest.approx(1000 * edge_radius(6, 6 * share))
    assert found.points[found.mesh.edges[0, 7], 1] == pytest.approx(6 * share, rel=2e-3)


# Round membrane held at its rim, without prestress, under even pressure: middle 0.6531 a (p a / (E t))^(1/3) for
# Poisson 0.3. H. Hencky's series (1915) with b0 = 1.7244, its coefficients from memory, summed here.
def test_round_membrane_under_pressure() -> None:
    b = 1.7244
    terms = (1 / b, 1 / (2 * b**4), 5 / (9 * b**7), 55 / (72 * b**10), 7 / (6 * b**13), 205 / (108 * b**16))
    assert sum(terms) == pytest.approx(0.6532, abs=3e-4)
    radius, stiffness, pressure = 2.0, 1e6, 100.0
    mesh = fan(8, 16)
    turn = np.arange(8) * pi / 4
    corners = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=1)
    rim = np.zeros((mesh.count, 3))
    held = np.zeros(mesh.count, dtype=bool)
    for at, nodes in enumerate(mesh.edges):
        way = at * pi / 4 + np.linspace(0, pi / 4, 17)
        rim[nodes] = radius * np.stack([np.cos(way), np.sin(way), 0 * way], axis=1)
        held[nodes] = True
    assert np.abs(rim[mesh.corners] - radius * corners).max() < 1e-12
    flat = spanned(rim, mesh.triangles, held)
    assert not isinstance(flat, NotSettled)
    cloth = cloth_at(flat, mesh.triangles, 1.0, stiffness, 0.3)
    none = Ropes(NO_PAIRS, NOTHING, NOTHING, NOTHING)
    found = settled(cloth, none, none, flat, held, pressure)
    assert not isinstance(found, NotSettled), found
    middle = radius * (pressure * radius / stiffness) ** (1 / 3) * 0.6531
    assert found[0][:, 2].max() == pytest.approx(middle, rel=5e-3)
