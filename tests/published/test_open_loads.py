"""Real situations about loads, each asked in public by somebody who does this work; figures are our own arithmetic
from the numbers given there, unless a source is named. Numbers for a decision, never an approval."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.geometry.fasteners import GRAVITY, INCH, POUND_FORCE, withdrawal
from estimator.geometry.post_bending import base_moment, bending_stress, top_movement
from estimator.geometry.sections import round_tube
from estimator.geometry.wind import from_metres_per_second, pressure, to_metres_per_second
from tests.build import fixing
from tests.screening.yards import posts, priced, screened

STEEL = 200e9  # Pa, as the figures of the case have it


# S1: is an 89 mm tube enough? A sail maker says 0.5 kN of pretension at 3.0 m, up to ten times that in wind.
@pytest.mark.parametrize(
    ("outer", "wall", "force", "moment", "stress", "movement"),
    [
        (0.0889, 0.005, 5000, 15_000, 573e6, 0.193),
        (0.0889, 0.005, 500, 1_500, 57.3e6, 0.0193),
        (0.070, 0.002, 500, 1_500, 212e6, 0.091),
    ],
)
def test_a_thin_tube(outer: float, wall: float, force: float, moment: float, stress: float, movement: float) -> None:
    tube = round_tube(outer, wall)
    assert base_moment(force, 3.0) == moment
    assert bending_stress(moment, tube.modulus) == pytest.approx(stress, rel=3e-3)
    assert top_movement(force, 3.0, 3.0, STEEL, tube.inertia) == pytest.approx(movement, rel=8e-3)


def test_that_tube_under_a_sail_needs_an_engineer_with_its_numbers(tmp_path: Path) -> None:
    job = priced(tmp_path, posts("CHS-089", 0.6, 1.2))
    found = job.options[0].screened
    assert found is not None
    bent = max((c for c in found.checks if "CHS-089" in c.part and c.unit == "Pa"), key=lambda c: c.used or 0)
    assert (bent.used or 0) > 1
    said = [p.message for p in job.problems if p.code in ("used-up-in-wind", "used-up-at-rest")]
    assert said
    assert "ngineer" in said[0]
    assert not any(" ok" in p.message.casefold() for p in job.problems)


# S2: two rafters and two trees: what the trees hold is never screened; the roof sets the limit of what is known.
def test_trees_are_never_screened_as_holding(tmp_path: Path) -> None:
    heights = ((0, 0, 2.6, "rafter"), (6.1, 0, 2.6, "rafter"), (6.1, 4.9, 3.05, "tree"), (0, 4.9, 3.05, "tree"))
    points = [fixing(n, x, y, z, held) for n, (x, y, z, held) in zip("ABCD", heights, strict=True)]
    option = screened(tmp_path, points)
    found = option.screened
    assert option.status == "provisional"
    assert found is not None
    trees = [c for c in found.checks if c.part == "tree"]
    assert [c.capacity for c in trees] == [None, None]
    assert all(c.demand > 0 for c in trees)  # the arborist wants to know what pulls
    assert found.take_down is not None
    assert "tree" not in f"{found.take_down.first} {found.take_down.second}"
    assert sum("tree" in words for words in found.unknown) == 2


# S3: screws into a rafter end. Source of the values: NDS equation 12.2-1, lag screws; end grain three quarters.
def test_screws_into_a_rafter_end() -> None:
    each = withdrawal(0.43, 3 / 8 * INCH) * INCH / POUND_FORCE
    assert each == pytest.approx(243, abs=0.5)
    in_end_grain = withdrawal(0.43, 3 / 8 * INCH, end_grain=True) * 2 * INCH
    assert in_end_grain / POUND_FORCE == pytest.approx(365, abs=1)
    assert in_end_grain == pytest.approx(1_600, abs=30)
    assert in_end_grain < 2_500  # the least corner force that people screen with


def one_screw(rows: list[dict[str, str]]) -> None:
    for r in rows:
        if r["support"] in ("rafter", "rafter end"):
            r.update({"screws": "1", "screw diameter (mm)": str(3 / 8 * 25.4), "thread in wood (mm)": "50.8"})


def test_a_rafter_end_is_flagged_and_the_way_out_is_named(tmp_path: Path) -> None:
    found = {}
    for held in ("rafter", "rafter end"):
        folder = tmp_path / held
        folder.mkdir()
        points = [*posts()[:3], fixing("D", 0, 6, 3.4, held)]
        job = priced(folder, points, changes={"supports": one_screw})
        screen = job.options[0].screened
        assert screen is not None
        found[held] = next(c for c in screen.checks if c.kind == "support")
    side, end = found["rafter"], found["rafter end"]
    assert side.capacity is not None
    assert end.capacity == pytest.approx(0.75 * side.capacity)
    assert end.capacity == pytest.approx(1_625, abs=30)
    assert (end.used or 0) > 1
    assert "end grain" in end.working
    assert "top or the side of the rafter" in job.book.supports["rafter end"].note


def test_a_fascia_alone_is_refused(tmp_path: Path) -> None:
    job = priced(tmp_path, [*posts()[:3], fixing("D", 0, 6, 3.4, "fascia only")])
    assert job.options[0].status == "not priced"
    said = [p.message for p in job.problems if p.code == "support-not-priced"]
    assert "fascia bracket" in said[0]


# S6: can it hang from the gutter? 750 N for the strongest class of gutter brackets against 2.5 to 5 kN a point.
def test_a_gutter_is_three_to_seven_times_short(tmp_path: Path) -> None:
    assert [force / 750 for force in (2_500, 5_000)] == pytest.approx([3.3, 6.7], abs=0.05)
    job = priced(tmp_path, [*posts()[:3], fixing("D", 0, 6, 3.4, "gutter")])
    option = job.options[0]
    assert option.status == "not priced"
    assert option.screened is not None
    check = next(c for c in option.screened.checks if c.kind == "support")
    assert check.capacity == 750
    assert (check.used or 0) > 3
    assert any("bracket on the rafters" in p.message for p in job.problems)


# S10: a load split that looks right: 300 sq ft at 20 psf over three posts; the edge pulls almost level.
def test_sideways_is_never_taken_for_the_upward_share(tmp_path: Path) -> None:
    upward = 300 * 20 / 3
    assert upward == 2_000  # pounds a post
    found = screened(tmp_path).screened
    assert found is not None
    for f in found.forces:
        level = (f.up[0] ** 2 + f.up[1] ** 2) ** 0.5
        assert level > 1.5 * abs(f.up[2])


def test_the_rule_of_thumb_for_sideways_pull_stands_in_the_book(tmp_path: Path) -> None:
    """Source: an engineer's answer in public, 3 to 5 times the upward share; 6,000 to 10,000 lb a post there."""
    book = priced(tmp_path).book
    low, high = book.known("sideways over upward low"), book.known("sideways over upward high")
    assert (low, high) == (3, 5)
    assert (low * 2_000, high * 2_000) == (6_000, 10_000)  # type: ignore[operator]


# W3: take down at "90": which 90? A speed has a unit, and the pressures are 2.6 times apart.
def test_ninety_of_what(tmp_path: Path) -> None:
    slow, fast = to_metres_per_second(90, "km/h"), to_metres_per_second(90, "mph")
    assert slow == pytest.approx(25.0, abs=0.05)
    assert fast == pytest.approx(40.2, abs=0.05)
    assert pressure(fast) / pressure(slow) == pytest.approx(2.6, abs=0.02)
    assert from_metres_per_second(fast, "mph") == pytest.approx(90)
    job = priced(tmp_path, site={"Wind speed": 90})
    assert "unit-needed" in {p.code for p in job.problems}
    assert job.options[0].status == "not priced"


# Corner forces that people told: half a kilonewton of pretension, 2.5 to 5 kN a point in wind (factor 10 apart).
def test_corner_forces_lie_where_people_put_them(tmp_path: Path) -> None:
    """Common practice, no source: a 5 m square hung by hand pulls 0.3 to 1.5 kN in still air, and 2 to 8 kN a corner
    in a gust of 15 m/s."""
    places = ((0, 0, 2.4), (5.6, 0, 3.2), (5.6, 5.6, 2.4), (0, 5.6, 3.2))
    points = [
        fixing(n, *at, Post="CHS-168", **{"Hole (m)": 0.7, "Depth (m)": 2})
        for n, at in zip("ABCD", places, strict=True)
    ]
    found = screened(tmp_path, points, {"Wind speed": "15 m/s"}, Cloth="KNIT-LIGHT").screened
    assert found is not None
    for f in found.forces:
        still = sum(v * v for v in f.rest) ** 0.5
        assert 300 < still < 1_500
    assert 2_000 < max(f.greatest for f in found.forces) < 8_000


# F5.7: DIN 580 has 340 kg along the shank of an M12 eye and 240 kg at 45 degrees to it.
def test_an_eye_is_rated_by_the_angle_of_its_pull(tmp_path: Path) -> None:
    job = priced(tmp_path)
    found = job.options[0].screened
    assert found is not None
    corner = next(c for c in found.checks if c.kind == "corner")
    assert "degrees to its shank" in corner.working
    eye = job.book.rigging["eye-m12"]
    assert eye.axial_load == pytest.approx(340 * GRAVITY, rel=2e-3)
    assert eye.working_load == pytest.approx(240 * GRAVITY, rel=2e-3)
