"""Sheet `Planned and used`: only where something was noted, live formulas, and nothing of it beyond the office."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from estimator.core.money import plain
from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob
from estimator.pricing.used import after_job
from estimator.report.book import render_sheets
from estimator.report.json_out import job_data
from estimator.report.names import USED
from tests import office
from tests.actuals.test_read import two_sites, yard
from tests.build import DAY, run

ROWS: Sequence[dict[str, Any]] = (
    {"Site": "Deck", "What": "dig", "Quantity": 7.25, "Unit": "h", "By": "Wren Holloway", "Notes": "roots all over"},
    {"Site": "Deck", "Option": "2", "What": "hang sail", "Quantity": 1, "Unit": "h"},
    {"What": "place concrete", "Quantity": 77, "Unit": "min"},
    {"What": "CON-TRUCK", "Quantity": 2.75, "Unit": "m3"},
    {"What": "meet the inspector", "Quantity": 0.3, "Unit": "h"},
    {"What": "travel", "Quantity": 3.35, "Unit": "h"},
)


def job(folder: Path) -> PricedJob:
    outcome = run(two_sites(folder, *ROWS))
    assert outcome.priced is not None
    return outcome.priced


def book_of(priced: PricedJob) -> Workbook:
    return load_workbook(io.BytesIO(render_sheets(priced, drawings=False)), data_only=True)


def test_it_is_written_only_where_something_was_noted(tmp_path: Path) -> None:
    outcome = run(yard(tmp_path))
    assert outcome.priced is not None
    assert USED not in book_of(outcome.priced).sheetnames
    assert USED in book_of(job(tmp_path)).sheetnames


def test_each_row_shows_what_was_planned_and_used_and_the_money(tmp_path: Path) -> None:
    priced = job(tmp_path)
    sheet = book_of(priced)[USED]
    assert str(sheet["A1"].value).startswith("OFFICE")
    rows = {(r[0], r[1], r[2]): r for r in sheet.iter_rows(values_only=True) if r[12] in ("yes", "no")}
    assert len(rows) == len(priced.used) == len(ROWS)
    for u in priced.used:
        row = rows[u.site or "whole job", u.option or None, u.what]
        expected = (u.planned_quantity, u.used, u.used - u.planned_quantity)
        assert row[4:7] == pytest.approx([float(x) for x in expected], abs=1e-12)
        assert row[7] == u.unit
        assert row[9:12] == pytest.approx(
            [float(x) for x in (u.planned_cost, u.used_cost, u.used_cost - u.planned_cost)], abs=1e-9
        )
        assert row[12] == ("yes" if u.counted else "no")


def test_the_outcome_is_the_same_as_in_the_engine(tmp_path: Path) -> None:
    priced = job(tmp_path)
    sheet = book_of(priced)[USED]
    told = {str(r[0]): r[9] for r in sheet.iter_rows(values_only=True) if r[0] and r[9] is not None}
    after = after_job(priced)
    for words, amount in (
        ("Cost in the price", priced.totals.cost),
        ("Cost after the job", after.cost_after),
        ("Price before tax", priced.totals.price_before_tax),
        ("Left over the cost, as planned", after.left),
        ("Left over the cost, after the job", after.left_after),
    ):
        assert told[words] == pytest.approx(float(amount), abs=1e-9), words


def test_the_json_says_the_same(tmp_path: Path) -> None:
    priced = job(tmp_path)
    data = job_data(priced)
    assert [r["what"] for r in data["planned_and_used"]] == [u.what for u in priced.used]
    assert [r["planned"] for r in data["planned_and_used"]] == [plain(u.planned_quantity) for u in priced.used]
    assert Decimal(data["after_job"]["left_after"]) == after_job(priced).left_after
    outcome = run(yard(tmp_path))
    assert outcome.priced is not None
    assert not {"planned_and_used", "after_job"} & set(job_data(outcome.priced))


def test_it_stays_in_the_office_and_goes_when_the_rows_go(tmp_path: Path) -> None:
    path = two_sites(tmp_path, *ROWS)
    done = price_file(path, today=DAY, drawings=False)
    assert done.status == 0
    target = tmp_path / "yard-priced.xlsx"
    assert USED in load_workbook(target).sheetnames
    for copy in done.written:
        if copy == target or copy.suffix != ".xlsx":
            continue
        with zipfile.ZipFile(copy) as z:
            text = "".join(z.read(n).decode("utf-8", "replace") for n in z.namelist() if n.endswith(".xml"))
        for word in ("Wren Holloway", "roots all over", USED):
            assert word not in text, (copy.name, word)
    book = load_workbook(target)
    del book["Actuals"]
    book.save(target)
    assert price_file(target, today=DAY, drawings=False).status == 0
    assert USED not in load_workbook(target).sheetnames


def test_a_sheet_of_the_user_with_this_name_is_told(tmp_path: Path) -> None:
    path = yard(tmp_path)
    book = load_workbook(path)
    book.create_sheet(USED)
    book.save(path)
    done = price_file(path, today=DAY, drawings=False)
    assert done.status == 2
    assert any(USED in p.message for p in done.problems)


@pytest.mark.office
def test_a_recalculation_changes_no_figure(tmp_path: Path) -> None:
    path = tmp_path / "used.xlsx"
    path.write_bytes(render_sheets(job(tmp_path), {"Bill": "Dad's bill"}, bill_rows=25, drawings=False))
    if office.program() is None:
        office.absent("what was planned and used")
        return
    (after,) = office.recalculate([path], tmp_path / "out")
    ours = {(s, c): v for s, c, _, v in office.formula_cells(path) if s == USED}
    theirs = {(s, c): v for s, c, _, v in office.formula_cells(after) if s == USED}
    assert ours.keys() == theirs.keys()
    assert len(ours) > 40
    for place, value in ours.items():
        assert theirs[place] == pytest.approx(value, abs=1e-9, rel=1e-12), place
