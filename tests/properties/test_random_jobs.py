"""Random valid jobs: the promises of the JSON, and the workbook recalculated by an office program."""

from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.jobfile import price_file
from estimator.pipeline import exit_status
from estimator.report.json_out import job_data
from tests.build import run
from tests.nightly.recalculated import check_jobs, compare, write
from tests.office import absent, program, stored
from tests.promises import broken
from tests.random_jobs import random_job


def edited(data: bytes, old: bytes, new: bytes) -> bytes:
    """The workbook with one piece of the markup of its sheets replaced wherever it stands."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(made, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            after.writestr(name, content.replace(old, new) if "worksheets" in name else content)
    return made.getvalue()


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


def _recalculated(tmp_path: Path, seeds: range, every: int) -> None:
    """Every formula cell of the priced workbooks, recalculated, is the stored value to 1e-9, and every total of the
    engine is the cell that shows it, stored and recalculated. every: so manieth job is a full one."""
    if program() is None:
        absent("random jobs")
        return
    found = check_jobs(seeds, tmp_path, full=lambda seed: seed % every == 0)
    assert found.differing == ()
    assert found.options > len(seeds)
    assert found.cells > 150 * len(seeds)
    assert found.totals >= 8 * len(seeds)


@pytest.mark.office
def test_a_recalculation_changes_nothing_on_a_few(tmp_path: Path) -> None:
    _recalculated(tmp_path, FEW, every=2)


@pytest.mark.long
@pytest.mark.office
@pytest.mark.parametrize("first", range(0, 300, 50))
def test_a_recalculation_changes_nothing_on_300(tmp_path: Path, first: int) -> None:
    _recalculated(tmp_path, range(first, first + 50), every=3)


@pytest.mark.office
def test_a_stored_value_that_is_another_is_found(tmp_path: Path) -> None:
    if program() is None:
        absent("a changed value")
        return
    right = write(1001, tmp_path)
    total = right.priced.options[0].bill.totals.price  # type: ignore[union-attr]
    held = [place for place, (_, value) in stored(right.data).items() if value == float(total)]
    assert {sheet for sheet, _ in held} >= {"Summary", "Bill"}
    old, new = (f"<v>{float(value)}</v>".encode() for value in (total, total + Decimal("0.01")))
    wrong = edited(right.data, old, new)
    cells, totals, differing = compare({"right": right, "wrong": replace(right, data=wrong)})
    assert not [words for words in differing if words.startswith("right")]
    assert len(differing) > len(held), differing  # each cell, and the totals among them
    assert cells == 2 * len(stored(right.data))
    assert totals >= 16


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
