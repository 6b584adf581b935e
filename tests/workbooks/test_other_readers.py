"""Our values against those of two other readers, on every sample, template and odd workbook that they can read.

What differs, and is right, is listed by reason; nothing else may differ, and a reason that no longer occurs is found.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import datetime, time, timedelta
from pathlib import Path

import pytest
import xlsxwriter

from estimator.jobfile import price_file
from estimator.rates.files import find_tables
from estimator.sheets.cells import Cell
from tests.build import DAY
from tests.golden.samples import FOLDER
from tests.nightly.readers import (
    DURATION,
    ERROR,
    NO_NUMBER,
    READERS,
    SECONDS,
    SPACES,
    UNCALCULATED,
    UNREAD,
    by_openpyxl,
    compare_all,
    compared,
    kept_by,
    ours,
    same,
    why,
)
from tests.office import absent, convert, program
from tests.random_jobs import random_job
from tests.workbooks import test_quirks, test_rows
from tests.workbooks.biff import xls
from tests.workbooks.books import SHEETS, cell_is, job
from tests.workbooks.odf import ods

TEMPLATE = FOLDER.parent / "templates" / "job.xlsx"
RATES = FOLDER.parent / "templates" / "rates"
DAYTIME = datetime(2026, 4, 3, 14, 30)  # noqa: DTZ001


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


def explained(reader: str, name: str, data: bytes, file: str = "") -> int:
    """How many cells were compared; 0 where the reader cannot read the workbook. file: what it is called."""
    theirs = READERS[reader](data)
    if not theirs or (reader == "openpyxl" and name in CANNOT[reader]):
        assert name in CANNOT[reader]
        return 0
    assert name not in CANNOT[reader]
    found = compared(data, file or name, theirs)
    assert found.unexplained == []
    assert set(found.reasons) == DIFFER.get((reader, name), set())
    return found.cells


@pytest.mark.parametrize("reader", CANNOT)
@pytest.mark.parametrize("name", FILES)
def test_values_are_those_of_other_readers(name: str, reader: str) -> None:
    data = FILES[name]()
    cells = explained(reader, name, data)
    assert cells > 20 or name in CANNOT[reader]
    assert sum(len(sheet) for sheet in ours(data, name).values()) > 20


def test_random_jobs_read_alike_in_great_number(tmp_path: Path) -> None:
    """Of the office's numbers in every shape: typed, in per cent, as days, as lengths with a unit."""
    cells = 0
    for seed in range(8):
        data = random_job(tmp_path / f"{seed}.xlsx", seed).read_bytes()
        cells += sum(explained(reader, f"{seed}.xlsx", data) for reader in READERS)
    assert cells > 4_000


@pytest.mark.parametrize("reader", CANNOT)
def test_what_a_priced_workbook_holds_of_the_user_reads_alike(reader: str, tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(job())
    price_file(path, today=DAY, quote=False, crew=False, drawings=False)
    data = (tmp_path / "job-priced.xlsx").read_bytes()
    theirs = READERS[reader](data)
    assert theirs is not None
    assert "Bill" in theirs
    assert set(ours(data, "job-priced.xlsx")) == set(SHEETS)
    assert explained(reader, "priced", data, "job-priced.xlsx") > 50


def test_tables_of_a_folder_read_as_a_reader_of_text_does() -> None:
    found, problems = find_tables(RATES)
    assert problems == []
    cells = 0
    for path in RATES.glob("*.csv"):
        with path.open(encoding="utf-8-sig", newline="") as f:
            theirs = {(r, c): v for r, row in enumerate(csv.reader(f), 1) for c, v in enumerate(row, 1) if v.strip()}
        mine = {place: cell.value for place, cell in found[path.stem].sheet.cells.items()}
        assert mine == theirs, path.name
        cells += len(mine)
    assert cells > 3_000


@pytest.mark.long
@pytest.mark.office
@pytest.mark.parametrize("kind", ["ods", "xls"])
def test_what_an_office_program_saves_reads_alike(kind: str, tmp_path: Path) -> None:
    """Samples, random jobs and a workbook with every kind of value, saved in two other kinds."""
    if program() is None:
        absent("other kinds of workbooks")
        return
    (tmp_path / "values.xlsx").write_bytes(every_kind_of_value())
    jobs = [*sorted(FOLDER.glob("*.xlsx")), *(random_job(tmp_path / f"{seed}.xlsx", seed) for seed in range(12))]
    convert([*jobs, tmp_path / "values.xlsx"], tmp_path / "saved", kind)
    tally = compare_all(sorted((tmp_path / "saved").iterdir()))
    assert tally.unexplained == []
    assert tally.files[f".{kind}"] == tally.read["calamine"] == len(jobs) + 1
    assert tally.cells["calamine"] > 6_000


@pytest.mark.long
def test_every_workbook_that_these_tests_open_reads_alike(tmp_path: Path) -> None:
    tally = compare_all(kept_by(["tests/workbooks", "tests/sheets"], tmp_path))
    assert tally.unexplained == []
    assert tally.files.total() > 150
    assert tally.read["calamine"] > 0.8 * tally.files.total()
    assert tally.cells["calamine"] > 10_000
    assert tally.cells["openpyxl"] > 10_000


def test_formulas_are_those_of_openpyxl() -> None:
    data = every_kind_of_value()
    theirs = by_openpyxl(data, values=False)
    assert theirs is not None
    formulas = {place: c.formula for place, c in ours(data, "values")["Values"].items() if c.formula}
    assert formulas == {
        p: v for p, v in theirs["Values"].items() if isinstance(v, str) and v.startswith("=") and p[1] == 3
    }
    assert len(formulas) == 5


def test_a_difference_is_found() -> None:
    data = job()
    theirs = by_openpyxl(data)
    assert theirs is not None
    changed = {**theirs, "Sites": {**theirs["Sites"], (2, 4): 11, (9, 9): "more"}}
    found = compared(data, "job", changed)
    assert len(found.unexplained) == 2
    assert not found.reasons
    assert found.cells > 50


ODD: list[tuple[Cell, object, str]] = [
    (Cell("#N/A", "error"), 0.5, ""),
    (Cell("much", "text"), "more", ""),
    (Cell(2.5, "number"), "2.6", ""),
    (Cell(timedelta(hours=42), "time"), "PT41H00M00S", ""),
    (Cell(timedelta(hours=42), "time"), "PT42H00M00S", DURATION),
    (Cell(True, "bool", "=TRUE()"), 0.0, ""),
    (Cell(DAYTIME, "date"), DAYTIME.replace(minute=1), ""),
    (Cell(DAYTIME, "date"), DAYTIME.replace(microsecond=9), SECONDS),
    (Cell(DAYTIME, "date"), time(0), ""),
    (Cell(1e-7, "number"), True, ""),
]


@pytest.mark.parametrize(("cell", "value", "reason"), ODD)
def test_a_reason_holds_only_where_it_is_one(cell: Cell, value: object, reason: str) -> None:
    assert not same(cell.value, value)
    assert why(cell, value) == reason
