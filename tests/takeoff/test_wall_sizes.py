"""A sail on a wall whose size is no row of the rate book."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.build import run, write_job

WALL = {
    "Site": "Yard", "Wall": "House", "Length (m)": 8, "Fixing height (m)": 2.7, "First rafter (m)": 0.3,
    "Rafter spacing (m)": 0.6, "Post height (m)": 2.4,
}  # fmt: skip


@pytest.mark.parametrize("size", ["SQ-9999", "SQ4000", "none of these"])
def test_a_stock_code_that_is_unknown_is_told_at_its_cell_and_once(tmp_path: Path, size: str) -> None:
    option = {"Site": "Yard", "Option": "1", "Wall": "House", "Size": size}
    outcome = run(write_job(tmp_path / "job.xlsx", job={"Margin": "20 %"}, walls=[WALL], options=[option]))
    assert outcome.priced is not None
    assert [o.bill for o in outcome.priced.options] == [None]
    errors = [p for p in outcome.problems if p.level == "error"]
    assert [(p.place.sheet, p.place.cell) for p in errors] == [("Options", "D2")]
    assert errors[0].code in ("not-in-rate-book", "size-unclear")
