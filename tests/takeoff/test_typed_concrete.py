"""Concrete typed instead of what was computed: its volume, and how far it fills the holes."""

from __future__ import annotations

from math import pi
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.problems import Problem
from estimator.geometry.post import filled_depth, filled_diameter
from estimator.pricing.model import PricedJob
from estimator.takeoff.typed_concrete import fills
from tests.build import option, run, square, write_job
from tests.report import sample

HOLES = square(6, 2.4, **{"Hole (m)": 0.35, "Depth (m)": 0.9})  # about 0.33 m3


def typed(folder: Path, ground: str = "firm", **more: Any) -> tuple[PricedJob, list[Problem]]:
    row = {"Site": "Yard", "Description": "told", "Quantity": 1, "Unit": "m3", "Instead of": "CON-BAG-20", **more}
    path = write_job(
        folder / "job.xlsx",
        sites=[{"Site": "Yard", "Ground": ground, "Travel": 0}],
        fixings=HOLES,
        options=[option("A B C D", "SQ-4000")],
        extras=[row],
    )
    job = run(path).priced
    assert job is not None
    return job, [p for p in job.problems if p.code in ("concrete-short", "concrete-unknown")]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"Quantity": 0.2, "Cost each": 100}, "0.2 m3"),
        ({"Quantity": 200, "Unit": "l", "Cost each": 1}, "0.2 m3"),
        ({"Quantity": 10, "Unit": "ft3", "Cost each": 1}, "0.283 m3"),
        ({"Quantity": 480, "Unit": "kg", "Cost each": 1}, "0.2 m3"),  # at 2400 kg/m3
        ({"Quantity": 20, "Unit": "bags", "Item": "CON-BAG-20"}, "0.185 m3"),  # of 9.259 l
        ({"Quantity": 20, "Unit": "bag", "Cost each": 8}, "0.185 m3"),  # the bag that is replaced
        ({"Quantity": 0.25, "Item": "CON-TRUCK"}, "0.25 m3"),
    ],
)
def test_a_volume_too_small_is_told(row: dict[str, Any], said: str, tmp_path: Path) -> None:
    job, found = typed(tmp_path, **row)
    assert [p.code for p in found] == ["concrete-short"]
    assert f"{said} of concrete are typed" in found[0].message
    assert job.options[0].bill is not None
    # nothing of what was computed is left, whichever way to buy it was
    lines = [line for line in job.options[0].bill.lines if line.code.startswith("CON-")]
    assert [line.table for line in lines] == ["concrete" if "Item" in row else ""]


@pytest.mark.parametrize(
    "row",
    [
        {"Quantity": 0.5, "Cost each": 100},
        {"Quantity": 0, "Cost each": 0, "Reason": "the owner has it"},  # left out on purpose
        {"Quantity": 0.1, "By others": "yes"},
        {"Quantity": 0.1, "Cost each": 90, "Offered apart": "yes"},
        {"Quantity": 0.1, "Cost each": 90, "Instead of": "spoil-away"},
    ],
)
def test_what_is_no_short_fill(row: dict[str, Any], tmp_path: Path) -> None:
    assert typed(tmp_path, **row)[1] == []


def test_a_unit_that_is_no_volume_is_a_question(tmp_path: Path) -> None:
    _, (found,) = typed(tmp_path, Unit="load", **{"Cost each": 300})
    assert found.code == "concrete-unknown"
    assert found.level == "note"
    assert "'load'" in found.message


def test_a_pad_fills_before_the_post_does(tmp_path: Path) -> None:
    job, (found,) = typed(tmp_path, "soft", Quantity=0.02, **{"Cost each": 300})
    footing = job.options[0].taken.footings[0]
    assert footing.pad > 0.005
    high, wide = fills(footing, 0.005)
    assert high == pytest.approx(0.005 / (pi * 0.35**2 / 4))
    assert wide < footing.diameter
    assert f"wants {footing.depth + 0.1:.2f} m" in found.message


@given(st.floats(0.01, 1.0))
def test_all_of_it_fills_the_hole_and_less_fills_less(share: float) -> None:
    footing = next(o for o in sample.priced().options if o.taken.footings).taken.footings[0]
    whole = footing.depth + footing.pad / (pi * footing.diameter**2 / 4)
    assert fills(footing, footing.concrete) == pytest.approx((whole, footing.diameter))
    high, wide = fills(footing, footing.concrete * share)
    assert high <= whole + 1e-9
    assert wide <= footing.diameter + 1e-9


@given(st.floats(0.001, 2), st.floats(0.2, 1), st.floats(0, 0.02))
def test_depth_and_diameter_undo_each_other(volume: float, diameter: float, post: float) -> None:
    assert filled_diameter(volume, filled_depth(volume, diameter, post), post) == pytest.approx(diameter)
