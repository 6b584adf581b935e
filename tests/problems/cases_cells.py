"""Cells that cannot be read, or are read in another way than they look: a row for each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, time
from pathlib import Path
from typing import Any

from tests.problems.books import Bad, Row, Shown, as_rows, at, bad, told_of, write
from tests.problems.model import Case

JOB: Mapping[str, Any] = {"Job name": "Cells", "Priced on": "2026-04-03", "Currency": "EUR", "Status": "budget"}
SITES: Sequence[Row] = ({"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel (km)": 10},)
OPTION: Row = {"Site": "Yard", "Option": "1", "Corners at": "A B C", "Size": "4 4 4 m", "Chosen": "yes"}
CORNERS: Sequence[Row] = tuple(
    {"Site": "Yard", "Fixing": n, "Held by": "new post", "Across (m)": x, "Out (m)": y, "Height (m)": 2.6}
    for n, x, y in (("A", 0, 0), ("B", 6, 0), ("C", 3, 5.2))
)


def items(**more: Any) -> list[tuple[str, Any]]:
    """A sheet of items; more: other items, or other values of the usual ones, `_` for a space."""
    values = {**JOB, **{name.replace("_", " "): value for name, value in more.items()}}
    return [("Item", "Value"), *values.items()]


def _fixing(number: int) -> Row:
    """A fixing with nothing wrong. Some headings name a unit, others none."""
    return {
        "Site": "Yard",
        "Fixing": f"F{number}",
        "Held by": "new post",
        "Across (m)": 0,
        "Out (mm)": 0,
        "Height (m)": 2.6,
        "Ground level": "0 m",
        "Known by": "measured",
        "Depth": None,
        "Hole": None,
        "Lean": None,
        "Tied": None,
        "Notes": None,
    }


MONTH = datetime(2026, 9, 2)  # noqa: DTZ001  # a day in a cell has no zone
FIXINGS = (
    bad("Held by", None, "blank"),
    bad("Height (m)", "TBC", "not-a-number"),
    bad("Across (m)", "3-4", "ask-range"),
    bad("Out (mm)", "1.200", "ask-number"),
    bad("Across (m)", "1.200", "read-as"),
    bad("Height (m)", "2.9 yonks", "unit-unknown"),
    bad("Height (m)", "2.9 kg", "unit-wrong-kind"),
    bad("Height (m)", "9' 14\"", "inches"),
    bad("Height (m)", 2900, "out-of-bounds"),
    bad("Height (m)", Shown(MONTH, "d mmm"), "date-as-number"),
    bad("Height (m)", Shown(time(2, 30), "h:mm"), "time-as-number"),
    bad("Height (m)", True, "bool-as-number"),
    bad("Height (m)", Shown(2.9, "0%"), "percent-as-number"),
    bad("Fixing", Shown(MONTH, "d mmm"), "date-as-name"),
    bad("Height (m)", "#DIV/0!", "error-cell"),
    bad("Notes", "#N/A", "error-text"),
    bad("Height (m)", "=2.4+0.5", "uncalculated"),
    bad("Tied", "perhaps", "not-yes-or-no"),
    bad("Known by", "guessed", "not-a-choice"),
    bad("Depth", 1.1, "read-in-unit"),
    bad("Out (mm)", Shown(1.5, '0.0" m"'), "unit-conflict"),
    bad("Hole", Shown(600, '0" mm"'), "unit-shown"),
)
SITES_BAD = (
    bad("Existing sails", 1.5, "not-whole"),
    bad("Existing sails", "3 m", "unit-not-wanted"),
    bad("Wind speed", 41, "unit-needed"),
)
SIZES = (
    bad("Size", "3.6 x", "size-unclear"),
    bad("Size", "5 4 5 4 m", "size-needs-diagonal"),
    bad("Size", "5 5 5 5 5 m", "size-too-many-sides"),
    bad("Size", "2 3 9 m", "sides-do-not-close"),
    bad("Size", "0.2 4 4 m", "size-bounds"),
)


def _site(number: int) -> Row:
    return {**SITES[0], "Site": f"S{number}", "Existing sails": None, "Wind speed": None, "Wind is": "gust"}


def _sized(number: int) -> Row:
    return {**OPTION, "Option": f"O{number}", "Chosen": None}


def _at(site: str) -> list[Row]:
    return [{**corner, "Site": site} for corner in CORNERS]


def _table(name: str, sheet: str, plain: Callable[[int], Row], wrong: Sequence[Bad], **others: Any) -> Case:
    """A job with one sheet of bad rows."""
    rows = as_rows(plain, wrong)
    sheets = {"Job": items(), "Sites": SITES, "Fixings": CORNERS, "Options": [OPTION], **others, sheet: rows}
    return Case(name, lambda folder: write(folder / "job.xlsx", sheets), frozenset(told_of(sheet, rows, wrong)))


def _job_items(folder: Path) -> Path:
    """Markup and margin that are asked about, a discount that is little; two days that are none."""
    discount = {"Discount_(%)": 0.5}
    job = items(Margin=0.3, Contingency=1.5, Priced_on="3/4/2026", Finish_by="soon", **discount)
    return write(folder / "job.xlsx", {"Job": job, "Sites": SITES, "Fixings": CORNERS, "Options": [OPTION]})


ITEMS = at(
    "Job",
    ("B3", "ask-date"),
    ("B6", "read-as-percent"),
    ("B7", "ask-percent"),
    ("B8", "not-a-date"),
    ("B9", "small-percent"),
)
CASES: tuple[Case, ...] = (
    _table("cells of fixings", "Fixings", _fixing, FIXINGS, Options=[{**OPTION, "Corners at": "F2 F3 F4"}]),
    _table("cells of sites", "Sites", _site, SITES_BAD, Fixings=_at("S2"), Options=[{**OPTION, "Site": "S2"}]),
    _table("sizes", "Options", _sized, SIZES),
    Case("items of the job", _job_items, frozenset(ITEMS)),
)
