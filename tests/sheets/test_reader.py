"""Tables and items read from whole workbooks: what is found, what is said, what is left out."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import pytest
import xlsxwriter
from xlsxwriter.worksheet import Worksheet

from estimator.core.problems import Problem
from estimator.sheets.cells import Book, read_book, sheet_from_rows
from estimator.sheets.columns import FIXINGS, JOB, OPTIONS, SITES, TAPE, WALLS, Column, Table
from estimator.sheets.door import check_bytes
from estimator.sheets.grammar import Context
from estimator.sheets.reader import TableRead, find_sheet, read_items, read_table
from tests.sheets.build import BOOK, SHEET, replaced, workbook

METRIC = Context()
HEADS = ["Site", "Fixing", "Held by", "Across (m)", "Out (m)", "Height (m)"]


def book_of(data: bytes) -> Book:
    opened = check_bytes(data, "job.xlsx")
    assert not isinstance(opened, Problem), opened
    book = read_book(opened)
    assert not isinstance(book, Problem), book
    return book


def fixings(*rows: Sequence[object], context: Context = METRIC) -> TableRead:
    """The table Fixings of a book with these rows."""
    return read_table(book_of(workbook({"Fixings": rows})), FIXINGS, context)


def codes(read: TableRead) -> list[str]:
    """Codes of the table's own problems."""
    return [p.code for p in read.problems]


def messages(read: TableRead) -> str:
    return "\n".join(p.message for p in [*read.problems, *(p for row in read.rows for p in row.problems)])


def column(read: TableRead, name: str) -> list[Any]:
    """The values of one column."""
    return [row.values[name] for row in read.rows]


def test_a_plain_table() -> None:
    read = fixings(HEADS, ["North", "A", "rafter", 0, 0, 2.9], ["North", "B", "rafter", "2900 mm", "1,5", 3])
    assert read.problems == ()
    assert (read.counts, column(read, "Across"), column(read, "Out")) == ((2, 0), [0.0, 2.9], [0.0, 1.5])
    row = read.rows[1]
    assert (row.sheet, row.number, row.cells["Height"], row.bad) == ("Fixings", 3, "F3", frozenset())
    assert (row.values["Tied"], row.values["Depth"], "Depth" in row.cells) == (False, None, False)
    assert row.raw["Across"] == "2900 mm"


def test_headings_are_found_whatever_their_case_spaces_brackets_and_order() -> None:
    read = fixings(
        [
            "HELD_BY *",
            " site\u00a0",
            "Fixing\n",
            "height  (mm)",
            "ACROSS [m]",
            "on-post",
            "Lean (degrees)",
            "Out (m, same datum)",
        ],
        ["rafter", "North", "A", 2900, 1, "P1", 5, 2],
    )
    assert read.problems == ()
    row = read.rows[0]
    assert [row.values[n] for n in ("Held by", "Site", "Fixing", "Height", "Across", "On post", "Lean", "Out")] == [
        "rafter",
        "North",
        "A",
        2.9,
        1.0,
        "P1",
        5.0,
        2.0,
    ]


def test_a_bare_heading_is_noted_once_a_column() -> None:
    heads = ["Site", "Fixing", "Held by", "Across", "Out", "Height"]
    rows = [["North", name, "rafter", 1, 2, 3] for name in "ABC"]
    read = fixings(heads, *rows)
    assert codes(read) == ["read-in-unit"] * 3
    assert [p.place.cell for p in read.problems] == ["D2", "E2", "F2"]
    assert "metres" in read.problems[0].message
    feet = fixings(heads, *rows, context=Context("feet and inches"))
    assert column(feet, "Height") == [0.9144] * 3
    assert "feet" in feet.problems[0].message


def test_gaps_end_nothing_and_rows_of_the_users_own_are_counted() -> None:
    read = fixings(
        ["Fixings of the job"],
        [],
        [*HEADS, "My column"],
        ["North", "A", "rafter", 0, 0, 2.9],
        [],
        [None] * 6 + ["only mine"],
        [" ", "\u00a0"],
        ["North", "B", "rafter", 0, 0, 2.9],
    )
    assert [row.number for row in read.rows] == [4, 8]
    assert read.counts == (2, 1)
    assert read.unknown == ("My column",)


def test_examples_and_totals_are_skipped_with_a_note() -> None:
    read = fixings(
        HEADS,
        ["EXAMPLE", "A", "rafter", 0, 0, 2.9],
        ["example ", "B", "rafter", 0, 0, 2.9],
        ["North", "A", "rafter", 0, 0, 2.9],
        ["Total:", None, None, 0, 0, 2.9],
        [None, "EXAMPLE", "rafter", 0, 0, 2.9],
    )
    assert [row.number for row in read.rows] == [4]
    assert codes(read) == ["example-skipped", "total-skipped"]
    assert "2-3, 6" in read.problems[0].message
    assert read.counts == (1, 4)


def test_required_cells_that_are_blank() -> None:
    read = fixings(HEADS, ["North", "A", None, 0, 0, 2.9])
    (said,) = read.rows[0].problems
    assert (said.code, said.place.cell, said.place.sheet, said.place.file) == ("blank", "C2", "Fixings", "job.xlsx")
    assert read.rows[0].bad == {"Held by"}


def test_a_cell_that_cannot_be_used_marks_its_column() -> None:
    read = fixings(HEADS, ["North", "A", "rafter", "TBC", 0, 2900])
    assert read.rows[0].bad == {"Across", "Height"}
    assert [p.place.cell for p in read.rows[0].problems] == ["D2", "F2"]


def test_missing_headings_are_named_one_by_one() -> None:
    read = fixings(["Site", "Fixng", "Held bye", "Across (m)"], ["North", "A", "rafter", 1])
    assert codes(read) == ["heading-missing", "heading-missing", "headings-unknown"]
    assert "Did you mean 'Fixng'?" in read.problems[0].message
    assert "'Held bye' (C; did you mean 'Held by'?" in read.problems[2].message
    assert read.rows[0].bad == {"Fixing", "Held by"}


def test_two_columns_with_one_meaning() -> None:
    read = fixings([*HEADS, " height\u00a0", "Height (mm)"], ["North", "A", "rafter", 0, 0, 2.9, 3, 4])
    assert codes(read) == ["heading-twice"]
    assert "F, G and H" in read.problems[0].message
    assert read.rows[0].values["Height"] is None
    assert read.rows[0].bad == {"Height"}


def test_the_row_with_all_required_headings_wins_over_an_earlier_mention() -> None:
    read = fixings(["Site", "Fixing"], ["Notes", "of mine"], HEADS, ["North", "A", "rafter", 0, 0, 2.9])
    assert [row.number for row in read.rows] == [4]
    assert read.problems == ()


def test_headings_below_the_top_rows_are_not_found() -> None:
    read = fixings(*[[f"line {i}"] for i in range(20)], HEADS, ["North", "A", "rafter", 0, 0, 2.9])
    assert codes(read) == ["sheet-empty"]
    assert fixings(*[[f"line {i}"] for i in range(19)], HEADS, ["N", "A", "rafter", 0, 0, 2.9]).counts == (1, 0)


def test_sheets_that_are_not_there() -> None:
    book = book_of(workbook({"Sties": [["Site", "Ground"]], "Walls": []}))
    sites = read_table(book, SITES, METRIC)
    assert codes(sites) == ["sheet-missing"]
    assert "Did you mean 'Sties'?" in sites.problems[0].message
    assert read_table(book, TAPE, METRIC) == TableRead()
    assert read_table(book, WALLS, METRIC) == TableRead()
    assert codes(read_table(book_of(workbook({"Sites": []})), SITES, METRIC)) == ["sheet-empty"]


def test_a_sheet_is_found_whatever_its_case_and_underscores() -> None:
    book = Book("job", (sheet_from_rows("corner_sets", [["set"]]), sheet_from_rows("SITES ", [["Site"]])))
    assert find_sheet(book, "Corner sets") is book.sheets[0]
    assert find_sheet(book, "sites") is book.sheets[1]
    assert find_sheet(book, "walls") is None
    twice = Book(
        "job", (sheet_from_rows("Sites", [["Site", "Ground"]]), sheet_from_rows("sites ", [["Site", "Ground"]]))
    )
    assert codes(read_table(twice, SITES, METRIC)) == ["sheet-twice"]


def built(fill: Any) -> Book:
    """A book whose sheet Fixings is filled by a function of the sheet and the workbook."""
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made)
    fill(book.add_worksheet("Fixings"), book)
    book.close()
    return book_of(made.getvalue())


def test_title_rows_headings_over_two_rows_and_merged_names() -> None:
    def fill(sheet: Worksheet, _: object) -> None:
        sheet.merge_range("A1:F1", "Back garden of the school")
        sheet.merge_range("A3:A4", "Site")
        sheet.merge_range("B3:B4", "Fixing")
        sheet.merge_range("C3:C4", "Held by")
        sheet.merge_range("D3:F3", "Place")
        sheet.write_row("D4", ["Across (m)", "Out (m)", "Height (m)"])
        sheet.merge_range("G3:H3", "Ground")
        sheet.write_row("G4", ["level (m)", "colour"])
        sheet.merge_range("A5:A6", "North")
        sheet.write_row("B5", ["A", "rafter", 1, 2, 3, 0.5])
        sheet.write_row("B6", ["B", "rafter", 4, 5, 6, 0.1])

    read = read_table(built(fill), FIXINGS, METRIC)
    assert [row.number for row in read.rows] == [5, 6]
    assert (column(read, "Site"), column(read, "Height")) == (["North", "North"], [3.0, 6.0])
    assert column(read, "Ground level") == [0.5, 0.1]
    assert codes(read) == ["headings-unknown", "merged-filled"]
    assert "A5:A6" in read.problems[1].message


def test_other_merged_cells_are_an_error() -> None:
    def fill(sheet: Worksheet, _: object) -> None:
        sheet.write_row("A1", HEADS)
        sheet.write_row("A2", ["North", "A", "rafter", 0, 0])
        sheet.write_row("A3", ["North", "B", "rafter", 0, 0])
        sheet.merge_range("F2:F3", 2.9)
        sheet.write_row("A4", ["North", "C", "rafter"])
        sheet.merge_range("D4:E4", 1)
        sheet.write("F4", 3)

    read = read_table(built(fill), FIXINGS, METRIC)
    assert [row.bad for row in read.rows] == [frozenset(), {"Height"}, {"Out"}]
    assert [p.code for row in read.rows for p in row.problems] == ["merged-cell", "merged-cell"]
    assert "F2:F3" in read.rows[1].problems[0].message


def test_hidden_rows_filters_and_columns_are_read_and_told() -> None:
    def fill(sheet: Worksheet, _: object) -> None:
        sheet.write_row("A1", HEADS)
        for row in range(1, 6):
            sheet.write_row(row, 0, ["North", f"F{row}", "rafter", 0, 0, 2.9])
        sheet.autofilter("A1:F4")
        sheet.set_row(2, None, None, {"hidden": True})
        sheet.set_row(5, None, None, {"hidden": True})
        sheet.set_column("E:F", None, None, {"hidden": True})
        sheet.hide()

    def with_first(sheet: Worksheet, book: xlsxwriter.Workbook) -> None:
        fill(sheet, book)
        book.add_worksheet("First").activate()

    read = read_table(built(with_first), FIXINGS, METRIC)
    assert codes(read) == ["sheet-hidden", "rows-hidden", "rows-filtered", "columns-hidden"]
    assert [row.number for row in read.rows if row.hidden] == [3, 6]
    assert read.counts == (5, 0)
    assert "'Out (m)' (E), 'Height (m)' (F)" in messages(read)


def test_values_that_can_be_old_are_warned_of() -> None:
    def fill(sheet: Worksheet, book: xlsxwriter.Workbook) -> None:
        book.set_calc_mode("manual")
        sheet.write_row("A1", HEADS)
        sheet.write_row("A2", ["North", "A", "rafter"])
        sheet.write_formula("D2", "='My bill'!D5", None, 1)
        sheet.write_formula("E2", "=[1]Rates!A1", None, 2)
        sheet.write_formula("F2", "=H2+1", None, 3)
        sheet.write_formula("H2", "=SUM('My bill'!D5:D9)", None, 2)
        sheet.write_row("A3", ["North", "B", "rafter"])
        sheet.write_formula("D3", '="My bill"&"[1]x!"', None, "1 m")
        sheet.write_formula("E3", "=Table1[Out]", None, 1)
        sheet.write_row("F3", [3])
        mine = book.add_worksheet("My bill")
        mine.write("D5", 1)
        book.define_name("'My bill'!_estimator_sheet", '="Bill"')

    book = built(fill)
    assert book.own == {"My bill": "Bill"}
    read = read_table(book, FIXINGS, METRIC)
    assert codes(read) == ["under-no-heading", "fed-by-output", "fed-by-other-book", "manual-calculation"]
    assert [p.level for p in read.problems] == ["note", *["warning"] * 3]
    assert read.problems[0].message.split("not read: ")[1].startswith("H2.")
    assert read.problems[1].message.split("run: ")[1].startswith("D2, F2.")
    assert ": E2." in read.problems[2].message
    assert "D2, E2, F2, D3, E3" in read.problems[3].message
    assert column(read, "Height") == [3.0, 3.0]


def test_what_stands_beside_the_table_is_told() -> None:
    row = ["North", "A", "rafter", 0, 0, 2.9]
    pushed = ["North", "B", "rafter", None, 0, 0, 2.9]  # one cell too far to the right
    read = fixings(["North", "Z", "rafter", 0, 0, 2.9], HEADS[:6], row, pushed)
    assert codes(read) == ["under-no-heading", "above-headings"]
    assert read.problems[0].place.cell == "G4"
    assert "stand in row 2, are not read: 1." in read.problems[1].message
    titled = fixings(["needed", "needed; a name", "needed"], ["Job", "Yard"], HEADS[:6], row)
    assert codes(titled) == []


def test_names_that_are_numbers() -> None:
    read = fixings(HEADS, *[[site, "A", "rafter", 0, 0, 2.9] for site in ("S1", "s1 ", 1, "1", 1.0)])
    assert column(read, "Site") == ["S1", "s1", "1", "1", "1"]


def test_corners_tensioned_and_size_stay_as_typed() -> None:
    rows = [["Site", "Option", "Corners at", "Size", "Chosen"], ["North", 1, "A, B;C D", "3.6 x 5.4 m", "yes"]]
    read = read_table(book_of(workbook({"options": rows})), OPTIONS, METRIC)
    values = read.rows[0].values
    assert (values["Corners at"], values["Size"], values["Chosen"]) == (("A", "B", "C", "D"), "3.6 x 5.4 m", True)
    assert values["Option"] == "1"


def items(*rows: Sequence[object], context: Context = METRIC) -> tuple[Any, list[Problem]]:
    return read_items(book_of(workbook({"Job": [["Item", "Value", "Note"], *rows]})), JOB, context)


def test_a_sheet_of_items() -> None:
    row, problems = items(
        ["Job_name", "Yard"],
        ["Valid for (days)", 30],
        ["MARGIN (%)", 25],
        ["Units", "Feet and Inches"],
        ["Tax", "ST; X"],
    )
    assert problems == []
    assert row.problems == ()
    assert row.values["Job name"] == "Yard"
    assert (row.values["Valid for"], row.values["Units"], row.values["Tax"]) == (30, "feet and inches", ("ST", "X"))
    assert str(row.values["Margin"]) == "0.25"
    assert (row.cells["Margin"], row.values["Markup"], "Markup" in row.cells) == ("B4", None, False)


def test_items_that_are_wrong() -> None:
    row, problems = items(
        ["Job name"], ["Margin", 1], ["Margn", 3], ["Paper", "A4"], ["paper", "Letter"], ["Crew", None]
    )
    assert [p.code for p in problems] == ["item-twice", "item-unknown"]
    assert "B5 and B6" in problems[0].message
    assert "'Margn' (row 4; did you mean 'Margin'?" in problems[1].message
    assert [(p.code, p.place.cell) for p in row.problems] == [("blank", "B2"), ("ask-percent", "B3")]
    assert row.bad == {"Job name", "Margin"}
    assert row.values["Paper"] == "A4"


def test_items_without_headings_or_sheet() -> None:
    book = book_of(workbook({"Job": [["Job name", "Yard"]]}))
    _, problems = read_items(book, JOB, METRIC)
    assert [p.code for p in problems] == ["sheet-empty"]
    _, problems = read_items(book_of(workbook()), JOB, METRIC)
    assert [p.code for p in problems] == ["sheet-missing"]
    half = book_of(workbook({"Job": [["Item", "Valu"], ["Job name", "Yard"]]}))
    _, problems = read_items(half, JOB, METRIC)
    assert "heading-missing" in [p.code for p in problems]


def test_text_tables_read_like_sheets() -> None:
    posts = Table("posts", (Column("code", "name", True), Column("mass", "mass"), Column("price", "money", True)))
    sheet = sheet_from_rows("posts", [["code", "mass (g)", "price"], ["P1", "2,5", "12.50"], ["P2", "1.200", "1,200"]])
    read = read_table(Book("rates", (sheet,)), posts, Context(decimal_mark="point"))
    assert (column(read, "mass"), [str(v) for v in column(read, "price")]) == ([0.0025, 0.0012], ["12.50", "1200"])


@pytest.mark.parametrize("head", [["Site"], ["Site", "Ground", "Colour"]])
def test_every_problem_of_a_table_says_where(head: list[str]) -> None:
    read = read_table(book_of(workbook({"Sites": [head, ["North"]]})), SITES, METRIC)
    assert read.problems
    assert all(p.place.sheet == "Sites" and p.message.startswith("Sites") for p in read.problems)


def test_errors_in_cells_reach_the_row() -> None:
    data = workbook({"Sites": [["Site", "Ground", "Rock at (m)"], ["North", "clay", 7]]})
    data = replaced(data, SHEET, "<v>7</v>", "<f>Bill!A1*2</f>")
    read = read_table(book_of(data), SITES, METRIC)
    assert [p.code for p in read.rows[0].problems] == ["uncalculated"]
    assert read.rows[0].bad == {"Rock at"}
    assert book_of(replaced(data, BOOK, "<calcPr", '<calcPr calcMode="manual" x="1"')).manual
