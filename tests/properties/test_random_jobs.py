"""Random valid jobs: the promises of the JSON, and the workbook recalculated by an office program."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.jobfile import price_file
from estimator.pipeline import exit_status
from estimator.report.json_out import job_data
from estimator.report.package.audit import audit
from tests.build import DAY, run
from tests.office import absent, formula_cells, program, recalculate
from tests.promises import broken
from tests.random_jobs import random_job
from tests.rate_books import setting, with_changes

FEW, MANY = range(1000, 1012), range(200)


def _promises(tmp_path: Path, seeds: range) -> None:
    options = 0
    for seed in seeds:
        outcome = run(random_job(tmp_path / f"{seed}.xlsx", seed))
        assert outcome.priced is not None, outcome.problems
        data = json.loads(json.dumps(job_data(outcome.priced)))
        assert broken(data) == [], seed
        options += sum("totals" in o for s in data["sites"] for o in s["options"])
        # a slip in Actuals takes no price away
        errors = [p for p in outcome.problems if p.level == "error" and p.place.sheet != "Actuals"]
        assert (exit_status(outcome) == 0) is (not errors), seed
    assert options > len(seeds)


def test_the_json_keeps_its_promises_on_a_few(tmp_path: Path) -> None:
    _promises(tmp_path, FEW)


@pytest.mark.long
def test_the_json_keeps_its_promises_on_200(tmp_path: Path) -> None:
    _promises(tmp_path, MANY)


def _recalculated(tmp_path: Path, seeds: range) -> None:
    """Every formula cell of the priced workbooks, recalculated, is the stored value to the cent and to 1e-9."""
    if program() is None:
        absent("random jobs")
        return
    by_line = with_changes(tmp_path / "by line", {"settings": setting("tax by", "line")})
    written: list[Path] = []
    for seed in seeds:
        job = random_job(tmp_path / f"{seed}.xlsx", seed)
        done = price_file(job, by_line if seed % 3 == 0 else None, today=DAY, quote=False, crew=False, drawings=False)
        assert done.status in (0, 1), done.problems
        assert done.written, done.problems
        assert audit(done.written[0].read_bytes()) == [], seed
        written.append(done.written[0])
    cells = 0
    for before, after in zip(written, recalculate(written, tmp_path / "again"), strict=True):
        fresh = {(s, c): v for s, c, _, v in formula_cells(after)}
        for sheet, cell, formula, value in formula_cells(before):
            again = fresh[sheet, cell]
            where = f"{before.name} {sheet}!{cell} {formula}: {value} is {again} when recalculated"
            if isinstance(value, int | float):
                assert isinstance(again, int | float), where
                assert abs(value - again) <= max(1e-9, 1e-12 * abs(value)), where
            else:
                assert value == again, where
            cells += 1
    assert cells > 50 * len(seeds)


@pytest.mark.office
def test_a_recalculation_changes_nothing_on_a_few(tmp_path: Path) -> None:
    _recalculated(tmp_path, FEW)


@pytest.mark.long
@pytest.mark.office
@pytest.mark.parametrize("first", range(0, len(MANY), 40))
def test_a_recalculation_changes_nothing_on_200(tmp_path: Path, first: int) -> None:
    _recalculated(tmp_path, MANY[first : first + 40])


@pytest.mark.parametrize("seed", [3, pytest.param(17, marks=pytest.mark.long)])
def test_pricing_again_gives_the_same_bytes(tmp_path: Path, seed: int) -> None:
    job = random_job(tmp_path / f"{seed}.xlsx", seed)
    first = price_file(job, today=date(2026, 4, 3), with_json=True)
    before = {p: p.read_bytes() for p in first.written}
    price_file(job, today=date(2026, 4, 3), with_json=True)
    again = price_file(first.written[0], today=date(2026, 4, 3), with_json=True)
    assert set(again.written) == set(before)
    for path, data in before.items():
        assert path.read_bytes() == data, path.name


def test_the_total_counts_the_chosen_and_the_whole_job(tmp_path: Path) -> None:
    outcome = run(random_job(tmp_path / "5.xlsx", 5))
    assert outcome.priced is not None
    priced = outcome.priced
    chosen = [o.bill.totals.price for o in priced.options if o.chosen and o.bill]
    whole = priced.job_bill.totals.price if priced.job_bill else Decimal(0)
    assert priced.totals.price == sum(chosen, whole)
