"""A small job of two sites, built in memory, and what the tests of odd workbooks ask of it."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path

from python_calamine import CalamineWorkbook

from estimator.core.problems import Problem
from estimator.pipeline import Outcome, price_workbook
from estimator.sheets.cells import Book, read_book
from estimator.sheets.columns import TABLES, Table
from estimator.sheets.door import Opened, check_bytes
from estimator.sheets.grammar import Context
from estimator.sheets.reader import TableRead, read_table
from tests.build import DAY
from tests.sheets.build import edited, workbook

Rows = Sequence[Sequence[object]]
PART = {name: f"xl/worksheets/sheet{n}.xml" for n, name in enumerate(("Job", "Sites", "Fixings", "Options"), 1)}

JOB: Rows = (("Item", "Value"), ("Job name", "Two yards"), ("Priced on", "2026-04-03"), ("Currency", "EUR"))
SITES: Rows = (("Site", "Ground", "Access", "Travel (km)"), ("Yard", "firm", "easy", 10), ("Park", "firm", "easy", 12))
HEADS = ("Site", "Fixing", "Held by", "Across (m)", "Out (m)", "Height (m)", "Ground level (m)", "Known by")
FIXINGS: Rows = (
    HEADS,
    *(
        (site, name, "new post", across, out, 2.6, 0, "measured")
        for site in ("Yard", "Park")
        for name, across, out in (("A", 0, 0), ("B", 6, 0), ("C", 3, 5.2))
    ),
)
OPTIONS: Rows = (
    ("Site", "Option", "Corners at", "Size", "Chosen"),
    ("Yard", "1", "A B C", "4 4 4 m", "yes"),
    ("Park", "1", "A B C", "4 4 4 m", "yes"),
)
SHEETS: Mapping[str, Rows] = {"Job": JOB, "Sites": SITES, "Fixings": FIXINGS, "Options": OPTIONS}


def job(**sheets: Rows) -> bytes:
    """The job as a workbook, with some of its sheets put in another way, or more of them."""
    return workbook({**SHEETS, **sheets})


def opened(data: bytes, name: str = "job.xlsx") -> Opened:
    """The workbook, which passes the door."""
    found = check_bytes(data, name)
    assert isinstance(found, Opened), found
    return found


def refused(data: bytes, name: str = "job.xlsx") -> Problem:
    """The one reason why a workbook cannot be used, at the door or in reading it: an error that names the file and
    says what to do."""
    found: Opened | Book | Problem = check_bytes(data, name)
    if isinstance(found, Opened):
        found = read_book(found)
    assert isinstance(found, Problem), "it is read"
    assert found.level == "error"
    assert found.message.startswith(name)
    assert re.search(r"; |\bso\b|\.xlsx", found.message), found.message
    return found


def book(data: bytes, name: str = "job.xlsx") -> Book:
    """The cells of a workbook."""
    found = read_book(opened(data, name))
    assert isinstance(found, Book), found
    return found


def table(data: bytes, sheet: str = "Fixings") -> TableRead:
    """One table of a workbook, as read."""
    wanted: Table = next(t for t in TABLES if t.sheet == sheet)
    return read_table(book(data), wanted, Context())


def priced(data: bytes, name: str = "job.xlsx") -> Outcome:
    """The job priced, nothing written."""
    return price_workbook(opened(data, name), Path(name), DAY)


def prices(outcome: Outcome) -> dict[str, Decimal | None]:
    """Site and option to price; None where there is none."""
    assert outcome.priced is not None, outcome.problems
    return {f"{o.site.name} {o.option.name}": o.bill.totals.price if o.bill else None for o in outcome.priced.options}


@cache
def plain_prices() -> Mapping[str, Decimal | None]:
    """What the job costs when nothing is odd about its workbook."""
    found = prices(priced(job()))
    assert set(found) == {"Yard 1", "Park 1"}
    assert all(price is not None and price > 100 for price in found.values())
    return found


def codes(problems: Iterable[Problem]) -> set[str]:
    """The codes of problems."""
    return {p.code for p in problems}


def said(problems: Iterable[Problem], code: str) -> str:
    """What all problems of a code say."""
    return "\n".join(p.message for p in problems if p.code == code)


def all_problems(read: TableRead) -> list[Problem]:
    """The problems of a table and of its rows."""
    return [*read.problems, *(p for row in read.rows for p in row.problems)]


def in_sheet(data: bytes, sheet: str, change: Callable[[str], str]) -> bytes:
    """The workbook with the markup of one sheet changed; it has to change."""

    def changed(content: bytes) -> bytes:
        new = change(content.decode()).encode()
        assert new != content, content[:500]
        return new

    return edited(data, (PART[sheet], changed))


def cell_is(data: bytes, sheet: str, cell: str, markup: str) -> bytes:
    """The workbook with one cell written anew; markup: attributes, `>` and content, such as ` t="e"><v>#N/A</v>`."""
    old = rf'<c r="{cell}"[^>]*?(?:/>|>.*?</c>)'
    return in_sheet(data, sheet, lambda text: re.sub(old, lambda _: f'<c r="{cell}"{markup}</c>', text, count=1))


def parts(data: bytes) -> dict[str, bytes]:
    """Part names to contents."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return {name: package.read(name) for name in package.namelist()}


def by_another_reader(data: bytes) -> dict[str, dict[tuple[int, int], object]]:
    """What another library reads of a workbook of any kind: by sheet, row and column, blanks left out."""
    other = CalamineWorkbook.from_filelike(io.BytesIO(data))
    return {
        name: {
            (r, c): value
            for r, values in enumerate(other.get_sheet_by_name(name).to_python(skip_empty_area=False), start=1)
            for c, value in enumerate(values, start=1)
            if value != ""
        }
        for name in other.sheet_names
    }
