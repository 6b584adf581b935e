"""Consent, boundary and buried services: situations that people have asked about in public.

The limits are rows of a test rate book, named as they were told in each case; none of them is a truth about any place.
Distances and areas are our own arithmetic from the numbers that were given.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.pipeline import Outcome
from estimator.report.json_out import job_data
from estimator.report.quote_text import texts
from tests.build import fixing, option, run, square, write_job
from tests.rate_books import Change, with_changes

FOOT = 0.3048
PLACE = "Hill End"
YARD = {"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Existing sails": 0, "Services": "located"}
MADE: dict[str, Any] = {"Cloth": "KNIT-LIGHT"}
APPROVAL = {"consent-drawings", "consent-engineer", "consent-application", "consent-inspection", "meet-the-inspector"}


def limits(source: str, *rows: tuple[str, str] | tuple[str, str, str] | tuple[str, str, str, str]) -> Change:
    """A consent table of one place. rows: measure, limit, and if need be when and compare."""

    def change(table: list[dict[str, str]]) -> None:
        columns = list(table[0])
        table.clear()
        for row in rows:
            measure, limit, when, compare = (*row, "", "")[:4]
            asked = limit if measure == "question" else ""
            values = {"place": PLACE, "measure": measure, "limit": "" if asked else limit, "when": when}
            values |= {"compare": compare, "description": asked, "valid_from": "2020-01-01", "source": source}
            table.append({c: values.get(c, "") for c in columns})

    return change


def outcome(tmp_path: Path, consent: Change | None, site: dict[str, Any] | None = None, **rows: Any) -> Outcome:
    folder = with_changes(tmp_path / "rates", {"consent": consent}) if consent else None
    rows["sites"] = [{"Place": PLACE, **YARD, **(site or {})}]
    found = run(write_job(tmp_path / "job.xlsx", **rows), folder)
    assert found.priced is not None, found.problems
    return found


def first(found: Outcome) -> dict[str, Any]:
    assert found.priced is not None
    data = job_data(found.priced)
    one: dict[str, Any] = data["sites"][0]["options"][0]
    return {**one, "problems": data["problems"], "codes": {x["code"] for x in one.get("lines", ())}}


def one(tmp_path: Path, consent: Change | None, site: dict[str, Any] | None = None, **rows: Any) -> dict[str, Any]:
    return first(outcome(tmp_path, consent, site, **rows))


def row_of(data: dict[str, Any], measure: str) -> dict[str, Any]:
    found: dict[str, Any]
    (found,) = [r for r in data["consent"] if r["measure"] == measure]
    return found


def oblong(across: float, out: float, height: float = 2.6, held_by: str = "new post", **more: Any) -> Any:
    places = ((0, 0), (across, 0), (across, out), (0, out))
    return [fixing(n, x, y, height, held_by, **more) for n, (x, y) in zip("ABCD", places, strict=True)]


# C1 a national exemption: no consent up to 50 m2, at least 1 m from any legal boundary, ground or first storey only
EXEMPT = limits(
    "told in public of a national exemption",
    ("plan area", "50 m2"),
    ("footing to boundary", "1 m"),
    ("sail to boundary", "1 m"),
    ("question", "Does it stand on the ground or the first storey only?"),
)


@pytest.mark.parametrize(("size", "area", "inside"), [("5 x 10 m", 50.0, True), ("5 x 10.02 m", 50.1, False)])
def test_50_0_is_inside_and_50_1_is_not(tmp_path: Path, size: str, area: float, inside: bool) -> None:
    far = {"To boundary (m)": 4}
    data = one(tmp_path, EXEMPT, fixings=oblong(6.4, 11.4, **far), options=[option("A B C D", size, **MADE)])
    row = row_of(data, "plan area")
    assert row["value"] == pytest.approx(area, abs=1e-6)
    assert row["margin"] == pytest.approx(50 - area, abs=1e-6)
    assert row["inside"] is inside
    assert row["source"] == "told in public of a national exemption"
    assert (data["codes"] >= APPROVAL) is not inside
    assert (data["codes"] & APPROVAL == set()) is inside


@pytest.mark.parametrize(
    ("to_boundary", "footing", "sail"),
    [(1.3, True, True), (1.29, False, True), (1.0, False, True), (0.99, False, False)],
)
def test_the_edge_of_the_footing_is_tested_not_the_middle_of_the_post(
    tmp_path: Path, to_boundary: float, footing: bool, sail: bool
) -> None:
    # a 600 mm hole under a plumb post: its edge is 300 mm nearer than the fixing
    posts = square(6, **{"To boundary (m)": to_boundary, "Hole (m)": 0.6, "Lean": 0})
    data = one(tmp_path, EXEMPT, fixings=posts, options=[option("A B C D", "made to fit", **MADE)])
    edge, sail_row = row_of(data, "footing to boundary"), row_of(data, "sail to boundary")
    assert edge["value"] == pytest.approx(to_boundary - 0.3)
    assert edge["margin"] == pytest.approx(to_boundary - 0.3 - 1)
    assert sail_row["value"] == pytest.approx(to_boundary)
    assert (edge["inside"], sail_row["inside"]) == (footing, sail)
    assert ("consent-application" in data["codes"]) is not footing


def test_what_the_table_cannot_compare_is_asked(tmp_path: Path) -> None:
    data = one(
        tmp_path,
        EXEMPT,
        fixings=square(6, **{"To boundary (m)": 4}),
        options=[option("A B C D", "made to fit", **MADE)],
    )
    asked = row_of(data, "question")
    assert asked["inside"] is None
    assert asked["question"] == "Does it stand on the ground or the first storey only?"
    said = [p for p in data["problems"] if p["code"] == "consent-question"]
    assert len(said) == 1
    assert "first storey" in said[0]["message"]


def test_a_distance_that_nobody_measured_is_a_question(tmp_path: Path) -> None:
    posts = square(6, **{"Hole (m)": 0.6, "Lean": 0})
    for f, far in zip(posts, (4, 4, None, 4), strict=True):
        f["To boundary (m)"] = far
    data = one(tmp_path, EXEMPT, fixings=posts, options=[option("A B C D", "made to fit", **MADE)])
    for measure in ("footing to boundary", "sail to boundary"):
        row = row_of(data, measure)
        assert (row["inside"], row["margin"], row["bound"]) == (None, None, "or less")
        assert "C" in row["question"]
    unknown = [p for p in data["problems"] if p["code"] == "consent-unknown"]
    assert {(p["sheet"], p["cell"]) for p in unknown} == {("Fixings", "K4")}  # the blank cell itself
    assert "consent-application" not in data["codes"]


def test_one_known_distance_that_is_too_short_is_enough(tmp_path: Path) -> None:
    posts = square(6, **{"Hole (m)": 0.6, "Lean": 0})
    for f, far in zip(posts, (4, 0.5, None, 4), strict=True):
        f["To boundary (m)"] = far
    data = one(tmp_path, EXEMPT, fixings=posts, options=[option("A B C D", "made to fit", **MADE)])
    assert row_of(data, "sail to boundary")["inside"] is False
    assert "consent-application" in data["codes"]


WALLS = ("rafter", "rafter end", "fascia bracket", "beam", "solid wall", "concrete wall", "cavity wall", "block wall",
         "parapet")  # fmt: skip


@pytest.mark.parametrize("support", WALLS)
def test_each_hole_in_a_house_keeps_water_out(tmp_path: Path, support: str) -> None:
    # the code still holds when no consent is needed: what goes through a wall or roof is sealed
    fixings = square(6)
    for f in fixings[:3]:
        f["Held by"] = support
    data = one(tmp_path, EXEMPT, fixings=fixings, options=[option("A B C D", "made to fit", **MADE)])
    (seal,) = [x for x in data["lines"] if x["code"] == "sealant"]
    assert f"x 3 fixing count ({support})" in seal["working"]


# C2 one city: no permit under 20 m2 and under 2.4 m, unless a sail is already there
CITY = limits(
    "told in public of a city",
    ("plan area", "20 m2", "", "under"),
    ("height above ground", "2.4 m", "", "under"),
    ("existing sails", "0"),
)
# a state code elsewhere: 3 m height, 900 mm from each boundary
STATE = limits("told in public of a state code", ("height above ground", "3 m"), ("sail to boundary", "900 mm"))


def probe(tmp_path: Path, there: int | None, size: str = "4 x 4.5 m", height: float = 2.3) -> dict[str, Any]:
    """A sail of 18 m2 on rafters and fascia, so that nothing stands above its fixings."""
    fixings = oblong(5.4, 5.9, height, "rafter")
    return one(tmp_path, CITY, {"Existing sails": there}, fixings=fixings, options=[option("A B C D", size, **MADE)])


def test_the_second_sail_on_the_plot_needs_a_permit(tmp_path: Path) -> None:
    # probe: 18 m2 at 2.3 m, second sail on the plot
    data = probe(tmp_path, 1)
    got = {r["measure"]: (round(r["value"], 3), round(r["margin"], 3), r["inside"]) for r in data["consent"]}
    assert got == {
        "plan area": (18.0, 2.0, True),
        "height above ground": (2.3, 0.1, True),
        "existing sails": (1.0, -1.0, False),
    }
    assert data["codes"] >= APPROVAL  # engineer's papers, drawings, application, inspection, and meeting the inspector
    dated = next(p for p in data["problems"] if p["code"] == "consent-needed")
    assert "told in public of a city, from 2020-01-01" in dated["message"]


def test_the_first_sail_does_not(tmp_path: Path) -> None:
    data = probe(tmp_path, 0)
    assert [r["inside"] for r in data["consent"]] == [True, True, True]
    assert data["codes"] & APPROVAL == set()


def test_whether_a_sail_is_there_is_asked(tmp_path: Path) -> None:
    data = probe(tmp_path, None)
    row = row_of(data, "existing sails")
    assert (row["inside"], row["value"], row["margin"]) == (None, None, None)
    assert "how many" in row["question"]
    assert data["codes"] & APPROVAL == set()


@pytest.mark.parametrize(("size", "inside"), [("4 x 5 m", False), ("4 x 4.99 m", True), ("4 x 5.01 m", False)])
def test_under_20_m2_leaves_20_m2_out(tmp_path: Path, size: str, inside: bool) -> None:
    fixings = oblong(5.4, 6.4, 2.3, "rafter")
    data = one(tmp_path, CITY, fixings=fixings, options=[option("A B C D", size, **MADE)])
    assert row_of(data, "plan area")["inside"] is inside


@pytest.mark.parametrize(("height", "inside"), [(2.399, True), (2.4, False), (2.401, False)])
def test_under_2_4_m_leaves_2_4_m_out(tmp_path: Path, height: float, inside: bool) -> None:
    assert row_of(probe(tmp_path, 0, height=height), "height above ground")["inside"] is inside


@pytest.mark.parametrize(
    ("height", "to_boundary", "inside"),
    [(3.0, 0.9, [True, True]), (3.001, 0.9, [False, True]), (3.0, 0.899, [True, False])],
)
def test_3_m_and_900_mm_are_kept_by_the_limit_itself(
    tmp_path: Path, height: float, to_boundary: float, inside: list[bool]
) -> None:
    fixings = oblong(5.4, 5.9, height, "rafter", **{"To boundary (m)": to_boundary})
    data = one(tmp_path, STATE, fixings=fixings, options=[option("A B C D", "made to fit", **MADE)])
    assert [r["inside"] for r in data["consent"]] == inside


def test_height_is_from_the_ground_level_and_counts_the_top_of_a_post(tmp_path: Path) -> None:
    # ground 0.5 m below the datum: a fixing at 2.3 m stands 2.8 m above it, and the post ends above the fixing
    on_house = oblong(5.4, 5.9, 2.3, "rafter", **{"Ground level (m)": -0.5})
    data = one(tmp_path, STATE, fixings=on_house, options=[option("A B C D", "made to fit", **MADE)])
    assert row_of(data, "height above ground")["value"] == pytest.approx(2.8)
    folder = tmp_path / "posts"
    folder.mkdir()
    posts = oblong(5.4, 5.9, 2.3, **{"Lean": 0})
    data = one(folder, STATE, fixings=posts, options=[option("A B C D", "made to fit", **MADE)])
    assert row_of(data, "height above ground")["value"] == pytest.approx(data["posts"][0]["above_ground"])
    assert data["posts"][0]["above_ground"] > 2.3


# C3 a cyclone coast: always a permit; no set distance, but footings must lie wholly inside
COAST = limits("told in public of a cyclone coast", ("plan area", "0 m2"), ("footing to boundary", "0 m"))


@pytest.mark.parametrize(("centre", "edge"), [(0.25, -0.05), (0.3, 0.0), (0.301, 0.001)])
def test_a_600_mm_footing_250_mm_from_the_line_crosses_it_by_50(tmp_path: Path, centre: float, edge: float) -> None:
    posts = square(4.4, **{"To boundary (m)": centre, "Hole (m)": 0.6, "Lean": 0})
    data = one(tmp_path, COAST, {"Near": "cyclone coast"}, fixings=posts, options=[option("A B C D", "SQ-3600")])
    row = row_of(data, "footing to boundary")
    assert row["value"] == pytest.approx(edge)
    assert row["inside"] is (edge > -1e-6)
    crossing = [p["message"] for p in data["problems"] if p["code"] == "hole-over-boundary"]
    assert len(crossing) == (4 if edge < 0 else 0)
    assert all("by 50 mm" in m for m in crossing)


def test_approval_is_shown_even_where_it_costs_more_than_the_sail(tmp_path: Path) -> None:
    found = outcome(
        tmp_path,
        COAST,
        {"Near": "cyclone coast"},
        fixings=square(4.4, **{"To boundary (m)": 3}),
        options=[option("A B C D", "SQ-3600")],
    )
    data = first(found)
    cost = {x["code"]: Decimal(x["cost"]) for x in data["lines"]}
    approval = sum(c for code, c in cost.items() if code in APPROVAL)
    assert cost.keys() >= APPROVAL
    assert approval > cost["SQ-3600"]
    assert Decimal(data["totals"]["cost"]) == sum(Decimal(x["cost"]) for x in data["lines"])  # and it is in the price
    assert found.priced is not None
    assert any("as soon as a storm or cyclone warning is given" in t for t in texts(found.priced, "caution"))
    assert any("No hole is dug before" in t for t in texts(found.priced, "consent"))


# C4 a city: free-standing under 200 sq ft usually no permit; attached always plan, permit and inspection
ATTACHED = limits(
    "told in public of a city; national model code 200 sq ft",
    ("plan area", "200 sq ft", "free-standing", "under"),
    ("house anchor", "0"),
    ("footing to boundary", "3 ft"),
)


def corners_on_the_house(tmp_path: Path, count: int, size: str, to_boundary: float = 3.0) -> dict[str, Any]:
    fixings = oblong(20 * FOOT, 16 * FOOT, **{"To boundary (m)": to_boundary, "Lean": 0, "Hole (m)": 0.4})
    for f in fixings[:count]:
        f["Held by"] = "rafter"
    return one(tmp_path, ATTACHED, fixings=fixings, options=[option("A B C D", size, **MADE)])


def test_180_sq_ft_free_standing_needs_none(tmp_path: Path) -> None:
    data = corners_on_the_house(tmp_path, 0, "15' x 12'")
    row = row_of(data, "plan area")
    assert row["value"] == pytest.approx(180 * FOOT**2)
    assert row["margin"] == pytest.approx(20 * FOOT**2)
    assert row["when"] == "free-standing"
    assert data["codes"] & APPROVAL == set()


@pytest.mark.parametrize("count", [1, 2])
def test_any_corner_on_the_house_switches_the_rules(tmp_path: Path, count: int) -> None:
    data = corners_on_the_house(tmp_path, count, "15' x 12'")
    assert {r["measure"]: r["inside"] for r in data["consent"]} == {
        "house anchor": False,  # the row of the free-standing sail is not compared
        "footing to boundary": True,  # setbacks hold in both
    }
    assert data["codes"] >= APPROVAL
    assert any(h["task"] == "meet the inspector" and h["hours"] > 0 for h in data["labour"])


def test_setbacks_hold_when_the_sail_is_exempt(tmp_path: Path) -> None:
    near = 3 * FOOT + 0.2
    data = corners_on_the_house(tmp_path, 0, "15' x 12'", near)
    assert row_of(data, "footing to boundary")["inside"] is True
    folder = tmp_path / "nearer"
    folder.mkdir()
    data = corners_on_the_house(folder, 0, "15' x 12'", near - 0.001)
    assert row_of(data, "plan area")["inside"] is True
    assert row_of(data, "footing to boundary")["inside"] is False
    assert data["codes"] >= APPROVAL


@pytest.mark.parametrize(("size", "inside"), [("16' x 12' 6\"", False), ("15' 11\" x 12' 6\"", True)])
def test_under_200_sq_ft_leaves_200_out(tmp_path: Path, size: str, inside: bool) -> None:
    assert row_of(corners_on_the_house(tmp_path, 0, size), "plan area")["inside"] is inside


# C5 a sewer beside the hole: one authority wants 1.0 m from mains; private lines need a paid locator
def beside_a_sewer(tmp_path: Path, services: str | None, far: float, **rows: Any) -> dict[str, Any]:
    posts = square(6, **{"To service (m)": far, "Hole (m)": 0.4, "Lean": 0})
    site = {"Services": services}
    return one(tmp_path, None, site, fixings=posts, options=[option("A B C D", "SQ-5000")], **rows)


@pytest.mark.parametrize(("far", "near"), [(0.7, False), (0.69, True)])
def test_the_edge_of_the_hole_is_held_against_the_clearance(tmp_path: Path, far: float, near: bool) -> None:
    # 500 mm in the default rate book; a 400 mm hole reaches 200 mm toward the service
    data = beside_a_sewer(tmp_path, "located", far)
    assert [f["edge_to_service"] for f in data["footings"]] == [pytest.approx(far - 0.2)] * 4
    told = [p["message"] for p in data["problems"] if p["code"] == "hole-near-service"]
    assert len(told) == (4 if near else 0)


def test_the_ways_out_beside_a_service_in_their_order(tmp_path: Path) -> None:
    told = next(
        p["message"]
        for p in beside_a_sewer(tmp_path, "plans", 0.6)["problems"]
        if p["code"] == "hole-near-service"
    )  # fmt: skip
    ladder = [told.index(w) for w in ("move the post 100 mm", "dig by hand", "dug by vacuum (vacuum-dig, 380 each")]
    assert ladder == sorted(ladder)
    assert "services are known from plans only" in told


def test_a_vacuum_dig_that_is_listed_is_said_to_be(tmp_path: Path) -> None:
    extra = {"Site": "Yard", "Description": "Hole by vacuum", "Quantity": 1, "Unit": "each", "Item": "vacuum-dig"}
    data = beside_a_sewer(tmp_path, "located", 0.6, extras=[extra])
    told = next(p["message"] for p in data["problems"] if p["code"] == "hole-near-service")
    assert "(vacuum-dig, listed in Extras)" in told
    assert "vacuum-dig" in data["codes"]


@pytest.mark.parametrize(
    ("services", "warned"), [(None, True), ("none", True), ("plans", True), ("located", False), ("exposed", False)]
)
def test_private_lines_need_a_paid_locator(tmp_path: Path, services: str | None, warned: bool) -> None:
    told = [
        p["message"]
        for p in beside_a_sewer(tmp_path, services, 3)["problems"]
        if p["code"] == "services-not-located"
    ]  # fmt: skip
    assert [("private-locate, 290 each" in m and "paid locator" in m) for m in told] == [True] * warned
