"""Situations of shape and place that people have asked about in public, through the whole engine.

The right answers are our own arithmetic from their numbers.
"""

from __future__ import annotations

from math import radians, sqrt, tan
from pathlib import Path
from typing import Any

import pytest

from estimator.core.units import show_length
from estimator.geometry.falls import fall, litres_a_second
from estimator.report.json_out import job_data
from tests.build import fixing, option, run, square, write_job
from tests.rate_books import Change, setting, with_changes

FOOT = 0.3048


def _run(
    tmp_path: Path, rates: dict[str, Change] | None = None, **rows: Any
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The first option and the problems."""
    folder = with_changes(tmp_path / "rates", rates) if rates else None
    outcome = run(write_job(tmp_path / "job.xlsx", **rows), folder)
    assert outcome.priced is not None, outcome.problems
    data = job_data(outcome.priced)
    return data["sites"][0]["options"][0], data["problems"]


def _codes(problems: list[dict[str, Any]], level: str = "") -> set[str]:
    return {p["code"] for p in problems if not level or p["level"] == level}


def _rectangle(a: float, b: float, height: float = 2.6, held_by: str = "new post") -> list[dict[str, Any]]:
    return [
        fixing(n, x, y, height, held_by) for n, (x, y) in zip("ABCD", ((0, 0), (a, 0), (a, b), (0, b)), strict=True)
    ]


def test_ten_per_cent_off_each_side_pulls_askew(tmp_path: Path) -> None:
    # Points 5.00 x 3.00 m and a sail of 4.50 x 2.70 m: 292 mm a corner, pulled at 31 degrees instead of 45.
    one, problems = _run(
        tmp_path, fixings=_rectangle(5, 3), options=[option("A B C D", "4.5 x 2.7 m", Cloth="KNIT-LIGHT")]
    )
    assert one["status"] == "not priced"  # 292 mm takes no tensioner: the sentence gives both and a size that would do
    refused = next(p for p in problems if p["code"] == "sail-too-large")
    assert "292 mm" in refused["message"]
    assert "would fit" in refused["message"]
    # with room for the parts, the pull is 14 degrees off the bisector; a limit of 10 degrees warns
    folder = tmp_path / "wide"
    folder.mkdir()
    one, problems = _run(
        folder,
        {"settings": setting("off bisector limit", "10")},
        fixings=_rectangle(5 + 0.5, 3 + 0.3),
        options=[option("A B C D", "4.5 x 2.7 m", Cloth="KNIT-LIGHT")],
    )
    assert all(c["gap"] == pytest.approx(sqrt(0.5**2 + 0.3**2), abs=0.002) for c in one["corners"])
    assert all(c["off_bisector"] == pytest.approx(45 - 30.96, abs=0.1) for c in one["corners"])
    assert "off-bisector" in _codes(problems, "warning")


def test_a_gap_under_the_usual_one_is_warned_about(tmp_path: Path) -> None:
    rows = square(3 + 2 * 0.295 / sqrt(2))  # 295 mm along the corner line
    _, problems = _run(
        tmp_path,
        {"settings": setting("take up reserve", "0"), "cloths": lambda r: [x.update({"stretch (%)": "0"}) for x in r]},
        fixings=rows,
        options=[option("A B C D", "SQ-3000", Hardware="short")],
    )
    assert "gap-small" in _codes(problems, "warning")


def _tape(rows: dict[str, float]) -> list[dict[str, Any]]:
    return [{"Site": "Yard", "From": k[0], "To": k[1], "Length (m)": v} for k, v in rows.items()]


def _untaped(names: str, height: float = 2.6) -> list[dict[str, Any]]:
    return [{**fixing(n, 0, 0, height), "Across (m)": None, "Out (m)": None} for n in names]


MADE = [option("A B C D", "made to fit", Cloth="KNIT-LIGHT")]


def test_four_sides_and_two_diagonals_are_enough(tmp_path: Path) -> None:
    # A rectangle meant to be 5.8 x 4.9 m: nominal diagonal 7,593 mm; equal sides are not needed.
    tape = {"AB": 5.8, "BC": 4.9, "CD": 5.8, "DA": 4.9, "AC": 7.593, "BD": 7.593}
    one, problems = _run(tmp_path, fixings=_untaped("ABCD"), tape=_tape(tape), options=MADE)
    assert one["status"] == "priced"
    points = {p["fixing"]: (p["across"], p["out"]) for p in one["points"]}
    assert points["A"] == (0, 0)
    assert points["C"] == pytest.approx((5.8, 4.9), abs=0.002)
    told = next(p for p in problems if p["code"] == "tape-closure")
    assert "mm" in told["message"]
    assert not {"tape-one-of-these", "tape-unchecked"} & _codes(problems)


def test_a_slip_in_one_of_six_lines_is_told_with_what_would_close(tmp_path: Path) -> None:
    tape = {"AB": 5.8, "BC": 4.9, "CD": 5.8, "DA": 4.9, "AC": 7.593, "BD": 7.693}
    _, problems = _run(tmp_path, fixings=_untaped("ABCD"), tape=_tape(tape), options=MADE)
    told = next(p for p in problems if p["code"] == "tape-one-of-these")
    assert "cannot tell" in told["message"]
    for line in ("A-B", "B-C", "C-D", "D-A", "A-C", "B-D 7.59"):
        assert line in told["message"]


def test_an_impossible_set_names_the_side(tmp_path: Path) -> None:
    tape = {"AB": 5.8, "BC": 4.9, "CD": 5.8, "DA": 4.9, "AC": 11.0, "BD": 7.593}
    one, problems = _run(tmp_path, fixings=_untaped("ABCD"), tape=_tape(tape), options=MADE)
    assert one["status"] == "not priced"
    told = [p for p in problems if p["code"] == "tape-too-long"]
    assert told
    assert all("A to C" in p["message"] and p["sheet"] == "Tape" for p in told)


def test_four_sides_and_no_diagonal_fix_no_shape(tmp_path: Path) -> None:
    # Parallel sides 50 and 30 ft, another 64 ft, the last about 67 ft 11 in: from about 1,000 to 2,605 square feet.
    tape = {"AB": 50 * FOOT, "BC": 64 * FOOT, "CD": 30 * FOOT, "DA": (67 + 11 / 12) * FOOT}
    one, problems = _run(tmp_path, fixings=_untaped("ABCD"), tape=_tape(tape), options=MADE)
    assert one["status"] == "not priced"
    assert "lines" not in one
    told = next(p for p in problems if p["code"] == "tape-flexes")
    assert f"to {2605 * FOOT**2:.1f} m2" in told["message"] or f"to {2604.9 * FOOT**2:.0f}" in told["message"]
    assert "A-C" in told["message"]


def test_unequal_heights_are_taken_out_before_the_plan(tmp_path: Path) -> None:
    fixings = _untaped("ABC")
    fixings[0]["Height (m)"], fixings[2]["Height (m)"] = 3.6, 2.4
    plan = {"AB": 4.0, "BC": 3.0, "CA": 5.0}
    rise = {"AB": 1.0, "BC": 0.2, "CA": 1.2}
    tape = {k: sqrt(v**2 + rise[k] ** 2) for k, v in plan.items()}
    rows = [option("A B C", "made to fit", Cloth="KNIT-LIGHT")]
    one, problems = _run(tmp_path, fixings=fixings, tape=_tape(tape), options=rows)
    points = {p["fixing"]: (p["across"], p["out"]) for p in one["points"]}
    assert points["C"] == pytest.approx((4.0, 3.0), abs=1e-6)
    assert "tape-unchecked" in _codes(problems, "warning")  # three points: nothing checks them


def test_each_corner_is_drawn_in_by_its_own_hardware(tmp_path: Path) -> None:
    # An uneven four-sided place: shrinking every side by one per cent gives uneven gaps.
    places = {"A": (0, 0), "B": (6.5, 0.4), "C": (5.9, 5.1), "D": (0.7, 4.2)}
    rows = [fixing(n, x, y, 2.6) for n, (x, y) in places.items()]
    one, _ = _run(
        tmp_path,
        fixings=rows,
        options=[option("A B C D", "made to fit", Cloth="KNIT-LIGHT", Tensioned="A C")],
    )
    corners = {c["fixing"]: c for c in one["corners"]}
    assert corners["A"]["gap"] > corners["B"]["gap"] + 0.1  # a tensioner is longer than none
    assert all(c["off_bisector"] < 5 for c in corners.values())
    assert any(abs(c["off_centroid"] - c["off_bisector"]) > 2 for c in corners.values())
    sail = one["sails"][0]
    assert [a / b for a, b in zip(sail["sewn"], sail["sides"], strict=True)] == pytest.approx([1 / 1.03] * 4)


def test_too_small_a_sail_is_hung_on_wire_and_re_checked(tmp_path: Path) -> None:
    # A replacement bought too small, hung on long cords: the extension is priced and its take-up shown.
    one, problems = _run(tmp_path, fixings=square(7), options=[option("A B C D", "SQ-3600")])
    assert one["status"] == "priced"
    for c in one["corners"]:
        assert c["run"] == "wire rope"
        assert c["links"] is None
        assert c["take_up_left"] >= 0.025 - 1e-9
    codes = {line["code"] for line in one["lines"]}
    assert {"WR-4", "THI-4", "GRIP-4"} <= codes
    assert "run-turned-to-rope" in _codes(problems)


def test_wire_rope_counts_thimbles_grips_and_turn_back(tmp_path: Path) -> None:
    # A grip slipped after the first storm: thimbles, grips by size at both ends, turn-back in the cut length, and a
    # re-tension visit.
    one, _ = _run(tmp_path, fixings=square(7), options=[option("A B C D", "SQ-3600")])
    lines = {line["code"]: line for line in one["lines"]}
    assert float(lines["THI-4"]["quantity"]) == 8
    assert float(lines["GRIP-4"]["quantity"]) >= 4 * 2 * 2
    for c in one["corners"]:
        assert c["cut_length"] > c["run_length"] + 2 * 0.05
    assert "re-tension" in {h["visit"] for h in one["labour"]}


def test_a_triangle_gives_less_shade_than_hoped(tmp_path: Path) -> None:
    # 16 x 16 x 16 ft: flat 110.9 square feet, about 80 at 6 % edge dip, about 60 at 10 %.
    side = 16 * FOOT
    rows = [fixing("A", 0, 0, 2.6), fixing("B", 6.2, 0, 2.6), fixing("C", 3.1, 5.37, 2.6)]
    for dip, net in (("6", 80), ("10", 60)):
        folder = tmp_path / dip
        folder.mkdir()

        def change(found: list[dict[str, str]], dip: str = dip) -> None:
            for row in found:
                row["edge hollow (%)"] = dip

        size = f"{side:.4f} {side:.4f} {side:.4f} m"
        one, _ = _run(folder, {"cloths": change}, fixings=rows, options=[option("A B C", size, Cloth="KNIT-LIGHT")])
        assert one["sails"][0]["flat_area"] / FOOT**2 == pytest.approx(110.9, abs=0.1)
        assert one["sails"][0]["net_area"] / FOOT**2 == pytest.approx(net, abs=1.5)


def test_moving_one_point_turns_a_flat_sail_into_a_twisted_one(tmp_path: Path) -> None:
    # Two stretched sails, one of five corners: one point dropped by 1,000 mm gives fall and curvature.
    five = {"A": (0, 0), "B": (5.5, -1), "C": (8.5, 3), "D": (5, 7), "E": (-0.5, 5)}
    falls = []
    for drop in (0.0, 1.0):
        rows = [fixing(n, x, y, 3.4 - (drop if n == "C" else 0)) for n, (x, y) in five.items()]
        folder = tmp_path / str(drop)
        folder.mkdir()
        one, _ = _run(folder, fixings=rows, options=[option("A B C D E", "made to fit", Cloth="KNIT-HEAVY")])
        assert one["status"] == "priced"
        assert len(one["falls"]) == 10  # five sides and five diagonals
        falls.append(max(f["degrees"] for f in one["falls"]))
    assert falls[0] == pytest.approx(0, abs=1e-6)
    assert falls[1] > 8


def test_old_anchors_are_inspected_first(tmp_path: Path) -> None:
    rows = square(6, held_by="existing post")
    one, problems = _run(tmp_path, fixings=rows, options=[option("A B C D", "SQ-5000")])
    assert one["status"] == "provisional"
    assert "post-inspection" in {line["code"] for line in one["lines"]}
    assert one["posts"] == []
    assert "support-engineer" in _codes(problems, "warning")


def test_fall_is_told_in_three_units(tmp_path: Path) -> None:
    # 15 degrees is 268 mm/m, 20 degrees 364 mm/m; a roof sail failed because nobody measured its fall.
    for angle, slope in ((15, 268), (20, 364)):
        degrees, percent, mm = fall((0, 0, tan(radians(angle))), (1, 0, 0))
        assert (degrees, percent, mm) == pytest.approx((angle, slope / 10, slope), abs=0.5)
    rows = [fixing("A", 0, 0, 3.6), fixing("B", 6, 0, 3.6), fixing("C", 6, 6, 2.4), fixing("D", 0, 6, 2.4)]
    one, problems = _run(tmp_path, fixings=rows, options=[option("A B C D", "made to fit", Cloth="COAT-DRY")])
    steepest = max(f["degrees"] for f in one["falls"])
    assert steepest == pytest.approx(11.3, abs=0.1)  # 1 in 5
    assert {p["code"] for p in problems} >= {"fall-small-dry", "drain-unknown"}


def test_posts_by_others_bring_a_re_measure_and_an_exclusion(tmp_path: Path) -> None:
    rows = square(6, held_by="post by others")
    one, problems = _run(tmp_path, fixings=rows, options=[option("A B C D", "made to fit", Cloth="COAT-DRY")])
    assert one["status"] == "provisional"
    assert "post by others" in next(p for p in problems if p["code"] == "support-engineer")["message"]
    assert one["posts"] == []


def test_where_the_low_corner_drains_is_asked_and_flagged(tmp_path: Path) -> None:
    # A sail emptied into a gutter and flooded a house: 20 m2 at 100 mm/h is 0.56 litres a second.
    assert litres_a_second(20, 100) == pytest.approx(0.556, abs=0.001)
    rows = [fixing("A", 0, 0, 4.4), fixing("B", 6, 0, 4.4), fixing("C", 6, 6, 2.4), fixing("D", 0, 6, 2.4)]
    for drains, code, level in (
        (None, "drain-unknown", "warning"),
        ("gutter", "drain-careful", "warning"),
        ("neighbour", "drain-careful", "warning"),
        ("ground", "drain-told", "note"),
    ):
        folder = tmp_path / str(drains)
        folder.mkdir()
        _, problems = _run(
            folder,
            sites=[{"Site": "Yard", "Ground": "firm", "Travel": 1, "Drains to": drains}],
            fixings=rows,
            options=[option("A B C D", "made to fit", Cloth="COAT-DRY")],
        )
        assert (code, level) in {(p["code"], p["level"]) for p in problems}
        assert "fall-small-dry" not in _codes(problems)
    # a permeable cloth lets the water through: nothing to drain
    _, problems = _run(tmp_path, fixings=rows, options=[option("A B C D", "made to fit", Cloth="KNIT-LIGHT")])
    assert not {"drain-unknown", "drain-careful", "drain-told"} & _codes(problems)


def test_distances_to_the_boundary_are_of_the_hole_s_edge(tmp_path: Path) -> None:
    # A 600 mm footing with its centre 250 mm from the line crosses it by 50 mm.
    rows = square(6, **{"Hole (m)": 0.6, "Lean": 0, "To boundary (m)": 0.25})
    one, problems = _run(tmp_path, fixings=rows, options=[option("A B C D", "SQ-5000")])
    assert all(f["edge_to_boundary"] == pytest.approx(-0.05) for f in one["footings"])
    crossing = [p for p in problems if p["code"] == "hole-over-boundary"]
    assert len(crossing) == 4
    assert "50 mm" in crossing[0]["message"]


def test_a_leaning_post_s_hole_is_nearer_than_its_fixing(tmp_path: Path) -> None:
    rows = square(6, **{"Hole (m)": 0.5, "To boundary (m)": 2.0, "To service (m)": 0.9})
    one, problems = _run(tmp_path, fixings=rows, options=[option("A B C D", "SQ-5000")])
    for f in one["footings"]:
        moved = 2.6 * tan(radians(5)) + f["depth"] / 2 * tan(radians(5))
        assert f["edge_to_boundary"] == pytest.approx(2.0 - moved - 0.25)
        assert f["edge_to_service"] == pytest.approx(0.9 - moved - 0.25)
    assert "hole-near-service" in _codes(problems, "warning")


def test_six_leaning_posts_one_metre_deep(tmp_path: Path) -> None:
    # Holes 1 m by 450 mm: 159 litres each, 0.95 m3 in all, so bags or a truck by volume.
    ring = {"A": (0, 0), "B": (4, -1), "C": (8, 0), "D": (8, 5), "E": (4, 6), "F": (0, 5)}
    rows = [fixing(n, x, y, 3.0, **{"Depth (m)": 1.0, "Hole (m)": 0.45}) for n, (x, y) in ring.items()]
    one, _ = _run(
        tmp_path,
        {"ground": lambda found: [r.update({"stone layer (mm)": "0"}) for r in found]},
        fixings=rows,
        options=[option("A B C D E F", "made to fit", Cloth="KNIT-HEAVY")],
    )
    assert all(f["hole"] == pytest.approx(0.159, abs=0.001) for f in one["footings"])
    assert sum(f["hole"] for f in one["footings"]) == pytest.approx(0.954, abs=0.005)
    bought = next(line for line in one["lines"] if line["code"].startswith("CON-"))
    assert "Other ways" in bought["working"]
    assert {h["visit"] for h in one["labour"]} >= {"footings", "hang"}


@pytest.mark.parametrize("side", [3, 4, 5, 6])
@pytest.mark.parametrize("gap", [0.45, 0.6, 0.75, 0.9])
@pytest.mark.parametrize("corners", [3, 4])
def test_take_up_is_always_solved_by_the_default_book(tmp_path: Path, side: int, gap: float, corners: int) -> None:
    # common practice, no source: a corner gap of 450 to 900 mm
    if corners == 4:
        rows = square(side + 2 * gap / sqrt(2))
        size = f"SQ-{side}000"
    else:
        r = side / sqrt(3) + gap
        places = ((-r * sqrt(3) / 2, -r / 2), (r * sqrt(3) / 2, -r / 2), (0, r))
        rows = [fixing(n, x, y, 2.6) for n, (x, y) in zip("ABC", places, strict=True)]
        size = f"TRI-{side}000"
    one, problems = _run(tmp_path, fixings=rows, options=[option("A B C D"[: 2 * corners - 1], size)])
    assert one["status"] == "priced", problems
    for c in one["corners"]:
        assert c["gap"] == pytest.approx(gap, abs=1e-6)
        assert c["take_up_left"] >= 0.025 - 1e-9


@pytest.mark.parametrize("side", [3, 4, 5, 6])
def test_ten_per_cent_is_solved_or_refused_with_the_size_that_passes(tmp_path: Path, side: int) -> None:
    # common practice, no source: 10 % spare length, half at each end
    one, problems = _run(tmp_path, fixings=square(side * 1.1), options=[option("A B C D", f"SQ-{side}000")])
    if one["status"] == "priced":
        assert all(c["take_up_left"] >= 0.025 - 1e-9 for c in one["corners"])
        return
    refused = next(p for p in problems if p["code"] in ("sail-too-large", "gap-too-short"))
    assert "mm are needed" in refused["message"]
    assert "fits" in refused["message"]


def test_lengths_print_in_feet_and_inches_to_an_eighth() -> None:
    # Source: 1 ft = 0.3048 m exactly; 1/8 in = 3.175 mm
    assert show_length((20 + 10 / 12) * FOOT, "feet and inches").startswith("20' 10")
    assert "1/8" in show_length(0.003175, "feet and inches")
