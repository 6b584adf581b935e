"""A height whose decimal point has moved is told where it stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.build import fixing, option, run, write_job

PLACES = {"A": (0, 0), "B": (5.3, 0), "C": (5.3, 5.3), "D": (0, 5.3), "E": (9, 0)}


def _told(folder: Path, rows: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Cell and sentence of each height that is told to have slipped."""
    job = write_job(folder / "job.xlsx", fixings=rows, options=[option("A B C D", "made to fit", Cloth="KNIT-LIGHT")])
    found = run(job).problems
    assert all(p.level == "warning" for p in found if p.code == "height-slipped")
    return [(p.place.cell, p.message) for p in found if p.code == "height-slipped"]


def _rows(*heights: float) -> list[dict[str, Any]]:
    return [fixing(name, *PLACES[name], height) for name, height in zip(PLACES, heights, strict=False)]


@pytest.mark.parametrize(
    ("heights", "row", "meant"),
    [
        ((2.6, 3.2, 26, 3.2), 4, "2.60 m"),
        ((2.6, 3.2, 0.26, 3.2), 4, "2.60 m"),
        ((29, 2.4, 2.8, 3.6, 3.0), 2, "2.90 m"),
    ],
)
def test_one_height_ten_times_the_others(heights: tuple[float, ...], row: int, meant: str, tmp_path: Path) -> None:
    told = _told(tmp_path, _rows(*heights))
    assert [int(cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) for cell, _ in told] == [row]
    assert meant in told[0][1]


@pytest.mark.parametrize(
    "heights",
    [
        (2.6, 3.2, 2.6, 3.2),
        (2.6, 3.2, 6.0, 3.2),  # a house that is twice as high
        (2.4, 7.5, 2.4, 7.5),
        (26, 26, 2.6, 2.6),  # two: no slip of one
        (2.6, 2.6, 29),  # three fixings say nothing of what is usual
        (0, 0, 0, 0),
    ],
)
def test_heights_that_are_only_different_are_left_alone(heights: tuple[float, ...], tmp_path: Path) -> None:
    assert _told(tmp_path, _rows(*heights)) == []


def test_it_is_the_height_over_the_ground_that_counts(tmp_path: Path) -> None:
    low, high = _rows(2.6, 3.2, 2.6), fixing("D", 0, 5.3, 26, **{"Ground level (m)": 23})
    assert _told(tmp_path, [*low, high]) == []
