"""Pulls of two sails on a leaning post, brought to its foot, against an independent structural library."""

from __future__ import annotations

from math import hypot, radians, tan

import pytest
from Pynite import FEModel3D

from estimator.screening.posts import at_ground
from estimator.takeoff.model import Point, Post

CLOSE = 0.005  # half a percent

CASES = [
    (0.0, {("1", "A"): (4000.0, 2500.0, 900.0)}),
    (5.0, {("1", "A"): (4000.0, -2500.0, 1900.0), ("2", "B"): (-1500.0, -3000.0, -400.0)}),
    (10.0, {("1", "A"): (900.0, 6000.0, -2500.0), ("2", "A"): (3000.0, 1000.0, 700.0)}),
]


@pytest.mark.parametrize(("lean", "pulls"), CASES)
def test_moment_and_pulls_at_the_foot(lean: float, pulls: dict[tuple[str, str], tuple[float, float, float]]) -> None:
    heights = {"A": 3.4, "B": 2.2}
    away = tan(radians(lean))  # the post leans back along Across
    points = {n: Point(n, "new post", -away * h, 0.0, h, 0.0, "A") for n, h in heights.items()}
    post = Post("A", ("A", "B"), "SHS-100", 0.1, 3.5, 1.2, 4.8, 5.0, lean, 0.0, 0.0, (1.0, 0.0), False, "")
    found = at_ground(pulls, points, post, 0.0)

    model = FEModel3D()
    model.add_material("steel", 200e9, 77e9, 0.3, 7850)
    model.add_section("post", 18e-4, 270e-8, 270e-8, 540e-8)
    # their Y is up: Across, up, and Out the other way round
    model.add_node("foot", 0, 0, 0)
    model.add_node("B", -away * 2.2, 2.2, 0)
    model.add_node("A", -away * 3.4, 3.4, 0)
    model.add_member("lower", "foot", "B", "steel", "post")
    model.add_member("upper", "B", "A", "steel", "post")
    model.def_support("foot", True, True, True, True, True, True)
    for (_, name), (across, out, up) in pulls.items():
        model.add_node_load(name, "FX", across)
        model.add_node_load(name, "FY", up)
        model.add_node_load(name, "FZ", -out)
    model.analyze()
    foot = model.nodes["foot"]
    moment = hypot(foot.RxnMX["Combo 1"], foot.RxnMZ["Combo 1"])
    assert found.moment == pytest.approx(moment, rel=CLOSE)
    assert found.sideways == pytest.approx(hypot(foot.RxnFX["Combo 1"], foot.RxnFZ["Combo 1"]), rel=CLOSE)
    assert found.upward == pytest.approx(-foot.RxnFY["Combo 1"], rel=CLOSE)
    assert found.arm == pytest.approx(moment / found.sideways, rel=CLOSE)
