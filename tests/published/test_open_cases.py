"""Situations that people have asked about in public; the right answers are our own arithmetic from their numbers."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.jobfile import price_file
from estimator.report.json_out import job_data
from tests.build import DAY, fixing, option, run, square, write_job
from tests.rate_books import Change, put, setting, with_changes

FOOT = 0.3048


def _priced(tmp_path: Path, rates: dict[str, Change] | None = None, **rows: Any) -> dict[str, Any]:
    folder = with_changes(tmp_path / "rates", rates) if rates else None
    outcome = run(write_job(tmp_path / "job.xlsx", **rows), folder)
    assert outcome.priced is not None, outcome.problems
    data = job_data(outcome.priced)
    found: dict[str, Any] = data["sites"][0]["options"][0]
    return {**found, "problems": data["problems"]}


def test_a_factory_square_on_four_posts(tmp_path: Path) -> None:
    # 18 ft square, post centres 20 ft 10 in each way, 12 ft posts: 9 ft out and 3 ft in.
    spread = (20 + 10 / 12) * FOOT
    data = _priced(
        tmp_path,
        fixings=square(spread, 9 * FOOT, **{"Depth (m)": 3 * FOOT}),
        options=[option("A B C D", "18' x 18'", Cloth="KNIT-HEAVY")],
    )
    for corner in data["corners"]:
        assert corner["gap"] == pytest.approx(0.611, abs=0.001)  # 432 mm an axis
        assert corner["gap"] / 2**0.5 == pytest.approx(0.432, abs=0.001)
        assert corner["off_bisector"] == pytest.approx(0, abs=0.01)
    # 3 ft is a third of the 9 ft out, but not a third of the whole post (4 ft 6 in); the rules are shown beside
    shallow = [p for p in data["problems"] if p["code"] == "footing-shallow"]
    assert shallow == []
    assert {f["rule"] for f in data["footings"]} == {"given"}
    # the list forgot the sail, the fittings, labour, spoil, travel and the second visit
    kinds = {line["kind"] for line in data["lines"]}
    codes = {line["code"] for line in data["lines"]}
    assert "labour" in kinds
    assert {"KNIT-HEAVY", "TEN-M12", "spoil-away", "travel-km"} <= codes
    assert data["visits"] >= 2


def test_that_builder_s_own_list_sums_to_378() -> None:
    # posts 220, auger 40, bar 8, concrete 60, delivery 20, brace timber 30
    assert sum((220, 40, 8, 60, 20, 30)) == 378


@pytest.mark.parametrize(("height", "post", "out"), [(2.4, 1.2, 0.8), (3.0, 1.5, 1.0)])
def test_which_one_third_is_named_and_warned_about(tmp_path: Path, height: float, post: float, out: float) -> None:
    # "how deep for 2.4 m of post?": 1,200 or 800 mm; at 3.0 m: 1,500 or 1,000 mm
    rows: dict[str, Any] = {"fixings": square(6, height), "options": [option("A B C D", "SQ-5000")]}
    for rule, depth in (("third of the post", post), ("third of the height", out)):
        folder = tmp_path / rule
        folder.mkdir()
        data = _priced(folder, {"settings": setting("footing rule", rule)}, **rows)
        assert {f["rule"] for f in data["footings"]} == {rule}
        assert all(f["depth"] == pytest.approx(depth) for f in data["footings"])
        for p in data["posts"]:
            assert p["length"] == pytest.approx(p["above_ground"] + p["in_ground"] + 0.05)
    rows["options"] = [option("A B C D", "SQ-5000", **{"Depth (m)": out - 0.1})]
    shallow = _priced(tmp_path, **rows)
    warned = [p for p in shallow["problems"] if p["code"] == "footing-shallow"]
    assert len(warned) == 4
    assert f"{out - 0.1:.3f}" in warned[0]["message"]
    assert f"{out:.3f}" in warned[0]["message"]


def test_52_bags_bought_and_18_used(tmp_path: Path) -> None:
    # 26 holes of 8 in by 2 ft for fence posts: volume is the hole less the post, waste once, bags rounded once
    def only_bags(rows: list[dict[str, str]]) -> None:
        rows[:] = [r for r in rows if r["code"] == "CON-BAG-20"]

    def no_stone(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["stone layer (mm)"] = "0"

    data = _priced(
        tmp_path,
        {"concrete": only_bags, "ground": no_stone},
        fixings=square(6, 2.4, **{"Depth (m)": 0.6096, "Hole (m)": 0.2032, "Lean": 0, "Post": "LT-125"}),
        options=[option("A B C D", "SQ-5000")],
    )
    for f in data["footings"]:
        assert f["hole"] == pytest.approx(0.0198, abs=0.0001)
        assert f["concrete"] == pytest.approx(f["hole"] - 0.125**2 * 0.6096, abs=1e-9)  # the post takes half of it
    net = sum(f["concrete"] for f in data["footings"])
    bags = next(line for line in data["lines"] if line["code"] == "CON-BAG-20")
    assert Decimal(bags["quantity"]) == -(-net * 1.1 // 0.009259)
    assert "net" in bags["working"]
    assert "gross" in bags["working"]
    assert any(p["code"] == "hole-narrow" for p in data["problems"])  # barely wider than the post


def test_twenty_per_cent_is_said_both_ways(tmp_path: Path) -> None:
    # cost 80,000 and 20 % wanted: a margin gives 100,000, a markup 96,000
    def free(rows: list[dict[str, str]]) -> None:
        for row in rows:
            if row["step"] in ("overhead", "contingency"):
                row["rate (%)"] = "0"

    rows: dict[str, Any] = {"fixings": square(6), "options": [option("A B C D", "SQ-5000")]}
    for item, factor in (("Margin", Decimal(1) / Decimal("0.8")), ("Markup", Decimal("1.2"))):
        folder = tmp_path / item
        folder.mkdir()
        totals = _priced(folder, {"charges": free}, job={item: "20 %"}, **rows)["totals"]
        cost, price = Decimal(totals["cost"]), Decimal(totals["price_before_tax"])
        assert abs(price - cost * factor) <= Decimal("0.01")
        margin, markup = Decimal(totals["margin"]), Decimal(totals["markup"])
        assert abs(margin - (price - cost) / price) < Decimal("0.0001")
        assert abs(markup - (price - cost) / cost) < Decimal("0.0001")


def test_a_margin_of_100_per_cent_is_refused(tmp_path: Path) -> None:
    job = write_job(
        tmp_path / "job.xlsx", job={"Margin": "100 %"}, fixings=square(6), options=[option("A B C D", "SQ-5000")]
    )
    outcome = run(job)
    assert outcome.priced is not None
    assert outcome.priced.options[0].bill is None
    assert any(p.place.sheet == "Job" and p.level == "error" for p in outcome.problems)


def _quote(tmp_path: Path, **job: Any) -> list[str]:
    path = write_job(tmp_path / "q.xlsx", job=job, fixings=square(6), options=[option("A B C D", "SQ-5000")])
    done = price_file(path, today=DAY + timedelta(days=job.pop("later", 0)))
    assert done.status == 0, done.problems
    book = load_workbook(tmp_path / "q-quote.xlsx")
    return [
        str(v) for sheet in book.worksheets for row in sheet.iter_rows(values_only=True) for v in row if v is not None
    ]


def test_a_ballpark_does_not_become_the_price(tmp_path: Path) -> None:
    # 250 said on the spot, 360 billed, 275 settled: a budget figure prints as a range and says that it is no offer
    budget = _quote(tmp_path, Status="budget")
    assert any("not an offer" in t for t in budget)
    assert any("may come out between" in t for t in budget)
    firm = _quote(tmp_path, Status="firm")
    assert not any("may come out between" in t for t in firm)
    assert not any("not an offer" in t for t in firm)


def test_a_price_that_has_run_out_says_so(tmp_path: Path) -> None:
    path = write_job(
        tmp_path / "q.xlsx",
        job={"Status": "firm", "Valid for": 30},
        fixings=square(6),
        options=[option("A B C D", "SQ-5000")],
    )
    on_time = price_file(path, today=DAY + timedelta(days=30), quote=False)
    late = price_file(path, today=DAY + timedelta(days=31), quote=False)
    assert not any(p.code == "price-expired" for p in on_time.problems)
    assert any(p.code == "price-expired" for p in late.problems)
    assert late.outcome is not None
    assert late.outcome.priced is not None
    assert late.outcome.priced.options[0].quote_status == "expired"


def test_two_sails_on_one_post_at_two_heights_share_its_hole(tmp_path: Path) -> None:
    # common practice, no source: one post, one footing, its length from the highest fixing
    rows = [
        *square(6),
        fixing("H", 6, 0, 3.4, **{"On post": "B"}),
        fixing("L", 6, 6, 2.6, **{"On post": "C"}),
        fixing("E", 12, 0, 2.6),
        fixing("F", 12, 6, 2.6),
    ]
    data = _priced(
        tmp_path,
        fixings=rows,
        options=[
            option("A B C D", "SQ-5000", Sail="west"),
            option("H E F L", "SQ-5000", Sail="east"),
        ],
    )
    assert len(data["posts"]) == len(data["footings"]) == 6
    shared = next(p for p in data["posts"] if p["post_name"] == "B")
    assert set(shared["fixings"]) == {"B", "H"}
    assert shared["above_ground"] > 3.4
    assert data["measures"]["post"]["count"] == 6
    assert data["measures"]["fixing"]["count"] == 8


def test_two_sails_on_one_fixing_share_its_post(tmp_path: Path) -> None:
    rows = [*square(6), fixing("E", 12, 0, 2.6), fixing("F", 12, 6, 2.6)]
    data = _priced(
        tmp_path,
        fixings=rows,
        options=[option("A B C D", "SQ-5000"), option("B E F C", "SQ-5000")],
    )
    assert len(data["posts"]) == len(data["footings"]) == 6
    middle = next(p for p in data["posts"] if p["post_name"] == "B")
    assert middle["foot_across"] == pytest.approx(6, abs=1e-6)  # pulled evenly across, so it leans only along Out


def test_spare_length_is_a_minimum_and_the_short_set_helps(tmp_path: Path) -> None:
    # common practice, no source: 10 % of a side, half at each end; for a small sail its parts need more
    data = _priced(tmp_path, fixings=square(4.6), options=[option("A B C D", "SQ-4000")])
    assert all(c["take_up_left"] >= 0.025 for c in data["corners"])
    assert {c["set"] for c in data["corners"]} == {"short"}


@pytest.mark.parametrize(("ground", "stone", "pad"), [("firm", 0.1, 0.0), ("soft", 0.1, 0.1)])
def test_layers_under_the_post(tmp_path: Path, ground: str, stone: float, pad: float) -> None:
    # common practice, no source: firm ground 100 mm of stone; soft ground 100 mm of concrete over it
    data = _priced(
        tmp_path,
        sites=[{"Site": "Yard", "Ground": ground, "Travel": 0}],
        fixings=square(6),
        options=[option("A B C D", "SQ-5000")],
    )
    for f in data["footings"]:
        area = f["hole"] / f["hole_depth"]
        assert f["hole_depth"] == pytest.approx(f["depth"] + stone + pad)
        assert f["stone"] == pytest.approx(area * stone)
        assert f["pad"] == pytest.approx(area * pad)
        assert f["spoil"] == pytest.approx(f["hole"] * 1.3)


def test_a_tied_post_stands_plumb_and_a_free_one_leans(tmp_path: Path) -> None:
    # common practice, no source: 5 degrees away from the sail, plumb when fastened to a deck
    rows = square(6)
    rows[0]["Tied"] = "yes"
    data = _priced(tmp_path, fixings=rows, options=[option("A B C D", "SQ-5000")])
    leans = {p["post_name"]: p["lean"] for p in data["posts"]}
    assert leans == {"A": 0, "B": 5, "C": 5, "D": 5}
    foot = next(p for p in data["posts"] if p["post_name"] == "C")
    assert foot["foot_across"] < 6  # the foot stands nearer to the sail, the top leans away
    assert foot["foot_out"] < 6


def test_put_changes_one_row() -> None:
    rows = [{"code": "a", "price": "1"}, {"code": "b", "price": "2"}]
    put("code", "b", price="3")(rows)
    assert rows == [{"code": "a", "price": "1"}, {"code": "b", "price": "3"}]
