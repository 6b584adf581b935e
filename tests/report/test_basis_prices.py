"""What Basis says of the prices: shares that add up, live, the same when recalculated; nothing of it goes out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.jobfile import price_file
from tests import office
from tests.build import DAY, option, square, write_job
from tests.rate_books import put, setting, with_changes


def priced(folder: Path) -> Path:
    """A job with prices by word of mouth, sizes told, tax by line; the priced workbook."""
    rows = square(6)
    rows[1]["Known by"] = "told"
    rates = with_changes(
        folder / "rates",
        {
            "sails": put("code", "SQ-5000", **{"price is": "verbal", "valid until": "2026-06-30"}),
            "posts": put("code", "LT-115", **{"price is": "firm"}),
            "settings": setting("tax by", "line"),
        },
    )
    path = write_job(folder / "job.xlsx", fixings=rows, options=[option("A B C D", "SQ-5000")])
    done = price_file(path, today=DAY, rates=rates)
    assert done.status == 0, done.problems
    return folder / "job-priced.xlsx"


def table(book: Any, heading: str) -> list[list[Any]]:
    """The rows under a heading of Basis and the heading row of its table."""
    rows = [list(r) for r in book["Basis"].iter_rows(values_only=True)]
    first = next(n for n, r in enumerate(rows) if r[0] == heading) + 2
    last = next(n for n in range(first, len(rows)) if not any(rows[n]))
    return rows[first:last]


def test_what_the_price_rests_on(tmp_path: Path) -> None:
    path = priced(tmp_path)
    rows = {r[1]: r for r in table(load_workbook(path, data_only=True), "What the price rests on")}
    cost = rows["Cost"][2]
    parts = ("Prices in writing", "Prices by word of mouth", "Prices not said to be firm or verbal", "Hours of our own")
    assert sum(rows[p][2] for p in parts) == pytest.approx(cost, abs=0.005)
    assert sum(rows[p][3] for p in parts) == pytest.approx(1)
    assert rows["Prices by word of mouth"][2] == 338
    assert rows["Prices by word of mouth"][4] == pytest.approx(338 * 0.24)
    assert "SQ-5000" in rows["Prices by word of mouth"][5]
    assert "told at B" in rows["Posts and holes where sizes are told or assumed"][5]
    live = {r[1]: r for r in table(load_workbook(path), "What the price rests on")}
    assert live["Cost"][2].startswith("='Bill'!")
    assert all(str(live[p][3]).startswith("=IF(") for p in parts)


def test_every_price_says_how_it_was_given_and_whether_it_is_old(tmp_path: Path) -> None:
    rows = {r[1]: r for r in table(load_workbook(priced(tmp_path), data_only=True), "Rates used")}
    assert rows["SQ-5000"][6:8] == ["verbal, old", "2026-06-30"]
    assert rows["LT-115"][6:8] == ["firm, old", None]
    assert rows["SHK-09"][6] == "old"


def test_an_hour_and_a_hole_are_worked_out_in_sight(tmp_path: Path) -> None:
    book = load_workbook(priced(tmp_path), data_only=True)
    wages = {r[0]: r for r in table(book, "Cost of an hour, built up")}
    assert wages["labourer"][1:4] == ["20.25 x (1 + 28 %) x 1800 h paid / 1296 h billed = 36.00", 36, 36]
    holes = table(book, "Digging in the price, a hole")
    assert holes[0][1] == "4 holes, hand, minutes of one person"
    assert holes[0][2] == 30
    assert holes[0][3] <= holes[0][4]


def test_taxes_both_ways(tmp_path: Path) -> None:
    book = load_workbook(priced(tmp_path), data_only=True)
    for row in table(book, "Tax by line and on the total"):
        assert row[4] == pytest.approx(row[3] - row[2])
        assert row[4] != 0


@pytest.mark.office
def test_a_recalculation_changes_nothing_of_it(tmp_path: Path) -> None:
    path = priced(tmp_path)
    if office.program() is None:
        office.absent("sheet Basis")
        return
    after = office.recalculate([path], tmp_path / "out")
    ours = {c: v for s, c, _, v in office.formula_cells(path) if s == "Basis"}
    theirs = {c: v for s, c, _, v in office.formula_cells(after[0]) if s == "Basis"}
    assert len(ours) >= 7
    assert theirs.keys() == ours.keys()
    assert all(theirs[c] == pytest.approx(v, abs=1e-9) for c, v in ours.items())


def test_nothing_of_it_reaches_the_customer(tmp_path: Path) -> None:
    priced(tmp_path)
    for name in ("job-quote.xlsx", "job-crew.xlsx"):
        book = load_workbook(tmp_path / name)
        text = "\n".join(
            str(v) for s in book.worksheets for r in s.iter_rows(values_only=True) for v in r if v is not None
        )
        for word in ("verbal", "word of mouth", "old price", "billed", "on-cost", "invented"):
            assert word not in text, (name, word)
