"""The post formulas against an independent structural library (stiffness method, three dimensions)."""

from __future__ import annotations

from math import hypot

import pytest
from Pynite import FEModel3D

from estimator.geometry.post_bending import (
    Stiffness,
    base_moment,
    fixed_guyed_post,
    hinged_guyed_post,
    top_movement,
)
from estimator.geometry.sections import Section, cold_formed_radii, round_tube, square_tube

STEEL = 200e9
GUY_AREA = 50e-6
CLOSE = 0.005  # half a percent

POSTS = [
    (round_tube(0.1143, 0.005), 2.7, 0.3, 3200.0, 600.0, 1.8),
    (round_tube(0.1683, 0.005), 4.5, 0.0, 9000.0, 2500.0, 2.5),
    (square_tube(0.1, 0.1, 0.005, cold_formed_radii(0.005)), 3.0, 0.125, 5000.0, 0.0, 3.0),
    (square_tube(0.075, 0.075, 0.004, cold_formed_radii(0.004)), 2.4, 0.1, 1500.0, 400.0, 0.9),
]


def frame(post: Section, height: float, beyond: float, fixed: bool, guy_reach: float | None) -> FEModel3D:
    """A post along Y, pulled along X; the guy runs to the ground behind it."""
    model = FEModel3D()
    model.add_material("steel", STEEL, STEEL / 2.6, 0.3, 7850)
    model.add_section("post", post.area, post.inertia, post.inertia, 2 * post.inertia)
    model.add_section("guy", GUY_AREA, 1e-9, 1e-9, 2e-9)
    model.add_node("foot", 0, 0, 0)
    model.add_node("fixing", 0, height, 0)
    model.add_member("post", "foot", "fixing", "steel", "post")
    model.def_support("foot", True, True, True, True, True, fixed)
    if beyond:
        model.add_node("top", 0, height + beyond, 0)
        model.add_member("above", "fixing", "top", "steel", "post")
    if guy_reach is not None:
        model.add_node("anchor", -guy_reach, 0, 0)
        model.add_member("guy", "fixing", "anchor", "steel", "guy")
        model.def_releases("guy", Ryi=True, Rzi=True, Ryj=True, Rzj=True)
        model.def_support("anchor", True, True, True, True, True, True)
        # holds the hinged corner in its own plane
        model.def_support("fixing", support_DZ=True, support_RX=True, support_RY=True)
    return model


def pull(model: FEModel3D, sideways: float, downward: float) -> None:
    model.add_node_load("fixing", "FX", sideways)
    model.add_node_load("fixing", "FY", -downward)
    model.analyze()


@pytest.mark.parametrize(("post", "height", "beyond", "sideways", "downward", "reach"), POSTS)
def test_cantilever_post(
    post: Section, height: float, beyond: float, sideways: float, downward: float, reach: float
) -> None:
    model = frame(post, height, beyond, True, None)
    pull(model, sideways, downward)
    name = "top" if beyond else "fixing"
    moved = model.nodes[name].DX["Combo 1"]
    assert top_movement(sideways, height, height + beyond, STEEL, post.inertia) == pytest.approx(moved, rel=CLOSE)
    at_foot = abs(model.nodes["foot"].RxnMZ["Combo 1"])
    assert base_moment(sideways, height) == pytest.approx(at_foot, rel=CLOSE)
    assert at_foot > 0


@pytest.mark.parametrize(("post", "height", "beyond", "sideways", "downward", "reach"), POSTS)
def test_hinged_guyed_corner(
    post: Section, height: float, beyond: float, sideways: float, downward: float, reach: float
) -> None:
    model = frame(post, height, 0.0, False, reach)
    pull(model, sideways, downward)
    corner = hinged_guyed_post(sideways, downward, height, reach)
    across, up = (model.nodes["anchor"].RxnFX["Combo 1"], model.nodes["anchor"].RxnFY["Combo 1"])
    assert corner.guy == pytest.approx(hypot(across, up), rel=CLOSE)
    assert corner.uplift == pytest.approx(-up, rel=CLOSE)
    assert corner.compression == pytest.approx(model.nodes["foot"].RxnFY["Combo 1"], rel=CLOSE)


@pytest.mark.parametrize(("post", "height", "beyond", "sideways", "downward", "reach"), POSTS)
def test_fixed_guyed_corner(
    post: Section, height: float, beyond: float, sideways: float, downward: float, reach: float
) -> None:
    model = frame(post, height, 0.0, True, reach)
    pull(model, sideways, downward)
    gives = Stiffness(STEEL * post.inertia, STEEL * post.area, STEEL * GUY_AREA)
    corner = fixed_guyed_post(sideways, downward, height, reach, gives)
    across, up = (model.nodes["anchor"].RxnFX["Combo 1"], model.nodes["anchor"].RxnFY["Combo 1"])
    assert corner.guy == pytest.approx(hypot(across, up), rel=CLOSE)
    assert corner.compression == pytest.approx(model.nodes["foot"].RxnFY["Combo 1"], rel=CLOSE)
    assert corner.moment == pytest.approx(abs(model.nodes["foot"].RxnMZ["Combo 1"]), rel=CLOSE)
    assert corner.movement == pytest.approx(model.nodes["fixing"].DX["Combo 1"], rel=CLOSE)
