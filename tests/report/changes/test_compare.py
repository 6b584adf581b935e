"""`estimator compare`: what changed between two priced workbooks, and why in money."""

from __future__ import annotations

import io
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from openpyxl import load_workbook

from estimator.cli import main
from estimator.jobfile import compare_files, price_file
from estimator.report.changes.book import render_compared
from estimator.report.changes.compared import Compared, compare, in_words
from estimator.sheets.door import Opened, open_door
from tests import office
from tests.build import DAY, fixing, option, square, write_job
from tests.random_jobs import random_job
from tests.rate_books import put, with_changes

FIXINGS = square(6)
OPTIONS = [option("A B C D", "SQ-5000", Chosen="yes"), option("A B C D", "SQ-4000", name="2")]


def priced(path: Path, rates: Path | None = None) -> Path:
    done = price_file(path, rates, today=DAY, quote=False, crew=False, drawings=False)
    return done.written[0]


def job(folder: Path, name: str, **sheets: Any) -> Path:
    return priced(write_job(folder / f"{name}.xlsx", **{"fixings": FIXINGS, "options": OPTIONS, **sheets}))


def found(before: Path, now: Path) -> Compared:
    opened = [open_door(p) for p in (before, now)]
    assert all(isinstance(o, Opened) for o in opened)
    made = compare(*(o for o in opened if isinstance(o, Opened)))
    assert isinstance(made, Compared), made
    return made


def adds_up(made: Compared) -> None:
    for each in made.money:
        before, now = each.prices
        if before is not None and now is not None:
            assert sum((p.amount for p in each.parts), Decimal(0)) == now - before


@pytest.mark.parametrize("seed", [2, 7, 13])
def test_a_workbook_against_itself_has_changed_in_nothing(tmp_path: Path, seed: int) -> None:
    path = priced(random_job(tmp_path / "j.xlsx", seed))
    copy = tmp_path / "copy.xlsx"
    shutil.copy(path, copy)
    made = found(path, copy)
    assert made.nothing
    assert "Nothing has changed." in list(in_words(made))


@pytest.mark.parametrize("pair", [(0, 1), (5, 9)])
def test_two_random_jobs_add_up(tmp_path: Path, pair: tuple[int, int]) -> None:
    paths = [priced(random_job(tmp_path / f"{seed}.xlsx", seed)) for seed in pair]
    made = found(*paths)
    assert not made.nothing
    adds_up(made)


def test_another_size_and_a_post_moved(tmp_path: Path) -> None:
    moved = [*FIXINGS[:3], fixing("D", 0.3, 6.4, 2.9)]
    before = job(tmp_path, "a")
    now = job(tmp_path, "b", fixings=moved, options=[{**OPTIONS[0], "Size": "SQ-4000"}, OPTIONS[1]])
    made = found(before, now)
    adds_up(made)
    assert made.asked == (
        "Fixings, Yard, D: Across was 0.000 m, is now 0.300 m",
        "Fixings, Yard, D: Out was 6.000 m, is now 6.400 m",
        "Fixings, Yard, D: Height was 2.600 m, is now 2.900 m",
        "Options, Yard, 1: Size was SQ-5000, is now SQ-4000",
    )
    assert made.rates == ()
    assert "Option 1: fixing D (new post) is moved by 0.50 m and is 0.30 m higher." in made.given
    assert any(w.startswith("Option 1: sail: was four-sided, 5.00 × 5.00 m") for w in made.given)
    sail = next(p for p in made.money[0].parts if p.what.startswith("SQ-5000"))
    assert (sail.cause, sail.amount < 0) == ("gone", True)


def test_other_rates_are_named_and_are_all_that_changes(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "dearer", {"trades": put("trade", "labourer", **{"cost per hour": "41.50"})})
    same = write_job(tmp_path / "a.xlsx", fixings=FIXINGS, options=OPTIONS)
    before = priced(same)
    shutil.copy(before, tmp_path / "before.xlsx")
    made = found(tmp_path / "before.xlsx", priced(same, rates))
    adds_up(made)
    assert made.asked == ()
    assert made.given == ()
    assert made.rates
    assert all("now 41.5" in r for r in made.rates)
    for each in made.money:
        assert {p.cause for p in each.parts} == {"rate", "charge", "tax"}


def test_options_and_rows_that_come_and_go(tmp_path: Path) -> None:
    paving = {"Description": "Relay paving", "Quantity": 2, "Unit": "m2", "Cost each": 40, "Kind": "subcontract"}
    before = job(tmp_path, "a", extras=[{"Site": "Yard", **paving}])
    third = option("A B C", "made to fit", name="3", Cloth="KNIT-LIGHT")
    now = job(tmp_path, "b", options=[OPTIONS[0], third], extras=[paving])
    made = found(before, now)
    assert made.asked is not None
    assert {"Options: new, Yard, 3", "Options: gone, Yard, 2"} <= set(made.asked)
    assert {"Extras: new, Relay paving", "Extras: gone, Yard, Relay paving"} <= set(made.asked)
    assert {"Option 3 is new.", "Option 2 is no longer offered."} <= set(made.given)
    prices = {m.called: m.prices for m in made.money}
    assert prices["Yard, option 3"][0] is None
    assert prices["Yard, option 2"][1] is None
    assert prices["lines of the whole job"][0] is None
    adds_up(made)


def command(*words: object) -> Result:
    result = CliRunner().invoke(main, [str(w) for w in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    return result


def test_the_command_says_why_and_touches_nothing(tmp_path: Path) -> None:
    before, now = job(tmp_path, "a"), job(tmp_path, "b", fixings=square(6, height=2.9))
    old = {p: p.read_bytes() for p in tmp_path.iterdir()}
    result = command("compare", before, now)
    assert result.exit_code == 0
    assert "Height was 2.600 m, is now 2.900 m" in result.output
    assert "all that is chosen: EUR" in result.output
    assert {p: p.read_bytes() for p in tmp_path.iterdir()} == old


def test_files_that_cannot_be_used_are_status_2(tmp_path: Path) -> None:
    good = job(tmp_path, "a")
    plain = tmp_path / "a.xlsx"
    dollars = job(tmp_path, "c", job={"Currency": "$"})
    for other in (plain, tmp_path / "nothing.xlsx", dollars):
        result = command("compare", good, other)
        assert result.exit_code == 2, result.output
        assert len(result.output.strip().splitlines()) == 1
    assert "currency" in command("compare", good, dollars).output


def test_the_workbook_of_a_comparison(tmp_path: Path) -> None:
    before, now, out = job(tmp_path, "a"), job(tmp_path, "b", fixings=square(6, height=2.9)), tmp_path / "why.xlsx"
    said = compare_files(before, now, out)
    assert (said.status, said.written) == (0, (out,))
    made = found(before, now)
    assert render_compared(made) == render_compared(made)
    sheet = load_workbook(io.BytesIO(out.read_bytes()), data_only=True)["Compare"]
    rows = [[c.value for c in row] for row in sheet.iter_rows()]
    sums = [row[3] for row in rows if row[0] == "All of it"]
    assert sums == [float(m.prices[1] - m.prices[0]) for m in made.money if m.parts and None not in m.prices]  # type: ignore[operator]
    again = compare_files(before, now, out)
    assert again.status == 2, "a file that is there is never written over"
    if office.program() is None:
        office.absent("the workbook of a comparison")
        return
    (after,) = office.recalculate([out], tmp_path / "out")
    fresh = {(s, c): v for s, c, _, v in office.formula_cells(after)}
    for name, cell, _, value in office.formula_cells(out):
        assert fresh[name, cell] == pytest.approx(value, abs=1e-9)


def test_a_workbook_of_before_the_sheet_side_by_side_is_still_compared(tmp_path: Path) -> None:
    before, now = job(tmp_path, "a"), job(tmp_path, "b", fixings=square(6, height=2.9))
    old = load_workbook(before, data_only=True)
    del old["Side by side"]
    old.save(tmp_path / "old.xlsx")
    made = found(tmp_path / "old.xlsx", now)
    adds_up(made)
    assert made.given == (), "of what it does not say nothing can have changed"
