"""Rate books that differ from the default one in a single cell or row."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import date
from pathlib import Path

from estimator.core.problems import Problem
from estimator.rates.model import RateBook
from estimator.rates.read import load_rates
from estimator.rates.where import default_rates
from estimator.report.rows import cell

DAY = date(2026, 4, 3)
Rows = list[list[str]]


def rows_of(table: str) -> Rows:
    """A table of the default book as rows of text, headings first."""
    return list(csv.reader(io.StringIO((default_rates() / f"{table}.csv").read_text("utf-8"), newline="")))


def column_of(table: str, heading: str) -> int:
    """The place of a column by the words before its unit, from 0."""
    return [head.split(" (")[0] for head in rows_of(table)[0]].index(heading)


def cell_of(table: str, heading: str, row: int) -> str:
    """The cell of a column in a row of the sheet, counted from 1."""
    return cell(row - 1, column_of(table, heading))


def copy_book(folder: Path) -> Path:
    """The default book in a folder of its own."""
    book = folder / "book"
    book.mkdir()
    for file in default_rates().glob("*.csv"):
        (book / file.name).write_bytes(file.read_bytes())
    return book


def write_rows(book: Path, table: str, rows: Rows, separator: str = ",") -> None:
    """One table of a book."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(rows)
    (book / f"{table}.csv").write_text(out.getvalue(), "utf-8")


def changed(folder: Path, table: str, change: Callable[[Rows], object]) -> Path:
    """The default book with one table changed."""
    book = copy_book(folder)
    rows = rows_of(table)
    change(rows)
    write_rows(book, table, rows)
    return book


def with_cell(folder: Path, table: str, row: int, heading: str, text: str) -> Path:
    """The default book with one cell changed; row counted as in a spreadsheet, headings are row 1."""
    column = column_of(table, heading)

    def change(rows: Rows) -> None:
        rows[row - 1][column] = text

    return changed(folder, table, change)


def errors(problems: list[Problem]) -> list[tuple[str, str, str, str]]:
    """File, sheet, cell and code of every error."""
    places = [(p.place, p.code) for p in problems if p.level == "error"]
    return [(place.file, place.sheet, place.cell, code) for place, code in places]


def default_book(day: date = DAY) -> RateBook:
    """The default book of a day."""
    book, problems = load_rates(None, day)
    assert book is not None, problems
    return book
