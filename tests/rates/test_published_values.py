"""Published values in the default rate book. The source stands beside each check; prices are invented."""

from __future__ import annotations

from math import pi

import pytest

from tests.rates.books import default_book

BOOK = default_book()
G = 9.80665  # m/s2


@pytest.mark.parametrize(
    ("code", "pitch_mm", "mass", "breaking_kn", "eleven_links_mm"),
    [("ch-6", 18.5, 0.80, 18, 203.5), ("ch-8", 24, 1.4, 32, 264), ("ch-10", 28, 2.2, 50, 308)],
)
def test_chain(code: str, pitch_mm: float, mass: float, breaking_kn: float, eleven_links_mm: float) -> None:
    # DIN 766 (January 1986), calibrated short link: pitch, mass, length of 11 links; grade 30: least breaking force
    part = BOOK.rigging[code]
    assert part.pitch == pytest.approx(pitch_mm / 1000)
    assert part.mass == mass
    assert part.breaking_load == breaking_kn * 1000
    assert part.working_load is None
    assert 11 * part.pitch == pytest.approx(eleven_links_mm / 1000)


@pytest.mark.parametrize(("code", "breaking_kn", "mass"), [("wr-6", 21.2, 0.124), ("wr-8", 37.6, 0.221)])
def test_wire_rope(code: str, breaking_kn: float, mass: float) -> None:
    # API Spec 9A table C.1, 6x7 fibre core, grade 1770
    part = BOOK.rigging[code]
    assert part.breaking_load == breaking_kn * 1000
    assert part.mass == mass


def test_wire_rope_of_4_mm_follows_from_the_others() -> None:
    # derived: K d2 R / 1000 with K 0.332 from API Spec 9A table C.1, grade 1770; mass with d2
    part = BOOK.rigging["wr-4"]
    assert part.breaking_load == pytest.approx(0.332 * 4**2 * 1770, rel=0.01)
    assert part.mass == pytest.approx(0.124 * 16 / 36, rel=0.01)


@pytest.mark.parametrize(("code", "tonnes"), [("shk-08", 0.75), ("shk-09", 1.0), ("shk-11", 1.5), ("shk-13", 2.0)])
def test_shackles(code: str, tonnes: float) -> None:
    # RR-C-271 / EN 13889: body and pin of 8/10, 9/11, 11/13 and 13/16 mm
    assert BOOK.rigging[code].working_load == pytest.approx(tonnes * 1000 * G, rel=0.001)


@pytest.mark.parametrize(
    ("code", "kilograms", "h", "d2", "d3"),
    [("eye-m12", 240, 53, 30, 54), ("eye-m16", 500, 62, 35, 63), ("eye-m20", 860, 71, 40, 72)],
)
def test_eye_bolts(code: str, kilograms: float, h: float, d2: float, d3: float) -> None:
    # DIN 580:2003 table A.1: kg per bolt at 45 degrees; bearing point = h less the thickness of the eye
    part = BOOK.rigging[code]
    assert part.working_load == pytest.approx(kilograms * G, rel=0.002)
    assert part.length == pytest.approx((h - (d3 - d2) / 2) / 1000)


@pytest.mark.parametrize(
    ("code", "cm3"), [("lt-100", 166.67), ("lt-125", 325.52), ("lt-150", 562.5), ("rt-150", 331.34), ("rt-200", 785.40)]
)
def test_timber_sections(code: str, cm3: float) -> None:
    # derived: b d2 / 6 of a square, pi d3 / 32 of a round post
    post = BOOK.posts[code]
    formula = post.width**3 / 6 if post.shape == "square" else pi * post.width**3 / 32
    assert post.section_modulus == pytest.approx(cm3 * 1e-6)
    assert post.section_modulus == pytest.approx(formula, rel=1e-4)


@pytest.mark.parametrize(
    ("code", "mass", "cm3"),
    [("chs-089", 10.3, 26.2), ("chs-114", 13.48, 44.96), ("chs-140", 16.61, 68.80), ("chs-168", 20.14, 101.7)],
)
def test_round_tubes(code: str, mass: float, cm3: float) -> None:
    # 88.9 x 5: table of cold-formed tubes; the others derived: A = pi/4 (D2 - d2), W = pi/32 (D4 - d4) / D, 7850 kg/m3
    post = BOOK.posts[code]
    assert post.wall is not None
    outer, inner = post.width, post.width - 2 * post.wall
    assert post.mass == pytest.approx(mass, abs=0.06)
    assert post.section_modulus == pytest.approx(cm3 * 1e-6, rel=2e-3)
    assert post.mass == pytest.approx(7850 * pi / 4 * (outer**2 - inner**2), rel=2e-3)
    assert post.section_modulus == pytest.approx(pi / 32 * (outer**4 - inner**4) / outer, rel=2e-3)


def test_square_tube() -> None:
    # 100 x 5, EN 10219-2 formulae with outer corner radius 2 t, derived
    post = BOOK.posts["shs-100"]
    assert (post.mass, post.section_modulus) == (14.41, pytest.approx(54.22e-6))


@pytest.mark.parametrize(("ground", "psf_per_foot"), [("clay", 100), ("sand", 150), ("gravel", 200), ("rock", 400)])
def test_lateral_bearing(ground: str, psf_per_foot: float) -> None:
    # IBC 2012 table 1806.2, classes 5, 4, 3 and 2; 1 psf/ft = 0.15708747 kPa/m
    assert BOOK.ground[ground].lateral_bearing == pytest.approx(psf_per_foot * 157.08747, rel=1e-4)


def test_soft_and_unknown_ground_have_no_bearing_to_count_on() -> None:
    assert {n for n, g in BOOK.ground.items() if g.lateral_bearing is None} == {"soft", "unknown"}


def test_bags_of_concrete() -> None:
    # published: 108 bags of 20 kg a m3; 30 kg at 2136 kg/m3 (133.3 lb/ft3) derived
    assert 1 / BOOK.concrete["con-bag-20"].yield_ == pytest.approx(108, rel=1e-3)
    assert BOOK.concrete["con-bag-30"].yield_ == pytest.approx(30 / 2136, rel=5e-3)


def test_hours_of_concrete_by_hand() -> None:
    # Concrete Construction Methods and Costs, 1908: 16 men lay 45 yd3 in 10 hours; 1 yd3 = 0.764554858 m3
    assert BOOK.concrete["con-bag-20"].hours == pytest.approx(16 * 10 / (45 * 0.764554858), rel=1e-3)


def test_hours_of_digging_by_hand() -> None:
    # trade course on ground works: holes of 1 to 2 m, get out 2.4, throw 1.4, clear 1.4 h/m3
    assert BOOK.ground["firm"].hand_hours == pytest.approx(2.4 + 1.4 + 1.4)


def test_depth_of_footings() -> None:
    # common practice, no source: 3 m side 0.8 m, 5 m side 1.2 m
    assert [(d.longest_side, d.depth) for d in BOOK.footing_depths] == [(3.0, 0.8), (5.0, 1.2)]


def test_layers_under_the_post() -> None:
    # common practice, no source: firm ground 100 mm of stone, soft ground 100 mm of concrete over it
    assert (BOOK.ground["firm"].stone, BOOK.ground["firm"].pad) == (0.1, 0.0)
    assert (BOOK.ground["soft"].stone, BOOK.ground["soft"].pad) == (0.1, 0.1)
