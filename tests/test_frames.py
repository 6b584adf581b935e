"""The frames: the same figures as the JSON, money as Decimal, nothing lost on the way."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from pandas import DataFrame

from estimator import frames
from estimator.frames import (
    corners_frame,
    labour_frame,
    lines_frame,
    posts_frame,
    price,
    problems_frame,
    screening_frame,
)
from estimator.pricing.model import PricedJob
from estimator.report.json_out import job_data
from tests.build import DAY, square, write_job
from tests.golden.samples import FOLDER


@pytest.fixture(scope="module", params=["riverside", "messy"])
def priced(request: pytest.FixtureRequest) -> PricedJob:
    return price(FOLDER / f"{request.param}.xlsx", today=DAY)


def options(priced: PricedJob) -> list[tuple[str, dict[str, Any]]]:
    return [(s["site"], o) for s in job_data(priced)["sites"] for o in s["options"]]


def test_lines_add_up_to_the_cost_of_each_option(priced: PricedJob) -> None:
    frame = lines_frame(priced)
    assert all(isinstance(v, Decimal) for name in ("quantity", "rate", "cost") for v in frame[name])
    for site, o in options(priced):
        mine = frame[(frame["site"] == site) & (frame["option"] == o["option"])]
        assert list(mine["code"]) == [line["code"] for line in o.get("lines", [])]
        if "totals" in o:
            assert sum(mine["cost"]) == Decimal(o["totals"]["cost"])
    chosen = frame[frame["chosen"]]["cost"]
    assert sum(chosen, Decimal(0)) == priced.totals.cost


@pytest.mark.parametrize(
    ("make", "part", "names"),
    [
        (corners_frame, "corners", frames.CORNERS[4:]),
        (posts_frame, "posts", frames.POSTS[4:14]),
        (labour_frame, "labour", ("visit", "task", "trade", "hours")),
    ],
    ids=["corners", "posts", "labour"],
)
def test_a_frame_holds_what_the_json_holds(
    priced: PricedJob, make: Callable[[PricedJob], DataFrame], part: str, names: tuple[str, ...]
) -> None:
    frame = make(priced)
    wanted = [(site, o["option"], row) for site, o in options(priced) for row in o.get(part, [])]
    assert len(frame) == len(wanted) > 0
    for at, (site, option, row) in enumerate(wanted):
        got = frame.iloc[at]
        assert (got["site"], got["option"]) == (site, option)
        for name in names:
            value = list(got[name]) if isinstance(got[name], tuple) else got[name]
            assert value == row[name] or (row[name] is None and value != value), name


def test_a_post_carries_its_own_hole(priced: PricedJob) -> None:
    frame = posts_frame(priced)
    for _, o in options(priced):
        for hole in o["footings"]:
            mine = frame[(frame["option"] == o["option"]) & (frame["post_name"] == hole["post_name"])]
            assert hole["concrete"] in list(mine["concrete"])
            assert hole["rule"] in list(mine["rule"])


def test_the_order_costs_what_it_adds_up_to(priced: PricedJob) -> None:
    frame, data = frames.order_frame(priced), job_data(priced)
    assert list(frame["code"]) == [r["code"] for r in data["order"]]
    assert sum(frame["cost"], Decimal(0)) == Decimal(data.get("order_totals", {"goods": 0})["goods"])
    assert all(isinstance(v, Decimal) for name in ("quantity", "price", "cost") for v in frame[name])


def test_a_post_on_a_plate_has_no_hole(tmp_path: Path) -> None:
    job = write_job(
        tmp_path / "j.xlsx",
        fixings=square(6, held_by="base plate"),
        options=[{"Site": "Yard", "Option": "1", "Corners at": "A B C D", "Size": "SQ-5000"}],
    )
    frame = posts_frame(price(job, today=DAY))
    assert len(frame) == 4
    assert frame["concrete"].isna().all()


def test_problems_stand_worst_first_with_their_cell(priced: PricedJob) -> None:
    frame = problems_frame(priced)
    assert list(frame["message"]) == [p.message for p in priced.problems]
    levels = [("error", "warning", "note").index(v) for v in frame["level"]]
    assert levels == sorted(levels)


def test_a_job_of_nothing_gives_empty_frames_with_their_columns(tmp_path: Path) -> None:
    empty = price(write_job(tmp_path / "j.xlsx"), today=DAY)
    for make, columns in ((lines_frame, frames.LINES), (corners_frame, frames.CORNERS), (posts_frame, frames.POSTS),
                          (labour_frame, frames.LABOUR)):  # fmt: skip
        assert list(make(empty).columns) == list(columns)
        assert make(empty).empty


def test_a_file_that_cannot_be_used_raises_with_the_reason(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"nothing\.xlsx"):
        price(tmp_path / "nothing.xlsx")
    with pytest.raises(ValueError, match="nowhere"):
        price(FOLDER / "kindergarten.xlsx", rates=tmp_path / "nowhere")


def test_a_screening_is_a_frame_and_a_job_without_wind_an_empty_one(priced: PricedJob) -> None:
    assert len(screening_frame(priced)) == 0
    windy = price(FOLDER / "slipway.xlsx", today=DAY)
    frame = screening_frame(windy)
    wanted = [(o["option"], c) for _, o in options(windy) for c in o["screening"]]
    assert len(frame) == len(wanted) > 20
    for at, (name, check) in enumerate(wanted):
        got = frame.iloc[at]
        assert (got["option"], got["part"], got["demand"]) == (name, check["part"], check["demand"])
