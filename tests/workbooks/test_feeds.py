"""Formula cells told apart: never calculated, an error, fed from our own sheets, linked to another workbook, possibly
old because the workbook calculates by hand; whatever kind of formula it is, and through whatever it points."""

from __future__ import annotations

import time
from collections.abc import Mapping
from xml.sax.saxutils import escape

import pytest

from estimator.core.problems import Problem
from estimator.sheets import feeds
from estimator.sheets.areas import Area
from estimator.sheets.cells import Book, Cell, Sheet
from estimator.sheets.feeds import old_values
from tests.sheets.build import BOOK, edited, with_part
from tests.workbooks.books import PART, book, cell_is, in_sheet, job, priced, said, table

MARK = '<definedName name="_estimator_sheet" localSheetId="4" hidden="1">"Bill"</definedName>'


def fed(data: bytes, code: str) -> str:
    """The cells of Fixings that a warning of a code names."""
    found = said(table(data).problems, code)
    return found.partition(": ")[2].rpartition(": ")[2].partition(".")[0] if found else ""


def with_ours(data: bytes, names: str = "") -> bytes:
    """The job with a fifth sheet `My bill` that is one of ours, and defined names."""

    def swap(content: bytes) -> bytes:
        listed = f"</sheets><definedNames>{MARK}{names}</definedNames>"
        return content.replace(b"</sheets>", listed.encode())

    return edited(data, (BOOK, swap))


def job_with(*formulas: tuple[str, str], names: str = "", prices: Mapping[str, str] | None = None) -> bytes:
    """The job with a sheet of ours and one `Prices` of the user's. formulas: cell of Fixings and its formula; prices:
    the same for `Prices`."""
    data = with_ours(job(**{"My bill": [("x",), (6,)], "Prices": [("len", "b"), (6, 1), (6, 2), (6, 3)]}), names)
    for cell, formula in formulas:
        data = cell_is(data, "Fixings", cell, f"><f>{escape(formula)}</f><v>6</v>")
    for cell, formula in (prices or {}).items():
        part = "xl/worksheets/sheet6.xml"

        def swap(content: bytes, cell: str = cell, formula: str = formula) -> bytes:
            old = f'<c r="{cell}"><v>6</v>'.encode()
            assert old in content, content
            return content.replace(old, f'<c r="{cell}"><f>{escape(formula)}</f><v>6</v>'.encode())

        data = edited(data, (part, swap))
    return data


DIRECT = {
    "a cell": "'My bill'!A2",
    "in capitals": "'MY BILL'!A2",
    "among other words": "IF(1,MAX('My bill'!$A$2,0),2)",
    "a whole column": "SUM('My bill'!A:A)",
    "a run of sheets": "SUM('Options:Prices'!A2)",
    "a name": "Length1",
    "a name of a name": "Length2+1",
    "a newer function": "_xlfn.XLOOKUP(6,'My bill'!A:A,'My bill'!A:A)",
}
NAMES = '<definedName name="Length1">\'My bill\'!$A$2</definedName><definedName name="Length2">Length1*1</definedName>'


@pytest.mark.parametrize("way", DIRECT)
def test_fed_from_our_own_sheets(way: str) -> None:
    data = job_with(("D3", DIRECT[way]), names=NAMES)
    assert fed(data, "fed-by-output") == "D3"
    assert fed(data, "fed-by-other-book") == fed(data, "feeds-not-followed") == ""


def test_fed_through_cells_of_the_users() -> None:
    ours = {"A3": "'My bill'!A2"}
    for formula in ("Prices!A3", "SUM(Prices!A2:A4)", "SUM(Prices!A:B)", "SUM(Prices!3:3)", "D2+SUM(Prices!$A$1:$B$9)"):
        assert fed(job_with(("D3", formula), prices=ours), "fed-by-output") == "D3", formula
    for formula in ("Prices!A2", "SUM(Prices!B1:B9)", "SUM(Prices!4:9)", '"Prices!A3"&6', "MY_A3+1", "LOG10(A3)"):
        assert fed(job_with(("D3", formula), prices=ours), "fed-by-output") == "", formula
    long_way = {"A2": "A3", "A3": "A4", "A4": "SUM('My bill'!A2,A2)"}  # and round
    assert fed(job_with(("D3", "Prices!A2"), prices=long_way), "fed-by-output") == "D3"


def test_fed_by_another_workbook_itself_or_on_the_way() -> None:
    for formula in ("[1]Rates!A1", "'[2]My rates'!A1", "SUM([1]Rates!A1:A9)", "[1]!Price", "Abroad"):
        data = job_with(("D3", formula), names="<definedName name=\"Abroad\">'[1]Rates'!$A$1</definedName>")
        assert fed(data, "fed-by-other-book") == "D3", formula
        assert fed(data, "fed-by-output") == "", formula
    data = job_with(("D3", "Prices!A2"), prices={"A2": "[1]Rates!$B$7"})
    assert fed(data, "fed-by-other-book") == "D3"
    assert fed(job_with(("D3", "[0]!Home+1")), "fed-by-other-book") == ""
    assert fed(job_with(("D3", '"[1]Rates!A1"&6')), "fed-by-other-book") == ""


def test_what_a_formula_cannot_say_is_said_where_our_sheets_are_there() -> None:
    formula = 'INDIRECT("My bill!A"&2)'
    assert fed(job_with(("D3", formula)), "feeds-not-followed") == "D3"
    assert (
        said(
            table(cell_is(job(), "Fixings", "D3", f"><f>{escape(formula)}</f><v>6</v>")).problems, "feeds-not-followed"
        )
        == ""
    )


def test_shared_array_and_spilled_formulas() -> None:
    data = job_with()
    data = cell_is(data, "Fixings", "D2", '><f t="shared" ref="D2:D3" si="0">\'My bill\'!A2</f><v>0</v>')
    data = cell_is(data, "Fixings", "D3", '><f t="shared" si="0"/><v>6</v>')
    data = cell_is(data, "Fixings", "E2", '><f t="array" ref="E2:E4">\'My bill\'!A2:A4</f><v>0</v>')
    data = cell_is(
        data, "Fixings", "F2", ' cm="1"><f t="array" ref="F2:G3">_xlfn.SEQUENCE(\'My bill\'!A2)</f><v>2.6</v>'
    )
    # of an array only the first cell holds the formula; the others look like typed numbers
    assert fed(data, "fed-by-output") == "D2, E2, F2, G2, D3, E3, F3, G3, E4"


def test_a_data_table_is_a_formula() -> None:
    data = in_sheet(
        job(),
        "Fixings",
        lambda m: m.replace('<c r="F2"><v>', '<c r="F2"><f t="dataTable" ref="F2:F4" dt2D="0" dtr="0" r1="D2"/><v>'),
    )
    cells = next(s.cells for s in book(data).sheets if s.name == "Fixings")
    assert [cells[row, 6].formula for row in (2, 3, 4, 5)] == ["=a data table"] * 3 + [None]


TABLE = (
    '<?xml version="1.0" encoding="UTF-8"?><table xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
    'id="1" name="Lens" displayName="Lens" ref="A1:B4" totalsRowShown="0"><tableColumns count="2">'
    '<tableColumn id="1" name="len"/><tableColumn id="2" name="b"/></tableColumns></table>'
)
LINK = (
    '<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
    'relationships"><Relationship Id="t1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/table"'
    ' Target="../tables/table1.xml"/></Relationships>'
)


def with_table(data: bytes, sheet: int) -> bytes:
    data = with_part(data, "xl/tables/table1.xml", TABLE.encode())
    return with_part(data, f"xl/worksheets/_rels/sheet{sheet}.xml.rels", LINK.encode())


def test_tables_by_their_names() -> None:
    on_prices = {"A3": "'My bill'!A2"}
    for formula, found in (
        ("SUM(Lens[len])", "D3"),
        ("SUM(Lens[[len]:[b]])", "D3"),
        ("SUM(Lens[])", "D3"),
        ("SUM(Lens[[#All],[len]])", "D3"),
        ("SUM(Lens[b])", ""),
        ("SUM(Lens[[#Totals],[b]])", ""),
    ):
        assert fed(with_table(job_with(("D3", formula), prices=on_prices), 6), "fed-by-output") == found, formula
    # a table that somebody has put on one of our sheets
    assert fed(with_table(job_with(("D3", "SUM(Lens[len])")), 5), "fed-by-output") == "D3"
    # a column that has a number for a name is no other workbook
    assert fed(with_table(job_with(("D3", "SUM(Lens[[#Totals],[5]])")), 6), "fed-by-other-book") == ""


def test_each_kind_is_told_apart_in_one_job() -> None:
    data = job_with(("D3", "'My bill'!A2"), ("D4", "[1]Rates!A1"), ("D6", "1+5"))
    data = cell_is(data, "Fixings", "D2", "><f>1-1</f>")
    data = cell_is(data, "Fixings", "E2", ' t="e"><f>NA()</f><v>#N/A</v>')
    data = edited(data, (BOOK, lambda c: c.replace(b"<calcPr ", b'<calcPr calcMode="manual" ')))
    problems: list[Problem] = list(priced(data).problems)
    assert "Fixings!D2: 'Across' holds the formula =1-1, which was never calculated" in said(problems, "uncalculated")
    assert "Fixings!E2: 'Out' holds the error #N/A of the formula =NA()" in said(problems, "error-cell")
    assert ": D3." in said(problems, "fed-by-output")
    assert ": D4." in said(problems, "fed-by-other-book")
    assert ": D2, E2, D3, D4, D6." in said(problems, "manual-calculation")
    levels = {p.code: p.level for p in problems}
    assert (levels["uncalculated"], levels["error-cell"], levels["fed-by-output"]) == ("error", "error", "warning")


def chain(length: int) -> tuple[Sheet, Area]:
    """A column in which each cell adds up all above it, the first one fed from our sheet."""
    cells = {(1, 1): Cell(1, "number", "=Bill!A1")}
    cells |= {(row, 1): Cell(1, "number", f"=SUM(A$1:A{row - 1})") for row in range(2, length + 1)}
    return Sheet("Sums", cells), (1, 1, length, 1)


def test_long_ways_are_followed_in_little_time_and_very_long_ones_are_said_not_to_be() -> None:
    sheet, _ = chain(600)
    made = Book("job", (sheet,), ("Sums", "Bill"), {"Bill": "Bill"})
    wanted = [("Sums", row, 1, sheet.cells[row, 1].formula or "") for row in range(1, 601)]
    start = time.process_time()
    found = old_values(made, wanted)
    assert time.process_time() - start < 3
    cells = {p.code: p.message for p in found}
    assert set(cells) <= {"fed-by-output", "feeds-not-followed"}
    assert "A1, A2, A3" in cells["fed-by-output"]


def test_where_too_many_formulas_stand_on_the_way_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feeds, "MOST_STEPS", 50)
    cells = {(row, 1): Cell(1, "number", f"=A{row + 1}") for row in range(1, 100)}
    made = Book("job", (Sheet("Sums", cells),), ("Sums",))
    (found,) = old_values(made, [("Sums", 1, 1, "=A2")])
    assert (found.code, ": A1." in found.message) == ("feeds-not-followed", True)


def test_no_formula_no_warning() -> None:
    assert old_values(book(with_ours(job(**{"My bill": [("x",)]}))), []) == []
    assert PART["Fixings"] == "xl/worksheets/sheet3.xml"
