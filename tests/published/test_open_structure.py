"""Anchors, posts, footings and what a quote leaves out: situations that people have asked about in public. The right
answers are our own arithmetic from their numbers; what a body has published is named beside its check."""

from __future__ import annotations

from datetime import date
from math import pi
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.core.problems import Problem
from estimator.geometry.post import filled_depth, filled_diameter
from estimator.geometry.wind import pressure, to_metres_per_second
from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob, PricedOption
from estimator.takeoff.concrete import ways
from estimator.takeoff.typed_concrete import fills
from tests.build import DAY, fixing, option, run, square, write_job
from tests.rate_books import Change, setting, with_changes

FOOT, INCH = 0.3048, 0.0254
MADE = option("A B C D", "made to fit", Cloth="KNIT-HEAVY")
SOLD = {"Status": "firm", "Finish by": date(2026, 6, 30)}


def site(**more: Any) -> list[dict[str, Any]]:
    return [{"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Services": "located", **more}]


def priced(folder: Path, rates: dict[str, Change] | None = None, **rows: Any) -> PricedJob:
    book = with_changes(folder / "rates", rates) if rates else None
    found = run(write_job(folder / "job.xlsx", **{"options": [MADE], **rows}), book).priced
    assert found is not None
    return found


def told(job: PricedJob, code: str) -> list[Problem]:
    return [p for p in job.problems if p.code == code]


def codes(option: PricedOption) -> dict[str, float]:
    """Quantities of an option's bill, by code."""
    assert option.bill is not None
    return {line.code: float(line.quantity) for line in option.bill.lines}


def copy(folder: Path, which: str, **rows: Any) -> str:
    """All words of the quote, the crew's or the priced workbook."""
    path = write_job(folder / "job.xlsx", **{"options": [MADE], **rows})
    done = price_file(path, today=DAY, drawings=False)
    assert done.status == 0, done.problems
    book = load_workbook(folder / f"job-{which}.xlsx")
    return "\n".join(str(v) for s in book for r in s.iter_rows(values_only=True) for v in r if v is not None)


# --- two rafters and two trees


def _trees(**more: Any) -> dict[str, Any]:
    """A 20 x 16 ft sail; trees 35 ft off two of its corners along the pull, 10 ft up."""
    wide, deep, way = 20 * FOOT, 16 * FOOT, 35 * FOOT / 2**0.5
    rows = [
        fixing("R1", -0.35, -0.35, 3.0, "rafter"), fixing("R2", wide + 0.35, -0.35, 3.0, "rafter"),
        fixing("T1", wide + way, deep + way, 10 * FOOT, "tree"), fixing("T2", -way, deep + way, 10 * FOOT, "tree"),
    ]  # fmt: skip
    return {"fixings": rows, "options": [option("R1 R2 T1 T2", "20' x 16'", Cloth="KNIT-HEAVY")], **more}


def test_two_trees_are_anchors_that_nobody_designed(tmp_path: Path) -> None:
    job = priced(tmp_path, **_trees())
    one = job.options[0]
    assert one.status == "provisional"
    assert set(one.taken.engineer) == {"T1", "T2"}
    found = codes(one)
    assert found["arborist-visit"] == found["tree-sling"] == 2
    ropes = {c.fixing: c for c in one.taken.corners}
    for tree in ("T1", "T2"):
        assert ropes[tree].run == "wire rope"
        assert 33 * FOOT < ropes[tree].run_length < 36 * FOOT  # the long way to the tree is counted and paid
    rope = sum(v for k, v in found.items() if k.startswith("WR-"))
    assert rope >= ropes["T1"].cut_length + ropes["T2"].cut_length
    said = copy(tmp_path, "quote", **_trees(job=SOLD))
    assert "The strength and the health of the tree" in said


def test_a_weak_link_is_offered_where_a_tree_or_a_house_holds(tmp_path: Path) -> None:
    offer = "weak link (lets go before the tree or the roof does; weak-link)"
    assert told(priced(tmp_path, **_trees()), "usual-missing")[0].message.count(offer) == 1
    link = [{"Site": "Yard", "Description": "Weak links", "Quantity": 2, "Unit": "each", "Item": "weak-link"}]
    linked = priced(tmp_path, **_trees(extras=link))
    assert codes(linked.options[0])["weak-link"] == 2
    assert "weak link" not in told(linked, "usual-missing")[0].message
    posts = priced(tmp_path, fixings=square(6))
    assert "weak link" not in told(posts, "usual-missing")[0].message


# --- bolts in the outer leaf of a wall, and near its edge


@pytest.mark.parametrize("wall", ["veneer wall", "unknown wall"])
def test_a_wall_that_nobody_knows_has_no_price(wall: str, tmp_path: Path) -> None:
    job = priced(tmp_path, fixings=[fixing("A", 0, 0, 2.6, wall), *square(6)[1:]])
    assert job.options[0].bill is None
    (problem,) = told(job, "support-not-priced")
    assert problem.level == "error"
    assert "a post" in problem.message  # what to do instead


def test_the_outer_leaf_needs_an_engineer_resin_and_a_pull_test(tmp_path: Path) -> None:
    job = priced(tmp_path, fixings=[fixing("A", 0, 0, 2.6, "cavity wall", **{"To edge (m)": 1.2}), *square(6)[1:]])
    assert job.options[0].status == "provisional"
    found = codes(job.options[0])
    assert found["pull-test"] == 1
    assert found["stud-resin-m12-long"] == 4  # through to the inner leaf
    assert found["resin-cartridge"] >= 1
    assert "engineer says how to reach the inner leaf" in told(job, "support-engineer")[0].message


def test_what_holds_a_corner_has_to_be_said(tmp_path: Path) -> None:
    rows = square(6)
    rows[0]["Held by"] = None
    job = priced(tmp_path, fixings=rows)
    assert job.options[0].bill is None
    assert ("Fixings", "C2") in {(p.place.sheet, p.place.cell) for p in told(job, "blank")}


@pytest.mark.parametrize(("edge", "code", "level"), [(None, "edge-unknown", "note"), (0.3, "edge-near", "warning")])
def test_near_an_edge_a_bonded_anchor_is_told(edge: float | None, code: str, level: str, tmp_path: Path) -> None:
    # a bolt half an inch in cracked a brick after two years: keep two bricks sideways and five courses above
    wall = fixing("A", 0, 0, 2.6, "solid wall", **{"To edge (m)": edge})
    (problem,) = told(priced(tmp_path, fixings=[wall, *square(6)[1:]]), code)
    assert problem.level == level
    assert "bonded studs" in problem.message
    assert "450 mm" in problem.message


def test_far_from_an_edge_nothing_is_told(tmp_path: Path) -> None:
    wall = fixing("A", 0, 0, 2.6, "solid wall", **{"To edge (m)": 0.45})
    job = priced(tmp_path, fixings=[wall, *square(6)[1:]])
    assert told(job, "edge-near") == told(job, "edge-unknown") == []


# --- a base weld that broke beside a pool


def test_a_base_plate_is_always_an_engineer_s_and_its_weld_is_looked_at(tmp_path: Path) -> None:
    rows = [fixing("A", 0, 0, 2.6, "base plate"), *square(6)[1:]]
    job = priced(tmp_path, fixings=rows, sites=site(Near="nothing"))
    assert job.options[0].status == "provisional"
    assert job.options[0].taken.engineer == ("A",)
    assert codes(job.options[0])["weld-inspection"] == 1
    assert told(job, "pool-near") == []
    said = copy(tmp_path, "quote", fixings=rows, job=SOLD)
    assert said.count("Have the welds and anchors of the base plates looked at every year.") == 1


@pytest.mark.parametrize(
    ("held_by", "plates"), [("base plate", True), ("new post", False), ("existing post", False), ("beam", None)]
)
def test_a_pool_within_reach_raises_the_risk(held_by: str, plates: bool | None, tmp_path: Path) -> None:
    rows = [fixing("A", 0, 0, 2.6, held_by), *square(6, held_by="beam")[1:]]
    found = told(priced(tmp_path, fixings=rows, sites=site(Near="pool")), "pool-near")
    assert [p.level for p in found] == ([] if plates is None else ["warning"])
    for p in found:
        assert "(A)" in p.message
        assert ("The welds of A" in p.message) is plates


# --- a tribunal's list: bricks, fixings, no coat, no caps, a brace in the car park, no day


ROWS = (
    "Fixed to", "1 × solid brick or stone wall, plate on resin studs", "3 × new post in a concrete footing",
    "Posts", "3 × laminated timber post 115 x 115, ground treated", "Post finish", "treated for ground contact",
    "Post caps", "one on each new post", "Posts braced", "each at its own hole, while the concrete sets",
)  # fmt: skip


def _quoted(**job: Any) -> dict[str, Any]:
    wall = fixing("A", 0, 0, 2.6, "solid wall", **{"To edge (m)": 1})
    return {"fixings": [wall, *square(6)[1:]], "sites": site(Near="nothing"), "job": {"Status": "firm", **job}}


def test_a_quote_says_each_of_the_things_that_were_argued_about(tmp_path: Path) -> None:
    rows = _quoted(**SOLD)
    said = copy(tmp_path, "quote", **rows)
    lines = said.split("\n")
    for row in ROWS:
        assert lines.count(row) == 1, row
    assert said.count("Finished by 2026-06-30.") == 1
    assert told(priced(tmp_path, **rows), "scope-gap") == []


def _dropped(column: str, *values: str) -> Change:
    def change(rows: list[dict[str, str]]) -> None:
        rows[:] = [r for r in rows if r[column] not in values]

    return change


def _blanked(column: str, row_column: str, row: str) -> Change:
    def change(rows: list[dict[str, str]]) -> None:
        for r in rows:
            if r[row_column] == row:
                r[column] = ""

    return change


@pytest.mark.parametrize(
    ("rates", "gap"),
    [
        ({"posts": _blanked("finish", "code", "LT-115")}, "the finish of post LT-115"),
        ({"kits": _dropped("item", "post-cap")}, "post caps"),
        ({"kits": _dropped("item", "brace-timber"), "labour": _dropped("task", "set and brace post")}, "posts braced"),
        ({"supports": _blanked("description", "support", "solid wall")}, "how 'solid wall' holds"),
        (None, "the day it is finished"),
    ],
)
def test_a_quote_that_misses_one_of_them_has_a_gap(rates: dict[str, Change] | None, gap: str, tmp_path: Path) -> None:
    rows = _quoted(**({} if rates is None else SOLD))
    (problem,) = told(priced(tmp_path, rates, **rows), "scope-gap")
    assert problem.level == "warning"
    assert gap in problem.message


def test_a_coat_typed_and_shown_stands_on_the_quote(tmp_path: Path) -> None:
    coat = {"Site": "Yard", "Description": "Powder coat of the posts, black", "Quantity": 2, "Unit": "each",
            "Item": "powder-coat", "Shown": "yes"}  # fmt: skip
    steel = square(6, Post="CHS-114")
    assert "powder coat (powder-coat)" in told(priced(tmp_path, fixings=steel), "usual-missing")[0].message
    coated = priced(tmp_path, fixings=steel, extras=[coat])
    assert "powder coat" not in told(coated, "usual-missing")[0].message
    said = copy(tmp_path, "quote", fixings=steel, extras=[coat], job=SOLD)
    assert "Powder coat of the posts, black" in said
    assert "hot-dip galvanised" in said.split("\n")


# --- a wire grip that slipped after rain


def test_a_rope_has_thimbles_grips_its_turn_back_and_is_tightened_again(tmp_path: Path) -> None:
    rows: dict[str, Any] = {"fixings": square(7), "options": [option("A B C D", "SQ-3600", Run="wire rope")]}
    job = priced(tmp_path, **rows)
    one, book = job.options[0], job.book
    for corner in one.taken.corners:
        rope = next(book.rigging[c.casefold()] for c, _ in corner.parts if c.startswith("WR-"))
        assert rope.turn_back is not None
        assert rope.grips_per_end is not None
        assert corner.cut_length == pytest.approx(corner.run_length + 2 * rope.turn_back)
        parts = dict(corner.parts)
        assert parts[f"THI-{rope.size}"] == 2
        assert parts[f"GRIP-{rope.size}"] == 2 * rope.grips_per_end
    # the table told: up to 7/16 in two clips an end, and 4-3/4 in turned back of a 1/4 in rope
    for rope in (r for r in book.rigging.values() if r.kind == "wire rope"):
        assert rope.grips_per_end is not None
        assert rope.turn_back is not None
        assert rope.grips_per_end >= 2
        assert rope.turn_back >= 4.75 * INCH * (float(rope.size) / 1000) / (0.25 * INCH)
    again = [h for h in one.taken.hours if h.task == "tighten rope grips again"]
    assert [h.visit for h in again] == ["re-tension"]
    said = copy(tmp_path, "crew", **rows)
    assert said.count("the saddle lies on the live side") == 1
    assert said.count("again after the first load") == 1


# --- ice pulled both posts over: 4 ft deep with 300 lb of concrete each


def test_300_lb_of_concrete_is_a_narrow_column() -> None:
    volume = 300 / 145 * FOOT**3  # at 145 lb/ft3
    assert volume / FOOT**3 == pytest.approx(2.07, abs=0.005)
    assert filled_diameter(volume, 4 * FOOT) / INCH == pytest.approx(9.7, abs=0.05)
    # and back: the column of that diameter is 4 ft deep
    assert filled_depth(volume, filled_diameter(volume, 4 * FOOT)) == pytest.approx(4 * FOOT)


def test_concrete_that_was_told_is_held_against_the_holes(tmp_path: Path) -> None:
    rows = [
        fixing("A", 0, 0, 10 * FOOT, "beam"), fixing("B", 5.8, 0, 10 * FOOT, "beam"),
        *(fixing(n, x, 5.8, 10 * FOOT, **{"Depth (m)": 4 * FOOT, "Hole (m)": 0.45}) for n, x in (("C", 5.8), ("D", 0))),
    ]  # fmt: skip
    typed = {"Site": "Yard", "Description": "bags as told", "Quantity": 600, "Unit": "lb", "Cost each": 0.1,
             "Kind": "material", "Instead of": "CON-BAG-30"}  # fmt: skip
    per_ft3 = 145 * 0.45359237 / FOOT**3
    rates = {"settings": setting("concrete weight", f"{per_ft3:.3f}")}
    job = priced(tmp_path, rates, fixings=rows, extras=[typed])
    (short,) = told(job, "concrete-short")
    assert short.level == "warning"
    assert (short.place.sheet, short.place.cell) == ("Extras", "C2")
    assert "0.117 m3 of concrete are typed" in short.message
    footing = job.options[0].taken.footings[0]
    high, wide = fills(footing, 300 / 145 * FOOT**3)
    assert f"C, D: {high:.2f} m high in a hole of 450 mm that wants 1.22 m" in short.message
    assert f"a column of only {wide * 1000:.0f} mm" in short.message
    # depth and width apart: a post 10 ft out wants 5 ft by a third of the post, and that is shown beside
    assert dict(footing.others)["third of the post"] == pytest.approx(5 * FOOT)
    # whichever bag is named, the computed line is the one replaced
    assert {line.code for line in job.options[0].taken.lines if line.code.startswith("CON-")} == {"CON-BAG-30"}


def test_ice_is_a_caution_to_take_it_down(tmp_path: Path) -> None:
    said = copy(tmp_path, "quote", fixings=square(6), job=SOLD)
    assert "Have the sail down before snow, ice or hail lies on it" in said


# --- a second-hand sail of 7 x 8 m, re-dug with four bags a hole, on posts that also held a fence


def test_four_bags_fill_less_than_half_of_a_hole(tmp_path: Path) -> None:
    assert filled_depth(4 * 0.010, 0.35) == pytest.approx(0.42, abs=0.005)

    def ten_litres(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["yield (m3)"] = "0.01" if row["form"] == "bag" else row["yield (m3)"]

    rows = [fixing(n, x, y, 2.6, **{"Hole (m)": 0.35, "Depth (m)": 0.9}) for n, x, y in
            (("A", 0, 0), ("B", 8.9, 0), ("C", 8.9, 7.9), ("D", 0, 7.9))]  # fmt: skip
    four = {"Site": "Yard", "Description": "four bags a hole", "Quantity": 16, "Unit": "bag", "Item": "CON-BAG-20",
            "Instead of": "CON-BAG-20"}  # fmt: skip
    options = [option("A B C D", "8 x 7 m", Cloth="KNIT-HEAVY")]
    job = priced(tmp_path, {"concrete": ten_litres}, fixings=rows, options=options, extras=[four])
    assert job.options[0].taken.sails[0].flat_area == pytest.approx(56)
    (short,) = told(job, "concrete-short")
    assert "0.16 m3" in short.message
    post = job.book.posts[job.options[0].taken.posts[0].post.casefold()].width ** 2
    assert f"{filled_depth(0.04, 0.35, post):.2f} m high in a hole of 350 mm" in short.message
    enough = {**four, "Quantity": 40}
    assert told(priced(tmp_path, None, fixings=rows, options=options, extras=[enough]), "concrete-short") == []


def test_a_post_that_also_holds_a_fence_is_asked_about(tmp_path: Path) -> None:
    job = priced(tmp_path, fixings=[fixing("A", 0, 0, 2.6, "existing post"), *square(6)[1:]])
    assert "shared with a fence" in told(job, "support-engineer")[0].message


def test_coming_back_has_its_cost(tmp_path: Path) -> None:
    said = copy(tmp_path, "priced", fixings=square(6))
    # 2 x 10 km; two people at 60 km/h, and an hour to set up
    assert "Coming back to Yard once more, for rework: 20 km and 1.67 person-hours" in said


# --- popular recipes


def test_seven_bags_and_not_one(tmp_path: Path) -> None:
    def plain(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["stone layer (mm)"] = "0"

    lean = {"Hole (m)": 0.3, "Depth (m)": 0.9, "Lean": 0, "Post": "LT-100"}
    rows = [fixing(n, x, y, 2.4, **lean) for n, x, y in (("A", 0, 0), ("B", 6, 0), ("C", 3, 5.2))]
    job = priced(tmp_path, {"ground": plain}, fixings=rows, options=[option("A B C", "TRI-3600")])
    footings = job.options[0].taken.footings
    assert len(footings) == 3
    for f in footings:
        assert f.concrete == pytest.approx(pi * 0.3**2 / 4 * 0.9 - 0.1**2 * 0.9)
        assert f.concrete == pytest.approx(0.0546, abs=5e-5)
        assert fills(f, f.concrete) == pytest.approx((0.9, 0.3))
    bag = next(r for r in job.book.concrete.values() if r.form == "bag")
    litres = [type(bag)(bag.code, "", "bag", 0.010, 0.0, 1.0, bag.price, "bag", None, bag.origin)]
    (bought,) = ways(litres, footings[0].concrete, 0.10, bag.price, 1.0)
    assert bought.quantity == 7
    assert told(job, "hole-narrow") == []  # 100 mm beside the post


def test_a_hole_barely_wider_than_the_post_is_told(tmp_path: Path) -> None:
    # 4 x 4 in posts in holes of 6 or 7 in, 3 ft deep
    rows = square(6, 7.5 * FOOT, **{"Hole (m)": 7 * INCH, "Depth (m)": 3 * FOOT, "Post": "LT-100"})
    found = told(priced(tmp_path, fixings=rows), "hole-narrow")
    assert len(found) == 4
    assert "leaves 39 mm of concrete" in found[0].message


# --- take down at "90": of what?


def test_ninety_of_what() -> None:
    metric, miles = to_metres_per_second(90, "km/h"), to_metres_per_second(90, "mph")
    assert metric == pytest.approx(25.0)
    assert miles == pytest.approx(40.2, abs=0.05)
    assert pressure(miles) / pressure(metric) == pytest.approx(2.6, abs=0.02)


@pytest.mark.parametrize(("written", "speed"), [("90 km/h", 25.0), ("90 mph", 40.2336), ("90", None), (90, None)])
def test_a_wind_without_its_unit_is_refused(written: Any, speed: float | None, tmp_path: Path) -> None:
    job = priced(tmp_path, fixings=square(6), sites=site(**{"Wind speed": written, "Wind is": "gust"}))
    refused = told(job, "unit-needed")
    assert [p.place.sheet for p in refused] == ([] if speed else ["Sites"])
    if speed:
        assert job.job.sites[0].wind_speed == pytest.approx(speed)


# --- children who climbed on sails and died


def test_what_can_be_climbed_is_asked_for_and_named(tmp_path: Path) -> None:
    def found(near: str | None, height: float) -> dict[str, Problem]:
        rows = square(6)
        rows[2]["Height (m)"] = height
        job = priced(tmp_path, fixings=rows, sites=site(Near=near))
        return {p.code: p for p in job.problems if p.code in ("near-unknown", "climb-risk", "low-corner")}

    asked = found(None, 2.6)
    assert set(asked) == {"near-unknown"}
    assert asked["near-unknown"].level == "note"
    assert found("nothing", 2.6) == {}
    risk = found("climbable", 2.5)
    assert set(risk) == {"climb-risk"}
    assert risk["climb-risk"].level == "warning"
    assert "at C, is 2.5" in risk["climb-risk"].message
    assert "under the head height" not in risk["climb-risk"].message
    low = found("climbable", 1.9)
    assert set(low) == {"climb-risk", "low-corner"}
    assert "under the head height of 2.10 m" in low["climb-risk"].message
    assert "climb on it" in found("nothing", 1.9)["low-corner"].message  # a low corner alone is a risk by itself
