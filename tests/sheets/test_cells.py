"""Cells as they stand, from workbooks that other programs wrote or damaged."""

from __future__ import annotations

import io
import re
import resource
import time as clock
from datetime import datetime, time
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from python_calamine import CalamineWorkbook

from estimator.core.problems import Problem
from estimator.sheets.cells import Book, Cell, open_book, read_book, sheet_from_rows
from estimator.sheets.door import Opened, check_bytes
from tests.sheets.build import BOOK, SHEET, edited, replaced, with_part, workbook

STYLES = "xl/styles.xml"


def book_of(data: bytes) -> Book:
    """The book of bytes that pass the door."""
    opened = check_bytes(data, "job.xlsx")
    assert isinstance(opened, Opened), opened
    book = read_book(opened)
    assert isinstance(book, Book), book
    return book


def values(data: bytes, sheet: int = 0) -> dict[tuple[int, int], object]:
    """Place to value."""
    return {place: cell.value for place, cell in book_of(data).sheets[sheet].cells.items()}


PLAIN = values(workbook())


def test_plain_values() -> None:
    assert PLAIN[2, 1] == "North"
    assert PLAIN[2, 3] == 1.5
    assert (3, 3) not in PLAIN


def strict(data: bytes) -> bytes:
    """The workbook in the strict form of the standard."""

    def swap(content: bytes) -> bytes:
        return content.replace(
            b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
            b"http://purl.oclc.org/ooxml/spreadsheetml/main",
        ).replace(
            b"http://schemas.openxmlformats.org/officeDocument/2006/", b"http://purl.oclc.org/ooxml/officeDocument/"
        )

    parts = (BOOK, SHEET, STYLES, "xl/sharedStrings.xml", "_rels/.rels", "xl/_rels/workbook.xml.rels")
    return edited(data, *((part, swap) for part in parts))


def prefixed(data: bytes) -> bytes:
    """The workbook with x: before every tag of its sheet, as some programs write it."""

    def swap(content: bytes) -> bytes:
        tags = re.sub(rb"<(/?)(\w)", rb"<\1x:\2", content)
        return tags.replace(b"xmlns=", b"xmlns:x=")

    return edited(data, (SHEET, swap))


DAMAGED = {
    "strict": strict(workbook()),
    "prefixed tags": prefixed(workbook()),
    "bad date in the properties": edited(
        workbook(), ("docProps/core.xml", lambda c: re.sub(rb"\d{4}-\d\d-", b"13-13-13", c))
    ),
    "bad drop-down": replaced(
        workbook(),
        SHEET,
        "</sheetData>",
        '</sheetData><dataValidations count="1"><dataValidation errorStyle="loud" sqref="??"/></dataValidations>',
    ),
    "bad fill": replaced(workbook(), STYLES, 'patternType="gray125"', 'patternType="tartan"'),
    "no dimension": replaced(workbook(), SHEET, '<dimension ref="A1:C3"/>', ""),
    "dimension too small": replaced(workbook(), SHEET, 'ref="A1:C3"', 'ref="A1"'),
    "dimension too large": replaced(workbook(), SHEET, 'ref="A1:C3"', 'ref="A1:XFD1048576"'),
    "no cell references": edited(workbook(), (SHEET, lambda c: re.sub(rb'<c r="[A-Z]+\d+"', b"<c", c))),
    "no row numbers": edited(workbook(), (SHEET, lambda c: re.sub(rb'<row r="\d+"', b"<row", c))),
    "comments inside": replaced(workbook(), SHEET, "<sheetData>", "<sheetData><!-- <row r='9'><c r='A9'/></row> -->"),
    "style out of range": edited(workbook(), (SHEET, lambda c: c.replace(b'<c r="A2"', b'<c r="A2" s="999"'))),
    "unknown number format": replaced(
        workbook(),
        STYLES,
        '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/></cellXfs>',
        '<xf numFmtId="999" fontId="7" fillId="9" borderId="0" xfId="0"/></cellXfs>',
    ),
    "styled empty cells": replaced(
        workbook(),
        SHEET,
        "</sheetData>",
        '<row r="4" s="1"/><row r="5"><c r="A5" s="0"/><c r="B5" s="0"></c></row><row r="9"> <c r="C9"/> </row>'
        "</sheetData>",
    ),
}


@pytest.mark.parametrize("damage", DAMAGED)
def test_damage_that_other_readers_tolerate(damage: str) -> None:
    assert values(DAMAGED[damage]) == PLAIN


def test_a_book_without_styles_or_strings() -> None:
    data = workbook({"Sites": [["1", 2]]})
    text = b'<c r="A1" t="inlineStr"><is><t>1</t></is></c>'
    inline = edited(
        data,
        (SHEET, lambda c: c.replace(b'<c r="A1" t="s"><v>0</v></c>', text)),
        ("xl/_rels/workbook.xml.rels", lambda c: re.sub(rb'<Relationship Id="rId[34]"[^>]*/>', b"", c)),
    )
    assert values(inline) == {(1, 1): "1", (1, 2): 2}


def test_a_far_cell_and_a_million_styled_rows_cost_little() -> None:
    far = replaced(
        replaced(workbook(), SHEET, 'ref="A1:C3"', 'ref="A1:XFD1048576"'),
        SHEET,
        "</sheetData>",
        '<row r="1048576"><c r="XFD1048576" s="0"/></row></sheetData>',
    )
    start = clock.process_time()
    assert values(far) == PLAIN
    assert clock.process_time() - start < 1
    rows = "".join(f'<row r="{r}" s="1"><c r="A{r}" s="0"/><c r="B{r}" s="0"/></row>' for r in range(4, 1_048_577))
    million = replaced(workbook(), SHEET, "</sheetData>", rows + "</sheetData>")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = clock.process_time()
    assert values(million) == PLAIN
    assert clock.process_time() - start < 2
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 400_000  # kB: the part, not its cells


def test_dates_of_both_calendars() -> None:
    for since_1904 in (False, True):
        made = io.BytesIO()
        book = xlsxwriter.Workbook(made, {"date_1904": since_1904})
        sheet = book.add_worksheet("Job")
        day = book.add_format({"num_format": "d mmm yyyy"})
        sheet.write_datetime(0, 0, datetime.fromisoformat("2026-04-03"), day)
        sheet.write_number(0, 1, 0.5, book.add_format({"num_format": "h:mm"}))
        sheet.write_number(0, 2, 0.1, book.add_format({"num_format": "0%"}))
        sheet.write_number(0, 3, -5, day)
        book.close()
        read = book_of(made.getvalue())
        cells = read.sheets[0].cells
        assert read.since_1904 == since_1904
        assert cells[1, 1] == Cell(datetime.fromisoformat("2026-04-03"), "date", None, "d mmm yyyy")
        assert cells[1, 2] == Cell(time(12), "time", None, "h:mm")
        assert (cells[1, 3].value, cells[1, 3].kind, cells[1, 3].number_format) == (0.1, "number", "0%")


def test_errors_are_never_blank() -> None:
    data = workbook({"Sites": [[1, 2, 3, 4]]})
    data = replaced(data, SHEET, '<c r="A1"><v>1</v>', '<c r="A1" t="e"><v>#N/A</v>')
    data = replaced(data, SHEET, '<c r="B1"><v>2</v>', '<c r="B1" t="e"><f>A9/0</f><v>#DIV/0!</v>')
    data = replaced(data, SHEET, "<v>3</v>", "<v>NaN</v>")
    data = replaced(data, SHEET, '<c r="D1"><v>4</v>', '<c r="D1" t="s"><v>99</v>')
    cells = book_of(data).sheets[0].cells
    assert [(c.value, c.kind, c.formula) for c in cells.values()] == [
        ("#N/A", "error", None),
        ("#DIV/0!", "error", "=A9/0"),
        ("NaN", "error", None),
        ("99", "error", None),
    ]


def test_formulas_calculated_and_not() -> None:
    data = workbook({"Sites": [[11, 12, 13, 14]]})
    data = replaced(data, SHEET, "<v>11</v>", "<f>1+1</f><v>2</v>")
    data = replaced(data, SHEET, "<v>12</v>", "<f>B9*2</f><v></v>")
    data = replaced(data, SHEET, '<c r="C1"><v>13</v>', '<c r="C1" t="str"><f>""</f><v></v>')
    data = replaced(data, SHEET, '<c r="D1"><v>14</v>', '<c r="D1" t="b"><f>TRUE()</f><v>1</v>')
    cells = book_of(data).sheets[0].cells
    assert cells[1, 1] == Cell(2, "number", "=1+1")
    assert cells[1, 2] == Cell(None, "uncalculated", "=B9*2")
    assert (1, 3) not in cells
    assert cells[1, 4] == Cell(True, "bool", "=TRUE()")
    saved = io.BytesIO()
    by_hand = openpyxl.Workbook()
    by_hand.active.append(["=A2", '="x"'])  # type: ignore[union-attr]
    by_hand.save(saved)
    assert [c.kind for c in book_of(saved.getvalue()).sheets[0].cells.values()] == ["uncalculated", "uncalculated"]


def test_shared_and_array_formulas_are_told_per_cell() -> None:
    data = workbook({"Sites": [[1], [2], [3]]})
    data = replaced(data, SHEET, "<v>1</v>", '<f t="shared" ref="A1:A2" si="0">Bill!B1*2</f><v>1</v>')
    data = replaced(data, SHEET, "<v>2</v>", '<f t="shared" si="0"/><v>2</v>')
    data = replaced(data, SHEET, "<v>3</v>", '<f t="array" ref="A3">SUM(B1:B2)</f><v>3</v>')
    assert [c.formula for c in book_of(data).sheets[0].cells.values()] == ["=Bill!B1*2", "=Bill!B2*2", "=SUM(B1:B2)"]


def test_hostile_text_comes_through_as_text() -> None:
    texts = [
        "=1+1",
        "+61 400",
        "@x",
        "=cmd|' /C calc'!A0",
        "x" * 32767,
        "a\u202eb",
        "\u200bz",
        "\U0001f600",
        "<&amp;",
    ]
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made, {"strings_to_formulas": False})
    sheet = book.add_worksheet("Sites")
    for row, text in enumerate(texts):
        sheet.write_string(row, 0, text)
    book.close()
    cells = book_of(made.getvalue()).sheets[0].cells
    assert [(c.value, c.kind, c.formula) for c in cells.values()] == [(t, "text", None) for t in texts]


def test_escapes_and_line_ends_are_decoded_and_runs_joined() -> None:
    rich = "<si><r><t>ri</t></r><r><rPr><b val='?'/></rPr><t>ch</t></r><rPh sb='0' eb='1'><t>no</t></rPh></si>"
    data = edited(
        workbook({"Sites": [["one"], ["two"]]}),
        (
            "xl/sharedStrings.xml",
            lambda c: c.replace(b"<si><t>one</t></si>", rich.encode()).replace(b"two", b"a_x000D_&#10;b_x005F_x0041_"),
        ),
    )
    assert list(values(data).values()) == ["rich", "a\nb_x0041_"]


def test_hidden_things_and_merges_are_known_and_chart_sheets_passed_over() -> None:
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made)
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Sites!$A$1:$A$5"})
    book.add_chartsheet("Picture").set_chart(chart)
    sheet = book.add_worksheet("Sites")
    for row in range(8):
        sheet.write(row, 0, row)
    sheet.set_row(1, None, None, {"hidden": True})
    sheet.set_row(5, None, None, {"hidden": True})
    sheet.set_column("C:E", None, None, {"hidden": True})
    sheet.autofilter("A5:B8")
    sheet.merge_range("A7:A8", "x")
    book.add_worksheet("Secret").very_hidden()
    book.close()
    read = book_of(made.getvalue())
    sites = read.sheets[0]
    assert read.names == ("Picture", "Sites", "Secret")
    assert [(s.name, s.state) for s in read.sheets] == [("Sites", "visible"), ("Secret", "veryHidden")]
    assert (sites.hidden_rows, sites.filtered_rows, sites.hidden_columns) == ({2}, {6}, {3, 4, 5})
    assert sites.merged == ((7, 1, 8, 1),)


def test_manual_calculation_and_the_totals_row_of_a_table() -> None:
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made)
    book.set_calc_mode("manual")
    sheet = book.add_worksheet("Sites")
    sheet.add_table("A1:B4", {"total_row": True, "columns": [{"header": "Site"}, {"header": "Ground"}]})
    book.close()
    read = book_of(made.getvalue())
    assert read.manual
    assert read.sheets[0].totals_rows == {4}


def test_only_the_sheets_asked_for_are_read(tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(workbook({" SITES ": [["a"]], "Long list": [[i] for i in range(50)]}))
    found = open_book(path, ["Sites", "Job"])
    assert not isinstance(found, Problem)
    assert [s.name for s in found[1].sheets] == [" SITES "]
    assert found[1].names == (" SITES ", "Long list")


def test_a_second_reader_sees_the_same() -> None:
    rows = [[f"name {i}", i, i / 7, i % 2 == 0, None, f"{i} m"] for i in range(200)]
    data = workbook({"One": rows, "Two": rows[:7]})
    other = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for sheet in book_of(data).sheets:
        seen = {
            (r, c): value
            for r, row in enumerate(other.get_sheet_by_name(sheet.name).to_python(skip_empty_area=False), start=1)
            for c, value in enumerate(row, start=1)
            if value != ""
        }
        assert {place: cell.value for place, cell in sheet.cells.items()} == seen


def test_rows_of_text_make_a_sheet() -> None:
    sheet = sheet_from_rows("posts", [["code", " "], ["", "2.9\r\n"]])
    assert {place: cell.value for place, cell in sheet.cells.items()} == {(1, 1): "code", (2, 2): "2.9\n"}


def test_unknown_parts_are_no_hindrance() -> None:
    assert values(with_part(workbook(), "customXml/item1.xml", b"<broken")) == PLAIN


TWO_WAYS = {
    "a cell of another row": ('r="A2"', 'r="A3"'),
    "a cell that calls itself an area": ('r="A2"', 'r="A2:B2"'),
    "a cell of no name": ('r="A2"', 'r="2A"'),
    "a cell beyond the last column": ('r="C2"', 'r="XFE2"'),
    "a row of no number": ('<row r="2"', '<row r="two"'),
    "a row under another name": ("</row></sheetData>", '</row><rows r="4"/></sheetData>'),
    "a row inside a row": ("</row></sheetData>", '<row r="4"><c r="A4"><v>1</v></c></row></row></sheetData>'),
    "two values of a cell": ("<v>1.5</v>", "<v>1.5</v><v>2.5</v>"),
    "a value outside its cell": ("</row></sheetData>", "<v>3</v></row></sheetData>"),
}


@pytest.mark.parametrize("name", TWO_WAYS)
def test_a_sheet_that_two_programs_would_read_in_two_ways_is_refused(name: str) -> None:
    old, new = TWO_WAYS[name]
    opened = check_bytes(replaced(workbook(), SHEET, old, new), "job.xlsx")
    assert isinstance(opened, Opened)
    found = read_book(opened)
    assert isinstance(found, Problem), found
    assert found.code == "part-broken"


def test_a_row_without_a_number_has_that_of_its_cells() -> None:
    assert values(edited(workbook(), (SHEET, lambda part: re.sub(rb'<row r="\d+"', b"<row", part)))) == PLAIN


@pytest.mark.parametrize("odd", ["<si><t>x</t></si></t></si>", "</t><t>x</t></si>"])
def test_a_text_inside_or_beside_another_is_refused(odd: str) -> None:
    opened = check_bytes(replaced(workbook(), "xl/sharedStrings.xml", "</t></si>", odd), "job.xlsx")
    assert isinstance(opened, Opened)
    assert isinstance(read_book(opened), Problem)


def test_a_sheet_of_the_job_that_leads_nowhere_is_refused() -> None:
    for old, new in (('/worksheet"', '/odd"'), ("worksheets/sheet1.xml", "worksheets/sheet9.xml")):
        opened = check_bytes(replaced(workbook(), "xl/_rels/workbook.xml.rels", old, new), "job.xlsx")
        assert isinstance(opened, Opened)
        assert isinstance(read_book(opened), Problem), new
