"""What stands on our sheets."""

from __future__ import annotations

import dataclasses
import zipfile
from datetime import date
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.report import look, names
from estimator.report.book import render_sheets
from estimator.report.rows import HELD, ReportFault
from tests.report import sample

SHEETS = [n for n in names.SHEETS if n != names.USED]  # there is nothing in Actuals


def opened(data: bytes, values: bool = True) -> Any:
    return load_workbook(BytesIO(data), data_only=values)


def words(sheet: Any) -> list[str]:
    return [str(c.value) for row in sheet.iter_rows() for c in row if c.value is not None]


def test_sheets_and_their_heads() -> None:
    book = opened(render_sheets(sample.priced()))
    assert book.sheetnames == SHEETS
    for sheet in book.worksheets:
        head = look.CREW if sheet.title == "Set-out" else look.OFFICE
        assert sheet["A1"].value == head
        assert head in sheet.oddHeader.left.text
        assert sheet.page_setup.paperSize == "9" or sheet.page_setup.paperSize == 9
        assert sheet.page_setup.fitToWidth in (None, 1)


def test_the_same_job_gives_the_same_bytes_and_letter_paper_is_letter() -> None:
    assert render_sheets(sample.priced()) == render_sheets(sample.priced())
    book = opened(render_sheets(sample.priced(paper="Letter")))
    assert {int(s.page_setup.paperSize) for s in book.worksheets} == {1}


def test_no_clock_and_no_author() -> None:
    with zipfile.ZipFile(BytesIO(render_sheets(sample.priced()))) as parts:
        assert {i.date_time[0] for i in parts.infolist()} == {1980}
        core = parts.read("docProps/core.xml").decode()
    assert core.count("2026-04-03T00:00:00Z") == 2
    assert "<dc:creator></dc:creator>" in core


def test_summary_shows_totals_marks_and_reasons() -> None:
    priced = sample.priced()
    sheet = opened(render_sheets(priced))["Summary"]
    said = words(sheet)
    assert float(priced.totals.price) in [c.value for c in sheet["B"]]
    assert "COMPLETE: every site is in the total." in said
    assert said.count("chosen") == 2
    assert "NOT PRICED" in said
    assert any("no tensioner of the set fits" in w and w.startswith("Options!F3") for w in said)
    assert "1 error, 2 warnings, 2 notes: all on To check" in said


def test_an_incomplete_total_names_the_site() -> None:
    priced = sample.priced()
    totals = dataclasses.replace(priced.totals, complete=False, missing=("Back yard",))
    said = words(opened(render_sheets(dataclasses.replace(priced, totals=totals)))["Summary"])
    assert "INCOMPLETE: without Back yard." in said


def test_the_bill_is_live_and_carries_the_values_of_the_engine() -> None:
    priced = sample.priced()
    data = render_sheets(priced)
    live, values = opened(data, values=False)["Bill"], opened(data)["Bill"]
    bill = priced.options[0].bill
    assert bill is not None
    row = 5
    assert live.cell(row, 7).value == f"=ROUND(D{row}*F{row},2)"
    for number, line in enumerate(bill.lines):
        assert values.cell(row + number, 7).value == float(line.cost)
    cost = row + len(bill.lines)
    assert live.cell(cost, 7).value == f"=ROUND(SUM(G{row}:G{cost - 1}),2)"
    assert values.cell(cost, 7).value == float(bill.totals.cost)
    typed = [c.value for r in live.iter_rows(min_row=5, min_col=7, max_col=7) for c in r if isinstance(c.value, float)]
    assert typed == [float(price) for _, price in priced.options[0].apart], "only a price beside may be typed"


def test_plain_functions_only() -> None:
    import re

    book = opened(render_sheets(sample.priced(by_line=True)), values=False)
    used = {
        name
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for c in row
        if c.data_type == "f"
        for name in re.findall(r"([A-Z][A-Z.]+)\(", c.value)
    }
    assert used <= {"SUM", "SUMIF", "SUMIFS", "ROUND", "IF", "INDEX", "MATCH", "COUNTIF", "MIN", "MAX"}
    assert {"SUM", "SUMIF", "ROUND", "IF", "SUMIFS"} <= used


@pytest.mark.parametrize("rows", [4, 7, 23])
def test_a_long_bill_runs_on_to_further_sheets(rows: int) -> None:
    priced = sample.priced()
    book = opened(render_sheets(priced, bill_rows=rows))
    bills = [n for n in book.sheetnames if n.startswith("Bill")]
    assert bills[:2] == ["Bill", "Bill 2"]
    assert len(bills) > 2 or rows == 23
    assert all(book[n].max_row <= rows for n in bills)
    descriptions = [str(book[n].cell(r, 2).value) for n in bills for r in range(4, book[n].max_row + 1)]
    expected = [x.description for o in priced.options if o.bill for x in o.bill.lines]
    found = [d for d in descriptions if d in set(expected)]
    assert found == expected


def test_formulas_follow_a_renamed_sheet() -> None:
    data = render_sheets(sample.priced(), {"Bill": "Dad's bill", "Summary": "First page"})
    book = opened(data, values=False)
    assert book.sheetnames[:2] == ["First page", "Dad's bill"]
    assert any(str(c.value).startswith("='Dad''s bill'!G") for row in book["First page"].iter_rows() for c in row)


def test_hostile_text_stays_text() -> None:
    priced = sample.priced(name='=1+1 & "x" \x07\r\nsecond', customer="@SUM(A1)", reference="http://nowhere.example")
    option = priced.options[0]
    assert option.bill is not None
    odd = dataclasses.replace(option.bill.lines[0], description="=cmd|x", working="y" * 40_000)
    bill = dataclasses.replace(option.bill, lines=(odd, *option.bill.lines[1:]))
    changed = dataclasses.replace(priced, options=(dataclasses.replace(option, bill=bill), *priced.options[1:]))
    book = opened(render_sheets(changed), values=False)
    cell = next(c for row in book["Bill"].iter_rows() for c in row if c.value == "=cmd|x")
    assert cell.data_type == "s"
    assert any(w.endswith("more characters]") and "[cut here: " in w for w in words(book["Bill"]))
    assert any(c.value == "@SUM(A1)" for row in book["Summary"].iter_rows() for c in row)
    assert all(
        c.hyperlink is None or c.hyperlink.target is None for s in book.worksheets for r in s.iter_rows() for c in r
    )


def test_links_of_to_check_lead_to_the_cell() -> None:
    book = opened(render_sheets(sample.priced()))
    sheet = book["To check"]
    assert [sheet.cell(r, 1).value for r in range(4, 9)] == ["error", "warning", "warning", "note", "note"]
    assert sheet["B4"].hyperlink.location == "'Options'!F3"
    assert sheet["C4"].value.startswith("no tensioner")


def test_the_crew_sees_no_money() -> None:
    priced = sample.priced()
    sheet = opened(render_sheets(priced))["Set-out"]
    said = words(sheet)
    assert not any("$" in str(c.number_format) for row in sheet.iter_rows() for c in row)
    figures = {str(float(x.cost)) for o in priced.options if o.bill for x in o.bill.lines}
    assert not figures & set(said)
    assert "C: Mind the drain." in said
    assert "0.384" in said


def test_lengths_follow_the_units_of_the_job() -> None:
    metric = opened(render_sheets(sample.priced()))["Corners"]
    feet = opened(render_sheets(sample.priced(units="feet and inches")))["Corners"]
    assert metric["E3"].value == "Gap (m)"
    assert metric["E4"].value == 0.412
    assert feet["E3"].value == "Gap"
    assert feet["E4"].value == "1' 4 1/4\""
    assert feet["S3"].value == "Working load (lbf)"


def test_basis_says_what_the_price_rests_on() -> None:
    said = words(opened(render_sheets(sample.priced()))["Basis"])
    assert "Corner sets, posts, holes and depths are chosen by size, never by load." in said
    assert any(w.startswith("By the setting: deeper of side") for w in said)
    assert "version 0.1.0" in said
    assert said.count("SHS100") == 1
    assert "2026-01-01" in said
    assert "'Units' is blank; metric is used." in said


def test_no_sheet_calls_anything_safe() -> None:
    book = opened(render_sheets(sample.priced()))
    everything = " ".join(w for s in book.worksheets for w in words(s))
    assert "indicative" in everything
    assert " OK" not in everything
    assert "safe" not in everything.replace("safety", "")


def test_a_refused_cell_is_a_fault_of_ours() -> None:
    book = look.start("$", "metric", "A4", date(2026, 1, 1))
    sheet = look.add_sheet(book, "X", {}, ordered=True)
    with pytest.raises(ReportFault, match="A1048577"):
        sheet.text(1_048_576, 0, "below the last row")
    sheet.number(0, 0, float("nan"), "0.0")
    for row in range(1, HELD + 2):
        sheet.text(row, 0, "the next row")
    with pytest.raises(ReportFault, match="B1 "):
        sheet.text(0, 1, "a row that is written already")
    assert opened(look.finish(book))["X"]["A1"].value == "not known"


def test_rows_of_a_sheet_may_come_in_any_order_and_gaps_keep_their_height() -> None:
    book = look.start("$", "metric", "A4", date(2026, 1, 1))
    sheet = look.add_sheet(book, "X", {})
    sheet.text(5, 1, "same words")
    sheet.height(3, 7.5)
    sheet.text(2, 0, "same words")
    sheet.settle()
    sheet.gap(7, 9)
    sheet.text(6, 0, " <same> & words ")
    found = opened(look.finish(book))["X"]
    assert (found["B6"].value, found["A3"].value, found["A7"].value) == ("same words", "same words", " <same> & words ")
    assert (found.row_dimensions[4].height, found.row_dimensions[8].height) == (7.5, 9)
    late = look.add_sheet(look.start("$", "metric", "A4", date(2026, 1, 1)), "Y", {})
    with pytest.raises(ReportFault, match="A1048577"):
        late.text(1_048_576, 0, "below the last row")


def test_an_empty_job_is_still_a_workbook() -> None:
    priced = sample.priced()
    zero = dataclasses.replace(
        priced.totals, cost=Decimal(0), price_before_tax=Decimal(0), tax=Decimal(0), price=Decimal(0)
    )
    empty = dataclasses.replace(priced, options=(), job_bill=None, problems=(), totals=zero)
    book = opened(render_sheets(empty))
    assert book.sheetnames == SHEETS
    assert book["To check"]["A4"].value == "Nothing was found."


def test_a_problem_of_the_rate_book_has_no_link() -> None:
    from estimator.core.problems import Place, Problem

    priced = sample.priced()
    place = Place("rates/items.csv", "items", "D4")
    odd = Problem("blank", "error", place, f"{place}: 'price' is blank.")
    sheet = opened(render_sheets(dataclasses.replace(priced, problems=(odd, *priced.problems))))["To check"]
    assert sheet["B4"].value == "items.csv: items!D4"
    assert sheet["B4"].hyperlink is None
    assert sheet["C4"].value == "'price' is blank."
    assert sheet["B5"].hyperlink.location == "'Options'!F3"


def test_long_words_are_shown_in_full() -> None:
    """Rows are as high as their words need; a name longer than a line is cut in the title and given in full below."""
    priced = sample.priced(name="A very long name of a job " * 8)
    problems = tuple(dataclasses.replace(p, message=p.message + " and more" * 60) for p in priced.problems)
    book = opened(render_sheets(dataclasses.replace(priced, problems=problems)))
    sheet = book["Summary"]
    assert sheet["A2"].value.endswith("…")
    assert ("A very long name of a job " * 8) in words(sheet)
    rows = [r for r in range(1, sheet.max_row + 1) if str(sheet.cell(r, 3).value).endswith("and more")]
    assert len(rows) == 5
    assert all(sheet.row_dimensions[r].height > 30 for r in rows)
    assert book["To check"].row_dimensions[4].height > 70
