"""A priced workbook is read back as it was written, whatever an office program has done to it since."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest
from openpyxl import load_workbook

from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob
from estimator.report.book import render_sheets
from estimator.report.changes.model import Printed
from estimator.report.changes.of_priced import of_priced
from estimator.report.changes.printed import read_printed
from estimator.report.package.transplant import transplant
from estimator.sheets.door import Opened, check_bytes, open_door
from tests import office
from tests.build import DAY, fixing, option, square, write_job
from tests.random_jobs import random_job
from tests.rate_books import setting, with_changes
from tests.report import sample


def read(path: Path) -> Printed:
    opened = open_door(path)
    assert isinstance(opened, Opened)
    found = read_printed(opened)
    assert isinstance(found, Printed), found
    return found


def priced(path: Path, rates: Path | None = None) -> tuple[Path, PricedJob]:
    done = price_file(path, rates, today=DAY, quote=False, crew=False, drawings=False)
    assert done.outcome is not None
    assert done.outcome.priced is not None
    return done.written[0], done.outcome.priced


def near(printed: Printed) -> Printed:
    """Without the places, which feet and inches print to the eighth of an inch."""
    options = tuple(dataclasses.replace(o, points=()) for o in printed.options)
    return dataclasses.replace(printed, options=options)


@pytest.mark.parametrize("seed", [0, 4, 9, 44])
def test_random_jobs_are_read_as_they_were_priced(tmp_path: Path, seed: int) -> None:
    rates = with_changes(tmp_path / "by line", {"settings": setting("tax by", "line")}) if seed == 9 else None
    path, job = priced(random_job(tmp_path / "j.xlsx", seed), rates)
    assert near(read(path)) == near(of_priced(job, path.name))
    for a, b in zip(read(path).options, of_priced(job, path.name).options, strict=True):
        assert [p.fixing for p in a.points] == [p.fixing for p in b.points]
        for p, q in zip(a.points, b.points, strict=True):
            assert (p.across, p.out, p.height) == pytest.approx((q.across, q.out, q.height), abs=0.0016)


def test_renamed_sheets_and_a_bill_over_several_sheets(tmp_path: Path) -> None:
    """Our sheets are known by their marks, and a long bill goes on where it was cut."""
    made = sample.priced(by_line=True)
    user = write_job(tmp_path / "j.xlsx", fixings=square(6), options=[option("A B C D", "SQ-5000")])
    names = {"Summary": "All of it", "Bill": "What it costs", "Side by side": "Beside"}
    data = transplant(user.read_bytes(), render_sheets(made, names), {v: k for k, v in names.items()})
    opened = check_bytes(data, "j-priced.xlsx")
    assert isinstance(opened, Opened)
    found = read_printed(opened)
    assert isinstance(found, Printed)
    assert found == of_priced(made, "j-priced.xlsx")


@pytest.mark.office
def test_an_office_program_changes_nothing_that_is_read(tmp_path: Path) -> None:
    if office.program() is None:
        office.absent("a priced workbook that is read back")
        return
    path, _ = priced(random_job(tmp_path / "j.xlsx", 5))
    (saved,) = office.recalculate([path], tmp_path / "out")
    assert read(saved) == read(path)


def refused(path: Path) -> str:
    opened = open_door(path)
    assert isinstance(opened, Opened)
    found = read_printed(opened)
    assert isinstance(found, Problem)
    return found.code


def test_what_is_no_priced_workbook_is_refused(tmp_path: Path) -> None:
    job = write_job(tmp_path / "j.xlsx", fixings=square(6), options=[option("A B C D", "SQ-5000")])
    path, _ = priced(job)
    assert refused(job) == "not-priced-workbook"
    book = load_workbook(path)
    book.save(tmp_path / "through a library.xlsx")  # formulas without values
    assert refused(tmp_path / "through a library.xlsx") == "priced-not-calculated"
    values = load_workbook(path, data_only=True)
    del values["Basis"]
    values.save(tmp_path / "less.xlsx")
    assert refused(tmp_path / "less.xlsx") == "priced-sheet-missing"
    values = load_workbook(path, data_only=True)
    values["Bill"]["A4"] = "something else"
    values.save(tmp_path / "odd.xlsx")
    assert refused(tmp_path / "odd.xlsx") == "priced-unreadable"


def test_an_option_without_a_price_is_read_as_such(tmp_path: Path) -> None:
    fixings = [*square(6), fixing("E", 3, 3, 2.5, "fascia only")]
    options = [
        option("A B C D", "SQ-5000", name="good", Chosen="yes"),
        option("A B E", "made to fit", name="bad", Cloth="KNIT-LIGHT"),
    ]
    path, job = priced(write_job(tmp_path / "j.xlsx", fixings=fixings, options=options))
    found = read(path)
    assert [(o.name, o.bill is None) for o in found.options] == [("good", False), ("bad", True)]
    assert found == of_priced(job, path.name)
    assert found.price == job.totals.price
