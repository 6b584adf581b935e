"""Job workbooks for tests, built by code from plain dictionaries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from estimator.pipeline import Outcome, price_workbook
from estimator.sheets.door import Opened, open_door

DAY = date(2026, 4, 3)
Rows = Sequence[Mapping[str, Any]]


def write_job(
    path: Path,
    *,
    job: Mapping[str, Any] | None = None,
    sites: Rows = ({"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10},),
    fixings: Rows = (),
    options: Rows = (),
    extras: Rows = (),
    tape: Rows = (),
    walls: Rows = (),
    actuals: Rows = (),
) -> Path:
    """A job workbook; every row is a dictionary from heading to value."""
    book = Workbook()
    first = book.active
    assert first is not None
    first.title = "Job"
    items = {"Job name": "Test yard", "Priced on": DAY, "Currency": "EUR", **(job or {})}
    for row in [("Item", "Value"), *items.items()]:
        first.append(row)
    for name, rows in (
        ("Sites", sites),
        ("Fixings", fixings),
        ("Options", options),
        ("Extras", extras),
        ("Tape", tape),
        ("Walls", walls),
        ("Actuals", actuals),
    ):
        if not rows:
            continue
        sheet = book.create_sheet(name)
        headings = list(dict.fromkeys(h for row in rows for h in row))
        sheet.append(headings)
        for row in rows:
            sheet.append([row.get(h) for h in headings])
    book.save(path)
    return path


def fixing(
    name: str, across: float, out: float, height: float, held_by: str = "new post", **more: Any
) -> dict[str, Any]:
    """A row of Fixings on the site of the default rows."""
    return {
        "Site": "Yard",
        "Fixing": name,
        "Held by": held_by,
        "Across (m)": across,
        "Out (m)": out,
        "Height (m)": height,
        "Ground level (m)": 0,
        "Known by": "measured",
        **more,
    }


def option(corners: Iterable[str] | str, size: str = "", name: str = "1", **more: Any) -> dict[str, Any]:
    """A row of Options on the site of the default rows."""
    at = corners if isinstance(corners, str) else " ".join(corners)
    return {"Site": "Yard", "Option": name, "Corners at": at, "Size": size, **more}


def square(side: float, height: float = 2.6, held_by: str = "new post", **more: Any) -> list[dict[str, Any]]:
    """Four fixings A B C D on a square."""
    places = ((0, 0), (side, 0), (side, side), (0, side))
    return [fixing(n, x, y, height, held_by, **more) for n, (x, y) in zip("ABCD", places, strict=True)]


def run(path: Path, rates: Path | None = None, screen: bool = False) -> Outcome:
    """Price a job workbook without writing anything."""
    opened = open_door(path)
    assert isinstance(opened, Opened), opened
    return price_workbook(opened, path, DAY, rates, screen=screen)
