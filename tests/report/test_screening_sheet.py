"""The office's view of a screening: the sheet Screening, its block on Summary, Corners, Posts, JSON."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from math import hypot
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.core.problems import Place, Problem
from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.book import render_sheets
from estimator.report.json_out import job_data
from estimator.report.screening_rows import NOT_ASKED, checks, corner_row, not_screened, take_down
from estimator.screening.model import CornerForce, TakeDown
from tests.build import fixing
from tests.report import sample, screened
from tests.screening.yards import posts, priced

FORBIDDEN = re.compile(r"\bOK\b|\bpass(es|ed)?\b|\bsafe(ly)?\b|\bapproved\b|\bfails?\b", re.IGNORECASE)


def sheet_of(priced: PricedJob, name: str = "Screening") -> Any:
    return load_workbook(BytesIO(render_sheets(priced, drawings=False)), data_only=True)[name]


def rows(sheet: Any) -> list[list[Any]]:
    return [[c.value for c in row if c.value is not None] for row in sheet.iter_rows() if any(c.value for c in row)]


def under(sheet: Any, heading: str) -> list[list[Any]]:
    """The rows of the table after a heading, up to the next row of one cell."""
    found = rows(sheet)
    start = next(n for n, row in enumerate(found) if row[0] == heading)
    after = found[start + 2 :]
    end = next((n for n, row in enumerate(after) if len(row) == 1), len(after))
    return after[:end]


def test_the_head_says_for_whom_and_how_far_it_goes() -> None:
    sheet = sheet_of(screened.screened_sample())
    said = " ".join(str(v) for row in rows(sheet) for v in row)
    assert sheet["A1"].value == look.OFFICE
    assert "Indicative, for a structural engineer to confirm" in said
    assert "Local codes" in said
    assert "1 of 3 options are screened" in said
    assert "80 km/h (22.2 m/s, 49 mph)" in said


def test_gust_pressure_and_what_is_told_and_why() -> None:
    found = {row[0]: row[1:] for row in rows(sheet_of(screened.screened_sample()))}
    assert found["Gust looked at"] == [f"21.4 m/s (77 km/h, 48 mph): {screened.SCREENED.gust_words}"]
    assert found["Pressure"] == ["357 Pa upward, 220 Pa downward, on cloth that takes the whole of the wind"]
    assert found["Told to crew and customer"] == ["45 km/h (12.5 m/s, 27 mph)"]
    assert found["Because"][0].startswith("0.7 x 66.1 km/h = 46.3 km/h, down to steps of 5 km/h")
    first, second = found["First used up"], found["Second"]
    assert first[0] == "eye EB12, sail 1 at A"
    assert first[1:] == pytest.approx([18.37, 18.37 * 3.6, 18.37 / 0.44704])
    assert second[1:] == pytest.approx([23.64, 23.64 * 3.6, 23.64 / 0.44704])


def test_parts_stand_most_used_first_each_in_its_unit() -> None:
    table = under(sheet_of(screened.screened_sample()), "Parts at this gust, the most used first")
    assert [row[0] for row in table] == [
        "eye EB12", "depth, free at the ground", "bending of SHS100", "movement of SHS100", "masonry wall",
    ]  # fmt: skip
    eye, depth, bending, movement, wall = table
    assert eye[2:7] == [pytest.approx(3843 / 3413), pytest.approx(3.843), pytest.approx(3.413), "kN", "pushed up"]
    assert depth[3:6] == [pytest.approx(1.0731), pytest.approx(1.2), "m"]
    assert bending[3:6] == [pytest.approx(131.17), pytest.approx(160), "MPa"]
    assert movement[7] == "no"
    bold = [c.value for row in sheet_of(screened.screened_sample()).iter_rows() for c in row if c.font.b]
    assert "eye EB12" in bold, "used up at this gust"
    assert "bending of SHS100" not in bold
    assert wall[2:6] == ["not known", pytest.approx(3.8627), "not known", "kN"]
    assert [row[-1] for row in table] == [c.working for c, _ in checks(screened.SCREENED, "metric")]


def test_unknown_parts_stand_as_questions() -> None:
    said = [row[0] for row in rows(sheet_of(screened.screened_sample()))]
    assert "? B, masonry wall: an engineer has to say what it holds" in said
    none = screened.with_options(sample.priced(), screened.at(sample.priced().options[0], unknown=()))
    assert not any(str(row[0]).startswith(("?", "To be answered")) for row in rows(sheet_of(none)))


def test_the_larger_of_form_and_rule_of_thumb_is_named() -> None:
    """Worked by hand from the vectors: sideways is the level part, upward the last part."""
    flat = corner_row(CornerForce("1", "A", (0, 100, 0), (3000, 4000, 800), (1000, 0, -500)), (3, 5))
    assert flat[5:10] == pytest.approx([hypot(5000, 800), 5000, 800, 2400, 4000])
    assert flat[10] == "the form of the sail, 6.2 times"
    steep = corner_row(CornerForce("1", "A", (0, 100, 0), (600, 800, 900), (100, 0, -500)), (3, 5))
    assert steep[8:] == [2700, 4500, "the rule of thumb, 5 times"]
    alone = corner_row(CornerForce("1", "A", (0, 100, 0), (600, 800, 900), (100, 0, -500)), None)
    assert alone[8:] == [None, None, "the form of the sail"]
    never_up = corner_row(CornerForce("1", "A", (0, 100, -5), (600, 800, -90), (100, 0, -500)), (3, 5))
    assert never_up[7:] == [0, 0, 0, "the form of the sail"]


def test_corner_forces_and_sails() -> None:
    sheet = sheet_of(screened.screened_sample())
    forces = under(sheet, "Pull of each corner on its fixing")
    assert [row[1] for row in forces] == ["A", "B", "C"]
    assert forces[0][5] == pytest.approx(hypot(2913, 2207, 1187) / 1000)
    said = " ".join(str(v) for row in rows(sheet) for v in row)
    assert "3 to 5 times the upward share" in said
    sails = under(sheet, "The sails under their pretension, in still air")
    assert sails == [["1", 10.37, 0.31, 0.22, 2.863, 3.07, 5.21, 2.417, sails[0][-1]]]
    assert sails[0][-1].startswith("no pool found")


def test_a_pool_is_told_where_it_is() -> None:
    shape = replace(screened.SCREENED.shapes[0], pond=(2.1, 3.4, 0.023))
    priced = screened.with_options(sample.priced(), screened.at(sample.priced().options[0], shapes=(shape,)))
    sails = under(sheet_of(priced), "The sails under their pretension, in still air")
    assert sails[0][-1] == "a pool 0.023 m deep, its middle at Across 2.100 m, Out 3.400 m"


def test_options_that_are_not_screened_say_why() -> None:
    priced = screened.screened_sample()
    sheet = sheet_of(priced)
    assert [row[:2] for row in under(sheet, "Not screened")] == [["Terrace", "2"], ["Back yard", "1"]]
    assert {row[2] for row in under(sheet, "Not screened")} == {NOT_ASKED}
    place = Place("job.xlsx", "Sites", "R2")
    lacks = Problem("screen-lacks", "note", place, f"{place}: the rate book has no air density.", "back yard", "1")
    why = dict(zip("ab", (w for _, w in not_screened(replace(priced, problems=(lacks,)))), strict=True))
    assert why == {"a": NOT_ASKED, "b": "the rate book has no air density."}
    windy = replace(priced.options[1], site=replace(priced.options[1].site, wind_speed=40.0))
    assert "To check" in not_screened(screened.with_options(priced, windy))[0][1]


def test_a_job_that_is_not_screened_says_so_and_tells_the_firm_s_limit() -> None:
    priced = sample.priced()
    assert len(under(sheet_of(priced), "Not screened")) == 3
    said = " ".join(str(v) for row in rows(sheet_of(priced, "Summary")) for v in row)
    assert "No option is screened. Told to crew and customer is the firm's own limit: 80 km/h" in said


def test_take_down_in_still_air_not_reached_and_not_known() -> None:
    still = take_down(TakeDown(0.0, "chain 8", "post", 4.0, True))
    assert still[0][0] == "Used up in still air"
    over = take_down(TakeDown(60.0, "chain 8", "post", None, False))
    assert over[0][0].startswith("Nothing used up by the highest gust tried")
    assert over[1] == ["Then", "post", None, None, None]
    assert take_down(None) == []
    unknown = screened.with_options(sample.priced(), screened.at(sample.priced().options[0], take_down=None))
    assert any("No take-down wind could be found" in str(row[0]) for row in rows(sheet_of(unknown)))


def test_feet_and_inches_have_pounds_beside() -> None:
    """One pound-force is 4.4482216152605 N by definition."""
    sheet = sheet_of(screened.screened_sample(units="feet and inches"))
    eye, depth = under(sheet, "Parts at this gust, the most used first")[:2]
    assert eye[3] == pytest.approx(3.843)
    assert eye[-2:] == pytest.approx([3843 / 4.4482216152605, 3413 / 4.4482216152605])
    assert depth[3:5] == ["3' 6 1/4\"", "3' 11 1/4\""]
    forces = under(sheet, "Pull of each corner on its fixing")
    assert forces[0][-2] == pytest.approx(hypot(2913, 2207, 1187) / 4.4482216152605)
    said = " ".join(str(v) for row in rows(sheet) for v in row)
    assert "(7.5 psf)" in said  # 357.21 Pa / 47.880 Pa


def test_summary_has_a_row_an_option() -> None:
    priced = screened.screened_sample()
    table = under(sheet_of(priced, "Summary"), "Wind, indicative")
    assert [row[:2] for row in table] == [["Terrace", "1"], ["Terrace", "2"], ["Back yard", "1"]]
    first = table[0]
    assert first[2:5] == ["chosen", 45, "eye EB12, sail 1 at A"]
    speeds = [x * by for x in (18.37, 23.64) for by in (1, 3.6, 1 / 0.44704)]
    assert first[5:11] == pytest.approx(speeds)
    assert first[11] == "bending of SHS100, post C"
    assert table[1][2:] == [80, "not screened"]
    low = screened.with_options(priced, screened.at(priced.options[0], 1.0), *priced.options[1:])
    assert under(sheet_of(low, "Summary"), "Wind, indicative")[0][3] == "none"


def test_corners_show_the_greatest_pull_only_when_screened() -> None:
    plain = [c.value for c in sheet_of(sample.priced(), "Corners")[3]]
    assert not any("pull" in str(h).casefold() for h in plain)
    sheet = sheet_of(screened.screened_sample(), "Corners")
    heads = [c.value for c in sheet[3]]
    pull, share = heads.index("Greatest pull (kN)"), heads.index("Pull over working load")
    assert heads.index("Working load (kN)") == pull - 1
    assert sheet.cell(6, pull + 1).value == pytest.approx(hypot(42, 4498, 773) / 1000)
    assert sheet.cell(6, share + 1).value == pytest.approx(hypot(42, 4498, 773) / 8000)
    assert sheet.cell(7, pull + 1).value is None


def test_posts_show_what_keeps_them_from_rust() -> None:
    priced = sample.priced()
    section = replace(priced.book.posts["shs100"], finish="hot-dip galvanised")
    galvanised = replace(priced, book=replace(priced.book, posts={"shs100": section}))
    sheet = sheet_of(galvanised, "Posts")
    heads = [c.value for c in sheet[5]]
    assert sheet.cell(6, heads.index("Finish") + 1).value == "hot-dip galvanised"
    footings = next(row for row in sheet.iter_rows() if row[4].value == "Ground")
    assert footings[3].value == "Fixings"


def option_of(priced: PricedJob, site: int, number: int) -> dict[str, Any]:
    found: dict[str, Any] = job_data(priced)["sites"][site]["options"][number]
    return found


def test_json_holds_the_screening_of_a_screened_option_only() -> None:
    priced = screened.screened_sample()
    first, other = option_of(priced, 0, 0), option_of(priced, 1, 0)
    assert [c["force"] for c in first["corners"]] == [f.greatest for f in screened.FORCES]
    assert set(first["screening"][0]) >= {"part", "where", "demand", "capacity", "used", "source"}
    assert [c["used"] for c in first["screening"]] == [c.used for c in screened.SCREENED.checks]
    assert first["take_down"] == {
        "wind": 18.37, "first": "eye EB12, sail 1 at A", "second": "bending of SHS100, post C", "second_wind": 23.64,
        "reached": True, "told": 45.0,
    }  # fmt: skip
    assert not {"screening", "take_down"} & set(other)
    assert not any("force" in c for c in other["corners"])


def test_json_of_an_option_without_a_price_and_one_without_a_take_down_wind() -> None:
    priced = sample.priced()
    changed = screened.with_options(
        priced, screened.at(priced.options[0], take_down=None), screened.at(priced.options[1])
    )
    known, not_priced = option_of(changed, 0, 0), option_of(changed, 0, 1)
    assert len(known["screening"]) == 5
    assert "take_down" not in known
    assert not_priced["status"] == "not priced"
    assert not_priced["take_down"]["told"] == 45.0
    assert "totals" not in not_priced


def test_no_word_says_that_a_part_holds() -> None:
    priced = screened.screened_sample()
    for name in ("Summary", "Corners", "Posts", "Screening"):
        said = " ".join(str(v) for row in rows(sheet_of(priced, name)) for v in row)
        assert not FORBIDDEN.search(said.replace("Nothing here says that a part holds", "")), name
    assert FORBIDDEN.search("This passes.")


def test_a_post_on_a_plate_and_a_tied_one_are_shown_with_their_moments(tmp_path: Path) -> None:
    """An engineer is told the moment at the plate; nothing is held against it."""
    for number, points in enumerate(([*posts()[:3], fixing("D", 0, 6, 3.4, "base plate")], posts(Tied="yes"))):
        folder = tmp_path / str(number)
        folder.mkdir()
        job = priced(folder, points)
        parts = [row for row in sheet_of(job).iter_rows(values_only=True) if "kNm" in row]
        assert len(parts) == (1, 4)[number]
        assert all(row[3] and (row[4] == "not known") is (number == 0) for row in parts)
