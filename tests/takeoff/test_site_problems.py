"""What cannot be, or should be looked at, on a site: each a problem with its cell."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.build import fixing, option, run, square, write_job

MADE = option("A B C D", "made to fit", Cloth="KNIT-LIGHT")


def _problems(tmp_path: Path, **rows: Any) -> set[tuple[str, str, str]]:
    outcome = run(write_job(tmp_path / "job.xlsx", **rows))
    return {(p.place.sheet, p.place.cell, p.code) for p in outcome.problems}


def _untaped(names: str) -> list[dict[str, Any]]:
    return [{**fixing(n, 0, 0, 2.6), "Across (m)": None, "Out (m)": None} for n in names]


def _tape(*rows: tuple[str, str, float]) -> list[dict[str, Any]]:
    return [{"Site": "Yard", "From": a, "To": b, "Length (m)": c} for a, b, c in rows]


BOX = (("A", "B", 4.0), ("B", "C", 3.0), ("C", "D", 4.0), ("D", "A", 3.0), ("A", "C", 5.0))


def test_heights_that_make_no_plan(tmp_path: Path) -> None:
    fixings = _untaped("ABCD")
    fixings[1]["Height (m)"] = 7.5
    found = _problems(tmp_path, fixings=fixings, tape=_tape(*BOX), options=[MADE])
    assert ("Tape", "D2", "tape-too-steep") in found
    assert ("Tape", "D3", "tape-too-steep") in found


def test_two_lines_of_one_pair_that_disagree(tmp_path: Path) -> None:
    found = _problems(tmp_path, fixings=_untaped("ABCD"), tape=_tape(*BOX, ("B", "A", 4.2)), options=[MADE])
    assert ("Tape", "D7", "tape-repeats-disagree") in found


def test_a_fixing_nobody_tied_down(tmp_path: Path) -> None:
    found = _problems(tmp_path, fixings=_untaped("ABCDE"), tape=_tape(*BOX, ("E", "A", 2.0)), options=[MADE])
    assert ("Fixings", "B6", "tape-loose-point") in found


def test_a_line_to_a_fixing_that_is_not_there(tmp_path: Path) -> None:
    found = _problems(tmp_path, fixings=_untaped("ABCD"), tape=_tape(*BOX, ("A", "Z", 2.0)), options=[MADE])
    assert ("Tape", "C7", "fixing-unknown") in found


def test_an_order_that_crosses_itself(tmp_path: Path) -> None:
    found = _problems(tmp_path, fixings=square(6), options=[option("A C B D", "made to fit", Cloth="KNIT-LIGHT")])
    assert ("Options", "C2", "corners-cross") in found


def test_coordinates_and_tape_may_be_mixed(tmp_path: Path) -> None:
    fixings = [fixing("A", 1, 1, 2.6), fixing("B", 1, 5, 2.6), *_untaped("CD")]
    path = write_job(tmp_path / "job.xlsx", fixings=fixings, tape=_tape(*BOX), options=[MADE])
    outcome = run(path)
    assert outcome.priced is not None
    points = {p.fixing: (round(p.across, 3), round(p.out, 3)) for p in outcome.priced.options[0].taken.points}
    # the third fixing lies on the Out side where that says something; along Out it is the left of the first two
    assert points["A"] == (1, 1)
    assert points["B"] == (1, 5)
    assert abs(points["C"][1] - 5) < 0.01
    assert abs(abs(points["C"][0] - 1) - 3) < 0.01
    assert any(p.code == "tape-mirror" for p in outcome.problems)


def test_sails_that_overlap_and_could_rub(tmp_path: Path) -> None:
    rows = [
        *square(6),
        fixing("E", 4, 4, 2.7),
        fixing("F", 10, 4, 2.7),
        fixing("G", 10, 10, 2.7),
        fixing("H", 4, 10, 2.7),
    ]
    two = [{**MADE, "Sail": "low"}, {**option("E F G H", "made to fit", Cloth="KNIT-LIGHT"), "Sail": "high"}]
    assert ("Options", "C3", "sails-near") in _problems(tmp_path, fixings=rows, options=two)
    for row in rows[4:]:
        row["Height (m)"] = 3.3
    assert "sails-near" not in {code for _, _, code in _problems(tmp_path, fixings=rows, options=two)}


def test_a_low_corner_is_told(tmp_path: Path) -> None:
    rows = square(6)
    rows[2]["Height (m)"] = 1.9
    assert ("Options", "C2", "low-corner") in _problems(tmp_path, fixings=rows, options=[MADE])


def test_two_sails_that_disagree_on_their_post_name_both_cells(tmp_path: Path) -> None:
    rows = [*square(6), fixing("E", 12, 0, 2.6), fixing("F", 12, 6, 2.6)]
    two = [
        {**MADE, "Depth (m)": 1.0},
        {**option("B E F C", "made to fit", Cloth="KNIT-LIGHT"), "Depth (m)": 1.3},
    ]
    path = write_job(tmp_path / "job.xlsx", fixings=rows, options=two)
    outcome = run(path)
    told = [p for p in outcome.problems if p.code == "post-disagrees"]
    assert len(told) == 2
    assert all("Options!F2" in p.message and "Options!F3" in p.message for p in told)
    assert outcome.priced is not None
    assert outcome.priced.options[0].bill is None


def test_what_fixings_say_of_a_post_wins(tmp_path: Path) -> None:
    rows = square(6, **{"Depth (m)": 1.4})
    outcome = run(write_job(tmp_path / "job.xlsx", fixings=rows, options=[{**MADE, "Depth (m)": 1.0}]))
    assert outcome.priced is not None
    assert {f.depth for f in outcome.priced.options[0].taken.footings} == {1.4}


def test_a_wall_option_is_set_out_with_names_of_its_own(tmp_path: Path) -> None:
    wall = {"Site": "Yard", "Wall": "North", "Length (m)": 8, "Fixing height (m)": 2.7, "First rafter (m)": 0.3,
            "Rafter spacing (m)": 0.6, "Post height (m)": 2.3}  # fmt: skip
    row = {"Site": "Yard", "Option": "1", "Wall": "North", "Size": "SQ-3600"}
    outcome = run(write_job(tmp_path / "job.xlsx", walls=[wall], options=[row]))
    assert outcome.priced is not None, outcome.problems
    one = outcome.priced.options[0]
    assert one.status == "priced", outcome.problems
    points = {p.fixing: p for p in one.taken.points}
    assert list(points) == ["W1", "W2", "P2", "P1"]
    for mark, post in (("W1", "P1"), ("W2", "P2")):
        assert points[post].across == points[mark].across
        rafter = (points[mark].across - 0.3) / 0.6
        assert abs(rafter - round(rafter)) < 0.01
    assert {p.post_name for p in one.taken.posts} == {"P1", "P2"}


def test_no_mark_may_leave_the_wall(tmp_path: Path) -> None:
    wall = {"Site": "Yard", "Wall": "North", "Length (m)": 4, "Fixing height (m)": 2.7, "Post height (m)": 2.3}
    row = {"Site": "Yard", "Option": "1", "Wall": "North", "Size": "SQ-3600"}
    outcome = run(write_job(tmp_path / "job.xlsx", walls=[wall], options=[row]))
    told = next(p for p in outcome.problems if p.code == "wall-off-the-wall")
    assert told.place.sheet == "Walls"
    assert "longest side" in told.message
    assert outcome.priced is not None
    assert outcome.priced.options[0].bill is None
