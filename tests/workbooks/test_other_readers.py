"""Our values against those of two other readers, on every sample, template and odd workbook that they can read.

What differs, and is right, is listed by reason; nothing else may differ, and a reason that no longer occurs is found.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from python_calamine import CalamineWorkbook

from estimator.jobfile import price_file
from estimator.sheets.cells import Book, Cell, read_book
from estimator.sheets.door import Opened, check_bytes
from tests.build import DAY
from tests.golden.samples import FOLDER
from tests.workbooks import test_quirks, test_rows
from tests.workbooks.biff import xls
from tests.workbooks.books import SHEETS, cell_is, job
from tests.workbooks.odf import ods

Values = Mapping[tuple[int, int], Any]
TEMPLATE = FOLDER.parent / "templates" / "job.xlsx"


def every_kind_of_value(since_1904: bool = False) -> bytes:
    """A workbook with a value of each kind, days and times in several formats, and formulas of each kind of result."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"date_1904": since_1904, "strings_to_formulas": False}) as written:
        sheet = written.add_worksheet("Values")
        for row, (value, code) in enumerate(
            [
                (46115, "yyyy-mm-dd"), (46115.75, "d mmm yyyy hh:mm"), (0.5, "h:mm"), (1.75, "[h]:mm"), (0.25, "0%"),
                (2900, '0" mm"'), (1e-7, "General"), (1 / 3, "0.00"), (-5, "#,##0;[Red]-#,##0"), (59, "yyyy-mm-dd"),
                (60.5, "General"), (12345678901234567, "0"), (0, "0"), (61, "d/m/yy"),
            ]
        ):  # fmt: skip
            sheet.write_number(row, 0, value, written.add_format({"num_format": code}))
        for row, words in enumerate(
            ("text", " spaces ", "two\nlines", "=1+1", "_x0041_", "12", "ü\u00a0½", "\U0001f600")
        ):
            sheet.write_string(row, 1, words)
        sheet.write_boolean(0, 2, True)
        for row, (formula, result) in enumerate(
            (("=A1", 1.5), ('="x"', "x"), ("=1=1", True), ("=NA()", "#N/A"), ('=""', "")), 1
        ):
            sheet.write_formula(row, 2, formula, None, result)
        sheet.merge_range("E1:F3", "merged")
    return made.getvalue()


def with_errors() -> bytes:
    """The job with typed errors, a number that is none, and a formula never calculated."""
    data = cell_is(job(), "Fixings", "D2", ' t="e"><v>#REF!</v>')
    data = cell_is(data, "Fixings", "E2", ' t="e"><f>1/0</f><v>#DIV/0!</v>')
    data = cell_is(data, "Fixings", "F2", "><v>NaN</v>")
    return cell_is(data, "Fixings", "G2", "><f>1+1</f>")


def files() -> dict[str, Callable[[], bytes]]:
    """Every workbook that is compared."""
    made: dict[str, Callable[[], bytes]] = {p.name: p.read_bytes for p in sorted(FOLDER.glob("*.xlsx"))}
    made["template"] = TEMPLATE.read_bytes
    made["values"] = every_kind_of_value
    made["values since 1904"] = lambda: every_kind_of_value(since_1904=True)
    made["errors"] = with_errors
    made["strict"] = lambda: test_rows.strict(job())
    made["ods"] = lambda: ods(SHEETS)
    made["xls"] = lambda: xls(SHEETS)
    made |= {f"damage: {name}": lambda change=change: change(job()) for name, change in test_rows.DAMAGED.items()}
    made |= {f"quirk {name}": lambda change=change: change(job()) for name, change in test_quirks.READ.items()}
    return made


FILES = files()


def ours(data: bytes, name: str) -> dict[str, dict[tuple[int, int], Cell]]:
    """Sheet to place to cell, as we read it."""
    opened = check_bytes(data, name)
    assert isinstance(opened, Opened), opened
    book = read_book(opened)
    assert isinstance(book, Book), book
    return {s.name: dict(s.cells) for s in book.sheets}


def by_openpyxl(data: bytes, name: str, values: bool = True) -> dict[str, Values] | None:
    """Sheet to place to value, as openpyxl reads the file itself; None where it cannot."""
    if not data.startswith(b"PK") or name == "ods":
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=values)
    except Exception:  # of whatever kind: that it cannot read it is what is asked
        return None
    return {
        sheet.title: {(c.row, c.column): c.value for row in sheet.iter_rows() for c in row if c.value is not None}
        for sheet in book.worksheets
    }


def by_calamine(data: bytes) -> dict[str, Values] | None:
    """Sheet to place to value, as calamine reads the file; None where it cannot."""
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        return {
            name: {
                (r, c): value
                for r, row in enumerate(book.get_sheet_by_name(name).to_python(skip_empty_area=False), start=1)
                for c, value in enumerate(row, start=1)
                if value != ""
            }
            for name in book.sheet_names
        }
    except Exception:  # as above
        return None


def same(one: Any, other: Any) -> bool:
    """Whether two values are one; a day is a day at midnight, a whole number its float to 15 digits."""
    if isinstance(one, bool) != isinstance(other, bool):
        return False
    if isinstance(one, int | float) and isinstance(other, int | float):
        return f"{one:.15g}" == f"{other:.15g}"
    if isinstance(other, date) and not isinstance(other, datetime):
        other = datetime(other.year, other.month, other.day)  # noqa: DTZ001
    return bool(one == other)


ERROR = "an error is an error, not blank"
NO_NUMBER = "a number that is none is an error"
UNCALCULATED = "what was never calculated is not blank"
SPACES = "a number with spaces round it is a number, as the format allows"
UNREAD = "a part in another encoding is read, not passed over"


def why(cell: Cell | None, value: Any) -> str:
    """Why a difference from another reader is right; blank where it is not."""
    if cell is None:
        return ""
    if value is None:
        return {"error": ERROR, "uncalculated": UNCALCULATED}.get(cell.kind, UNREAD)
    if cell.kind == "error":
        return NO_NUMBER if str(value).casefold() == "nan" else ""
    return SPACES if isinstance(value, str) and cell.kind == "number" and float(value) == cell.value else ""


def reasons(data: bytes, name: str, theirs: Mapping[str, Values]) -> set[str]:
    """Why values differ: all reasons, the place of a difference that has none among them."""
    found = set()
    for sheet, cells in ours(data, name).items():
        others = theirs[sheet]
        for place in {*cells, *others}:
            cell, value = cells.get(place), others.get(place)
            if cell is None or value is None or not same(cell.value, value):
                found.add(why(cell, value) or f"{sheet} {place}: {cell} is {value!r}")
    return found


DIFFER = {
    ("openpyxl", "values"): {UNCALCULATED},
    ("openpyxl", "values since 1904"): {UNCALCULATED},
    ("calamine", "values"): {ERROR, UNCALCULATED},
    ("calamine", "values since 1904"): {ERROR, UNCALCULATED},
    ("calamine", "errors"): {ERROR, UNCALCULATED, NO_NUMBER},
    ("calamine", "quirk 28 a part in UTF-16"): {UNREAD},
    ("calamine", "quirk 32 numbers with 17 digits, an exponent and spaces"): {SPACES},
}
# what a reader cannot read, or sees no sheet in; ours reads them all
CANNOT = {
    "openpyxl": {
        "errors", "strict", "ods", "xls", "damage: a date in the properties that is none",
        "damage: a drop-down of an unknown kind", "damage: a fill of an unknown kind",
        "damage: backslashes in part names", "damage: capitals in a part name",
        "quirk 34 texts in their cells, no styles", "quirk 38 a megabyte of zeros behind",
    },
    "calamine": {"quirk 29 parts under other names", "quirk 38 a megabyte of zeros behind"},
}  # fmt: skip


@pytest.mark.parametrize("reader", CANNOT)
@pytest.mark.parametrize("name", FILES)
def test_values_are_those_of_other_readers(name: str, reader: str) -> None:
    data = FILES[name]()
    theirs = by_calamine(data) if reader == "calamine" else by_openpyxl(data, name)
    assert (not theirs) == (name in CANNOT[reader])
    if theirs:
        assert reasons(data, name, theirs) == DIFFER.get((reader, name), set())
    assert sum(len(cells) for cells in ours(data, name).values()) > 20


@pytest.mark.parametrize("reader", CANNOT)
def test_what_a_priced_workbook_holds_of_the_user_reads_alike(reader: str, tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(job())
    price_file(path, today=DAY, quote=False, crew=False, drawings=False)
    data = (tmp_path / "job-priced.xlsx").read_bytes()
    theirs = by_calamine(data) if reader == "calamine" else by_openpyxl(data, "priced")
    assert theirs is not None
    assert "Bill" in theirs
    assert set(ours(data, "job-priced.xlsx")) == set(SHEETS)
    assert reasons(data, "job-priced.xlsx", theirs) == set()


def test_formulas_are_those_of_openpyxl() -> None:
    data = every_kind_of_value()
    theirs = by_openpyxl(data, "values", values=False)
    assert theirs is not None
    formulas = {place: c.formula for place, c in ours(data, "values")["Values"].items() if c.formula}
    assert formulas == {
        p: v for p, v in theirs["Values"].items() if isinstance(v, str) and v.startswith("=") and p[1] == 3
    }
    assert len(formulas) == 5


def test_a_difference_is_found() -> None:
    data = job()
    theirs = by_openpyxl(data, "job")
    assert theirs is not None
    changed = {**theirs, "Sites": {**theirs["Sites"], (2, 4): 11, (9, 9): "more"}}
    assert len(reasons(data, "job", changed)) == 2
