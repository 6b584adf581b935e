"""The blank job workbook: as declared, nothing hidden, drop-downs that offer what the rate book holds."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.utils import range_boundaries

from estimator.report.blank import HEADING_ROW, blank_job, heading
from estimator.report.package.audit import audit
from estimator.sheets.columns import JOB, TABLES, Table
from tests.build import DAY, run
from tests.golden.template import TEMPLATE, build

TABLED = [t for t in TABLES if not t.items]


@pytest.fixture(scope="module")
def book() -> Workbook:
    return load_workbook(TEMPLATE)


def offered(book: Workbook, sheet: str, cell: str) -> list[str]:
    """What the drop-down of a cell offers; empty when there is none."""
    for rule in book[sheet].data_validations.dataValidation:
        if cell in rule.sqref:
            words = str(rule.formula1)
            if words.startswith('"'):
                return words.strip('"').split(",")
            where, area = words.split("!")
            left, top, right, bottom = range_boundaries(area.replace("$", ""))
            rows = book[where].iter_rows(top, bottom, left, right, values_only=True)
            return [str(row[0]) for row in rows]
    return []


def test_the_template_is_what_the_declarations_say() -> None:
    assert TEMPLATE.read_bytes() == build()


def test_the_same_day_gives_the_same_bytes_and_another_day_the_same_sheets() -> None:
    assert blank_job(None, DAY) == blank_job(None, DAY)
    names = load_workbook(io.BytesIO(blank_job(None))).sheetnames
    assert names == [*(t.sheet for t in TABLES), "Lists"]


def test_nothing_is_hidden_and_each_sheet_is_one_page_wide(book: Workbook) -> None:
    for sheet in book.worksheets:
        assert sheet.sheet_state == "visible"
        assert not any(d.hidden for d in sheet.row_dimensions.values())
        assert not any(d.hidden for d in sheet.column_dimensions.values())
        assert sheet.sheet_properties.pageSetUpPr is not None
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
        assert sheet.freeze_panes


@pytest.mark.parametrize("table", TABLED, ids=lambda t: t.sheet)
def test_a_sheet_has_its_headings_notes_and_example(book: Workbook, table: Table) -> None:
    sheet = book[table.sheet]
    for at, column in enumerate(table.columns, start=1):
        assert sheet.cell(HEADING_ROW, at).value == heading(column)
        note = str(sheet.cell(HEADING_ROW - 1, at).value or "")
        assert ("needed" in note.split("; ")) is column.required
        assert column.note in note
        if column.required:
            assert sheet.cell(HEADING_ROW + 1, at).value is not None, column.name
    assert "EXAMPLE" in [c.value for c in sheet[HEADING_ROW + 1]]


def test_the_job_sheet_has_every_item(book: Workbook) -> None:
    names = [book["Job"].cell(row, 1).value for row in range(HEADING_ROW + 1, HEADING_ROW + 1 + len(JOB.columns))]
    assert names == [heading(c) for c in JOB.columns]


@pytest.mark.parametrize("table", TABLES, ids=lambda t: t.sheet)
def test_each_drop_down_offers_what_is_declared(book: Workbook, table: Table) -> None:
    for at, column in enumerate(table.columns, start=1):
        number = HEADING_ROW + at if table.items else HEADING_ROW + 1
        cell = book[table.sheet].cell(number, 2 if table.items else at).coordinate
        found = offered(book, table.sheet, cell)
        if column.kind == "choice":
            assert found == list(column.choices), column.name
        elif column.kind == "yes":
            assert found == ["yes", "no"]
        elif column.table:
            assert found, column.name
            assert "None" not in found
        if column.table == "supports":
            assert {"new post", "rafter", "tree"} <= set(found)
        if column.kind == "size":
            assert "TRI-5000" in found


def test_the_workbook_is_sound_and_its_texts_are_shared() -> None:
    data = TEMPLATE.read_bytes()
    assert audit(data) == []
    # some previews show nothing for text that stands in its cell instead of in the list of texts
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert not any(b"inlineStr" in package.read(n) for n in package.namelist())


def test_a_number_under_per_cent_on_the_job_sheet_is_per_cent(tmp_path: Path) -> None:
    book = load_workbook(TEMPLATE)
    values: dict[str, Any] = {"Job name": "Test", "Margin (%)": 25, "Discount (%)": "2 %"}
    for row in book["Job"].iter_rows(min_row=HEADING_ROW + 1):
        if row[0].value in values:
            row[1].value = values[str(row[0].value)]
    book.save(tmp_path / "job.xlsx")
    outcome = run(tmp_path / "job.xlsx")
    assert outcome.priced is not None
    header = outcome.priced.job.header
    assert (str(header.margin), str(header.discount)) == ("0.25", "0.02")
