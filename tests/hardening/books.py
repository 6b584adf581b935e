"""A small job of two options, priced, and what a person may do to the priced workbook."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from openpyxl import Workbook, load_workbook

from estimator.core.problems import Problem
from estimator.jobfile import Done, price_file
from tests.build import DAY, option, square, write_job

TAMPERED = ("tampered", "typed-beside", "priced-kept", "own-sheets")


def small_job(path: Path, **more: Any) -> Path:
    """A square sail on four posts, in two sizes; the first is chosen. Tax is taken on materials and labour apart."""
    options = [option("A B C D", "SQ-5000", Chosen="yes"), option("A B C D", "SQ-4000", name="2")]
    return write_job(path, job={"Margin": "20 %", **more}, fixings=square(6), options=options)


def priced(job: Path, out: Path | None = None) -> Done:
    """The job priced on the day of the tests, with the least that is written."""
    return price_file(job, None, out, quote=False, crew=False, drawings=False, today=DAY)


def found(done: Done) -> list[tuple[str, str, str]]:
    """Sheet, cell and code of what was changed by hand."""
    return [(p.place.sheet, p.place.cell, p.code) for p in by_hand(done)]


def by_hand(done: Done) -> list[Problem]:
    """What is said about changes by hand."""
    return [p for p in done.problems if p.code.startswith(TAMPERED)]


def changed(path: Path, change: Callable[[Workbook], object]) -> None:
    """Open the workbook as another program would, change it, save it. That program keeps no result of a formula."""
    book = load_workbook(path)
    change(book)
    book.save(path)


def row_of(path: Path, sheet: str, words: str, column: int = 2) -> int:
    """The first row of a sheet whose cell in a column says these words."""
    rows = load_workbook(path)[sheet].iter_rows(min_col=column, max_col=column)
    return next(cell.row for (cell,) in rows if cell.value == words)
