"""Every formula of our sheets gives the engine's value when an office program works it out afresh."""

from __future__ import annotations

import dataclasses
import random
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.pricing.model import PricedJob
from estimator.rates.model import Origin, Tax
from estimator.report.book import render_sheets
from tests import office
from tests.report import sample

ZERO = Decimal("0.00")


def awkward(seed: int) -> PricedJob:
    """The sample with random quantities, rates and taxes; odd seeds take tax line by line."""
    rng = random.Random(seed)
    kinds = ("material", "labour", "hire", "subcontract", "fee")
    lines = tuple(
        sample.line(
            f"C{n}",
            f"line {n}",
            rng.choice(kinds),
            str(Decimal(rng.randint(-40, 9000)) / rng.choice((1, 2, 8, 1000))),
            "each",
            str(Decimal(rng.randint(0, 99_999)) / rng.choice((100, 1000, 10_000))),
        )
        for n in range(rng.randint(0, 12))
    )
    taxes = (
        Tax("A", "One", Decimal(rng.randint(0, 2500)) / 10_000, (), True, Origin("taxes", 2)),
        Tax("B", "Two", Decimal("0.035"), ("hire", "fee"), True, Origin("taxes", 3)),
    )
    made = sample.priced()
    bill = sample.price(lines, bool(seed % 2), taxes)
    option = dataclasses.replace(made.options[0], bill=bill)
    both = (bill, made.options[2].bill, made.job_bill)
    sums = {
        what: sum((getattr(b.totals, what) for b in both if b), ZERO)
        for what in ("cost", "price_before_tax", "tax", "price")
    }
    totals = dataclasses.replace(made.totals, **sums)
    return dataclasses.replace(made, options=(option, *made.options[1:]), totals=totals)


def write_all(folder: Path) -> list[Path]:
    names = {"Bill": "Dad's bill & more", "Bill 2": "Bill two", "Labour": "Hours"}
    books = {
        "plain": render_sheets(sample.priced()),
        "by_line": render_sheets(sample.priced(by_line=True, currency="EUR", units="feet and inches")),
        "renamed": render_sheets(sample.priced(by_line=True), names),
        "cut_up": render_sheets(sample.priced(by_line=True), {}, bill_rows=9),
        **{f"awkward{seed}": render_sheets(awkward(seed)) for seed in range(5)},
    }
    for name, data in books.items():
        (folder / f"{name}.xlsx").write_bytes(data)
    return [folder / f"{name}.xlsx" for name in books]


@pytest.mark.office
def test_a_recalculation_changes_no_figure(tmp_path: Path) -> None:
    before = write_all(tmp_path)
    if office.program() is None:
        office.absent("sheets of the priced workbook")
        return
    after = office.recalculate(before, tmp_path / "out")
    for was, now in zip(before, after, strict=True):
        ours = {(s, c): (f, v) for s, c, f, v in office.formula_cells(was)}
        theirs = {(s, c): v for s, c, _, v in office.formula_cells(now)}
        assert ours.keys() == theirs.keys()
        assert len(ours) > 40
        for place, (formula, value) in ours.items():
            assert isinstance(value, int | float), (was.name, place, formula, value)
            assert theirs[place] == pytest.approx(value, abs=1e-9, rel=1e-12), (was.name, place, formula)


@pytest.mark.office
def test_the_recalculation_sees_a_wrong_value(tmp_path: Path) -> None:
    """The test above can fail: a cached value that is wrong by a cent is worked out anew."""
    from xlsxwriter import Workbook

    path = tmp_path / "wrong.xlsx"
    with Workbook(str(path)) as book:
        sheet = book.add_worksheet()
        sheet.write_number(0, 0, 2200.95)
        sheet.write_formula(0, 1, "=ROUND(A1*0.1,2)", None, 220.09)
    assert [v for *_, v in office.formula_cells(path)] == [220.09]
    if office.program() is None:
        office.absent("a wrong value")
        return
    (after,) = office.recalculate([path], tmp_path / "out")
    assert [v for *_, v in office.formula_cells(after)] == [220.1]
