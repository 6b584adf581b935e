"""A workbook with everything in it comes back byte for byte, once, twice and three times."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest
from openxml_audit import OpenXmlValidator
from python_calamine import CalamineWorkbook

from estimator.report.package.audit import audit
from estimator.report.package.own import kept_names
from estimator.report.package.strip import strip_own
from estimator.report.package.transplant import transplant
from estimator.report.package.zipping import read_parts
from tests.report.package.books import CHANGED, NAMES, our_book, part_of, swapped, tabs, user_book
from tests.report.package.everything import everything

# openpyxl says what it would lose if it saved the book; here it only reads
pytestmark = pytest.mark.filterwarnings("ignore:.*extension is not supported")


@pytest.fixture(scope="module")
def user() -> bytes:
    return everything()


@pytest.fixture(scope="module")
def ours() -> bytes:
    return our_book()


@pytest.fixture(scope="module")
def written(user: bytes, ours: bytes) -> bytes:
    return transplant(user, ours, NAMES)


def test_the_book_holds_what_it_says(user: bytes) -> None:
    parts = " ".join(read_parts(user))
    words = (
        "slicers slicerCaches threadedComments persons customXml printerSettings externalLinks calcChain comments "
        "drawings charts media tables chartsheets vmlDrawing custom.xml"
    )
    assert [word for word in words.split(" ") if word not in parts] == []
    sheet = part_of(user, "Sites")
    for word in (b"x14:dataValidation ", b"<x14:sparkline>", b"x14:dataBar ", b"slicerList", b"legacyDrawingHF"):
        assert word in sheet
    assert audit(user) == []


def test_all_parts_but_five_are_untouched(user: bytes, written: bytes) -> None:
    before, after = read_parts(user), read_parts(written)
    assert {name for name in before if after.get(name) != before[name]} == CHANGED | {"xl/calcChain.xml"}
    assert [name for name in after if name in before] == [name for name in before if name != "xl/calcChain.xml"]


def test_styles_and_strings_are_only_added_to(user: bytes, written: bytes) -> None:
    before, after = read_parts(user), read_parts(written)
    old = openpyxl.load_workbook(io.BytesIO(user))
    new = openpyxl.load_workbook(io.BytesIO(written))
    for name in ("Sites", "Lists"):
        for row in old[name].iter_rows():
            for cell in row:
                twin = new[name][cell.coordinate]
                assert (twin.value, twin.number_format, twin.font.b) == (cell.value, cell.number_format, cell.font.b)
    texts = before["xl/sharedStrings.xml"].partition(b"<si>")[2].rpartition(b"</sst>")[0]
    assert texts in after["xl/sharedStrings.xml"]


def test_tabs_follow_the_users(user: bytes, written: bytes) -> None:
    assert tabs(written) == [*tabs(user), "Summary", "Bill"]
    assert kept_names(written) == NAMES


@pytest.mark.parametrize("book", ["user", "written"])
def test_both_checks_find_nothing(book: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    data: bytes = request.getfixturevalue(book)
    assert audit(data) == []
    path = tmp_path / "book.xlsx"
    path.write_bytes(data)
    found = OpenXmlValidator().validate(path)
    assert found.is_valid
    assert list(found.errors) == []


def test_the_other_check_can_find_something(written: bytes, tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    path.write_bytes(swapped(written, "xl/workbook.xml", ('name="Bill"', 'name="Summary"')))
    assert not OpenXmlValidator().validate(path).is_valid


def test_again_gives_the_same_bytes(user: bytes, ours: bytes, written: bytes) -> None:
    second = transplant(written, ours, NAMES)
    assert second == written
    assert transplant(second, ours, NAMES) == written


def test_other_figures_leave_no_trace_of_the_first(user: bytes, written: bytes) -> None:
    other = our_book(("Summary", "Bill", "Posts"), "second")
    names = {**NAMES, "Posts": "Posts"}
    again = transplant(written, other, names)
    assert again == transplant(user, other, names)
    assert b"first" not in b"".join(read_parts(again).values())


def test_ours_taken_out_leaves_the_users(user: bytes, written: bytes) -> None:
    bare = strip_own(written)
    before, after = read_parts(user), read_parts(bare)
    assert set(after) == set(before) - {"xl/calcChain.xml"}
    assert {name for name in after if after[name] != before[name]} <= CHANGED
    assert b"_estimator" not in after["xl/workbook.xml"]
    assert b"OFFICE" not in b"".join(after.values())
    assert (audit(bare), tabs(bare)) == ([], tabs(user))
    assert strip_own(user) == user


def test_two_readers_see_formulas_and_values(written: bytes) -> None:
    values = openpyxl.load_workbook(io.BytesIO(written), data_only=True)
    formulas = openpyxl.load_workbook(io.BytesIO(written))
    other = CalamineWorkbook.from_filelike(io.BytesIO(written))
    assert formulas["Summary"]["A3"].value == "=ROUND('Bill'!A2*2,2)"
    assert formulas["Sites"]["A3"].value == "=1+2"
    for sheet, row, value in (("Summary", 3, 22), ("Bill", 2, 11), ("Sites", 3, 3), ("Summary", 4, "first")):
        assert values[sheet].cell(row, 1).value == value
        rows = other.get_sheet_by_name(sheet).to_python(skip_empty_area=False)
        assert rows[row - 1][0] == value
    assert formulas["Summary"]["A2"].number_format == '#,##0.00 "net"'
    assert formulas["Summary"]["A2"].font.b
    assert formulas["Sites"].print_area == "'Sites'!$A$1:$H$20"
    assert formulas["Summary"].print_title_rows == "$1:$1"


def test_conditions_keep_their_own_format(written: bytes) -> None:
    book = openpyxl.load_workbook(io.BytesIO(written))

    def colours(sheet: str) -> list[str]:
        rules = [rule for area in book[sheet].conditional_formatting for rule in area.rules]
        return [
            str((r.dxf.font or r.dxf.fill).color.rgb if r.dxf.font else r.dxf.fill.bgColor.rgb) for r in rules if r.dxf
        ]

    assert colours("Sites") == ["FFC6EFCE"]
    assert colours("Summary") == ["FFFF0000"]


def test_a_book_of_the_user_says_open_everything_new() -> None:
    written = transplant(user_book(), our_book(), NAMES)
    assert b'fullCalcOnLoad="1"' in read_parts(written)["xl/workbook.xml"]
    selected = [name for name in tabs(written) if b'tabSelected="1"' in part_of(written, name)]
    assert selected == ["Job"]
