"""Workbooks of the .ods kind: read and priced like the others, with what they say of formulas, formats, hidden rows."""

from __future__ import annotations

import io
import time
import zipfile
from datetime import datetime, timedelta
from datetime import time as of_day
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.sheets import ods as reader
from estimator.sheets.cells import Book, Cell, read_book
from estimator.sheets.door import Opened, check_bytes
from tests.build import DAY
from tests.workbooks.books import (
    FIXINGS,
    HEADS,
    SHEETS,
    all_problems,
    book,
    by_another_reader,
    codes,
    plain_prices,
    priced,
    prices,
    refused,
    said,
    table,
)
from tests.workbooks.odf import MIME, cell, ods, row, sheet

STYLES = """
<number:percentage-style style:name="N1"><number:number number:decimal-places="1"/><number:text>%</number:text>
</number:percentage-style>
<number:number-style style:name="N2"><number:number number:decimal-places="0"/><number:text> mm</number:text>
</number:number-style>
<number:date-style style:name="N3"><number:day/><number:text>-</number:text><number:month number:textual="true"/>
</number:date-style>
<number:time-style style:name="N4" number:truncate-on-overflow="false"><number:hours/><number:text>:</number:text>
<number:minutes number:style="long"/></number:time-style>
<number:number-style style:name="N5P0"><number:number number:decimal-places="2"/><number:text> mm</number:text>
</number:number-style>
<number:number-style style:name="N5"><number:text>-</number:text><number:number/><style:map
style:condition="value()&gt;=0" style:apply-style-name="N5P0"/></number:number-style>
<style:style style:name="pct" style:family="table-cell" style:data-style-name="N1"/>
<style:style style:name="mm" style:family="table-cell" style:data-style-name="N2"/>
<style:style style:name="child" style:family="table-cell" style:parent-style-name="mm"/>
<style:style style:name="day" style:family="table-cell" style:data-style-name="N3"/>
<style:style style:name="hours" style:family="table-cell" style:data-style-name="N4"/>
<style:style style:name="signed" style:family="table-cell" style:data-style-name="N5"/>
<style:style style:name="away" style:family="table"><style:table-properties table:display="false"/></style:style>
"""


def cells(rows: str, **more: object) -> dict[tuple[int, int], Cell]:
    """The cells of a sheet with these rows."""
    made = book(ods(sheet("Fixings", rows), STYLES, **more), "job.ods")  # type: ignore[arg-type]
    return dict(made.sheets[0].cells)


def one(markup: str) -> Cell | None:
    """The one cell of a sheet."""
    return cells(row(markup)).get((1, 1))


def typed(kind: str, value: str, shown: str = "", more: str = "") -> str:
    """A cell with a value of its kind."""
    name = {"float": "value", "percentage": "value", "currency": "value"}.get(kind, f"{kind}-value")
    inner = f"<text:p>{shown}</text:p></table:table-cell>"
    return f'<table:table-cell{more} office:value-type="{kind}" office:{name}="{value}">{inner}'


def test_it_is_priced_like_the_same_job_in_xlsx(tmp_path: Path) -> None:
    path = tmp_path / "job.ods"
    path.write_bytes(ods(SHEETS))
    before = path.read_bytes()
    assert prices(priced(before, "job.ods")) == plain_prices()
    done = price_file(path, today=DAY, quote=False, crew=False, drawings=False)
    assert done.status == 0
    assert [p.name for p in done.written] == ["job-priced.xlsx"]
    assert "the workbook is an .ods, into which no sheets can be put" in said(done.problems, "written-alone")
    assert path.read_bytes() == before
    made = openpyxl.load_workbook(tmp_path / "job-priced.xlsx")
    assert {"Summary", "Bill", "To check"} <= set(made.sheetnames)
    assert "Sites" not in made.sheetnames
    shown = [str(c.value) for r in made["To check"] for c in r if c.value]
    assert any(words.startswith("job.ods: Sites!") for words in shown)  # the place lies in another file


VALUES = {
    "a whole number": (typed("float", "2900"), Cell(2900, "number")),
    "a number": (typed("float", "2.60000000000000009"), Cell(2.6, "number")),
    "money": (typed("currency", "35.5", "EUR 35.50"), Cell(35.5, "number")),
    "a per cent": (typed("percentage", "0.25", "25.0%", ' table:style-name="pct"'), Cell(0.25, "number", None, "0.0%")),
    "a per cent whose style is lost": (typed("percentage", "0.25"), Cell(0.25, "number", None, "0%")),
    "a unit beside": (typed("float", "2900", "", ' table:style-name="mm"'), Cell(2900, "number", None, '0" mm"')),
    "a look from another look": (
        typed("float", "1", "", ' table:style-name="child"'),
        Cell(1, "number", None, '0" mm"'),
    ),
    "a format for each sign": (
        typed("float", "1", "", ' table:style-name="signed"'),
        Cell(1, "number", None, '0.00" mm"'),
    ),
    "a day": (
        typed("date", "2026-04-03", "3-Apr", ' table:style-name="day"'),
        Cell(datetime.fromisoformat("2026-04-03"), "date", None, "d-mmm"),
    ),
    "a day and an hour": (
        typed("date", "2026-04-03T14:30:00.250000000"),
        Cell(datetime.fromisoformat("2026-04-03T14:30"), "date"),
    ),
    "an hour": (typed("time", "PT12H30M00S"), Cell(of_day(12, 30), "time")),
    "two days": (
        typed("time", "PT48H15M00S", "", ' table:style-name="hours"'),
        Cell(timedelta(hours=48, minutes=15), "time", None, "[h]:mm"),
    ),
    "yes": (typed("boolean", "true", "TRUE"), Cell(True, "bool")),
    "neither yes nor no": (typed("boolean", "perhaps", "TRUE"), Cell("perhaps", "error")),
    "a text": (cell("new post"), Cell("new post", "text")),
    "two lines, spaces, a link": (
        '<table:table-cell office:value-type="string"><text:p>one<text:s text:c="2"/><text:a>two</text:a></text:p>'
        "<text:p>th<text:span>ree</text:span><text:tab/>x<text:line-break/>y</text:p></table:table-cell>",
        Cell("one  two\nthree\tx\ny", "text"),
    ),
    "a note beside": (
        '<table:table-cell office:value-type="string"><office:annotation><text:p>no</text:p></office:annotation>'
        "<draw:frame><draw:text-box><text:p>no</text:p></draw:text-box></draw:frame><text:p>yes</text:p>"
        "</table:table-cell>",
        Cell("yes", "text"),
    ),
    "a text that begins like a formula": (cell("=1+1"), Cell("=1+1", "text")),
    "an error of a formula": (
        '<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value="" '
        'calcext:value-type="error"><text:p>#DIV/0!</text:p></table:table-cell>',
        Cell("#DIV/0!", "error", "=1/0"),
    ),
    "an error as older programs write it": (
        typed("float", "0", "Err:502", ' table:formula="oooc:=SQRT(-1)"'),
        Cell("Err:502", "error", "=SQRT(-1)"),
    ),
    "a number that is none": (typed("float", "NaN"), Cell("NaN", "error")),
    "a number without its value": (
        '<table:table-cell office:value-type="float"><text:p>5</text:p></table:table-cell>',
        Cell("5", "error"),
    ),
    "a day that is none": (typed("date", "2026-02-30"), Cell("2026-02-30", "error")),
    "a formula": (typed("float", "6", "6", ' table:formula="of:=[.A2]*2"'), Cell(6, "number", "=A2*2")),
    "a formula never calculated": (
        '<table:table-cell table:formula="of:=[.A2]*2"/>',
        Cell(None, "uncalculated", "=A2*2"),
    ),
    "a formula that comes to nothing": (typed("string", "", "", ' table:formula="of:=&quot;&quot;"'), None),
    "nothing": ("<table:table-cell/>", None),
}


@pytest.mark.parametrize("kind", VALUES)
def test_a_value(kind: str) -> None:
    markup, wanted = VALUES[kind]
    found = one(markup)
    assert found == (wanted and Cell(found.value if kind == "a day and an hour" and found else wanted.value,
                                     wanted.kind, wanted.formula, wanted.number_format))  # fmt: skip
    if kind == "a day and an hour" and found and wanted:
        assert abs(found.value - wanted.value) < timedelta(seconds=1)  # type: ignore[operator]


def test_what_is_asked_of_a_per_cent_a_day_and_an_error_in_a_number() -> None:
    heads = row("".join(cell(h) for h in HEADS[:7]))
    marks = "".join(cell(v) for v in ("Yard", "A", "new post"))
    numbers = typed("percentage", "0.1", "10%") + typed("date", "2026-04-03", "3 Apr") + typed("time", "PT12H00M00S")
    data = ods(sheet("Fixings", heads + row(marks + numbers + cell(True))))
    problems = all_problems(table(data))
    assert [p.code for p in problems] == ["percent-as-number", "date-as-number", "time-as-number", "bool-as-number"]


def test_cells_and_rows_that_stand_for_many() -> None:
    five = cell(7, ' table:number-columns-repeated="3"') + cell(None, ' table:number-columns-repeated="2"') + cell(1)
    found = cells(row(five, ' table:number-rows-repeated="2"') + row(cell("end")))
    assert sorted(found) == [(1, 1), (1, 2), (1, 3), (1, 6), (2, 1), (2, 2), (2, 3), (2, 6), (3, 1)]
    assert found[2, 6].value == 1


def test_styles_of_columns_and_rows() -> None:
    columns = (
        '<table:table-column table:default-cell-style-name="mm"/>'
        '<table:table-column table:number-columns-repeated="2" table:default-cell-style-name="pct"/>'
    )
    plain = typed("float", "1")
    rows = row(plain * 3) + row(plain * 2, ' table:default-cell-style-name="day"')
    made = book(ods(sheet("S", rows, columns=columns), STYLES), "job.ods").sheets[0].cells
    assert [made[1, c].number_format for c in (1, 2, 3)] == ['0" mm"', "0.0%", "0.0%"]
    assert [made[2, c].number_format for c in (1, 2)] == ["d-mmm", "d-mmm"]


def test_hidden_filtered_grouped_and_merged_things() -> None:
    columns = '<table:table-column/><table:table-column table:visibility="collapse" table:number-columns-repeated="2"/>'
    rows = (
        "<table:table-header-rows>"
        + row(
            cell("Site", ' table:number-columns-spanned="2" table:number-rows-spanned="2"')
            + "<table:covered-table-cell/>"
        )
        + "</table:table-header-rows>"
        + row(cell(1), ' table:visibility="collapse"')
        + "<table:table-row-group>"
        + row(cell(2), ' table:visibility="filter"')
        + row(cell(3), ' table:visibility="collapse" table:number-rows-repeated="3"')
        + "</table:table-row-group>"
        + row(cell(None), ' table:visibility="collapse" table:number-rows-repeated="1000000"')
    )
    made = book(ods(sheet("S", rows, ' table:style-name="away"', columns), STYLES), "job.ods").sheets[0]
    assert (made.hidden_rows, made.filtered_rows, made.hidden_columns) == ({2, 4, 5, 6}, {3}, {2, 3})
    assert made.merged == ((1, 1, 2, 2),)
    assert made.state == "hidden"


def test_formulas_names_other_workbooks_and_our_own_sheets() -> None:
    heads = row("".join(cell(h) for h in HEADS[:7]))
    texts = (
        "of:=[$'My bill'.A2]",
        "of:=Depth",
        "of:=['file:///home/kim/prices.ods'#$Rates.A1]",
        "of:=SUM([.A1:.B2];[$Sites.A1])",
    )
    fed = "".join(f'<table:table-cell table:formula="{t}" office:value-type="float" office:value="1"/>' for t in texts)
    marked = (
        '<table:table table:name="My bill"><table:table-row><table:table-cell/></table:table-row>'
        "<table:named-expressions>"
        '<table:named-expression table:name="_estimator_sheet" table:expression="&quot;Bill&quot;"/>'
        "</table:named-expressions></table:table>"
        '<table:named-expressions><table:named-range table:name="Depth" '
        "table:cell-range-address=\"$'My bill'.$A$2\"/></table:named-expressions>"
    )
    cached = (
        "<table:table table:name=\"'file:///home/kim/prices.ods'#Rates\"><table:table-row>"
        f"{cell(4)}</table:table-row></table:table>"
    )
    rows = heads + row("".join(cell(v) for v in ("Yard", "A", "new post")) + fed)
    off = '<config:config-item config:name="AutoCalculate" config:type="boolean">false</config:config-item>'
    data = ods(sheet("Fixings", rows) + marked + cached, more={"settings.xml": f"<settings>{off}</settings>"})
    made = book(data, "job.ods")
    assert (made.names, made.own, made.manual) == (("Fixings", "My bill"), {"My bill": "Bill"}, True)
    assert [s.name for s in made.sheets] == ["Fixings"]
    assert [c.formula for c in made.sheets[0].cells.values() if c.formula] == [
        "='My bill'!A2",
        "=Depth",
        "='[prices.ods]Rates'!A1",
        "=SUM(A1:B2;Sites!A1)",
    ]
    problems = table(data).problems
    assert ": D2, E2." in said(problems, "fed-by-output")
    assert ": F2." in said(problems, "fed-by-other-book")
    assert ": D2, E2, F2, G2." in said(problems, "manual-calculation")


def test_an_array_formula_fills_its_area() -> None:
    first = (
        '<table:table-cell table:number-matrix-columns-spanned="2" table:number-matrix-rows-spanned="2" '
        'table:formula="of:=[.A9:.B10]*2" office:value-type="float" office:value="1"/>'
    )
    found = cells(row(first + cell(2) + cell(3)) + row(cell(4) + cell(5) + cell(6)))
    assert {place for place, c in found.items() if c.formula == "=A9:B10*2"} == {(1, 1), (1, 2), (2, 1), (2, 2)}


def test_a_password_other_documents_and_damage() -> None:
    locked = '<m:manifest xmlns:m="x"><m:encryption-data/></m:manifest>'
    assert refused(ods(SHEETS, more={"META-INF/manifest.xml": locked}), "job.ods").code == "file-password"
    text = "application/vnd.oasis.opendocument.text"
    assert refused(ods(SHEETS, more={"mimetype": text}), "job.ods").code == "file-other-office"
    assert refused(ods(SHEETS, more={"content.xml": b"<a><b></a>"}), "job.ods").code == "part-broken"
    assert refused(ods(SHEETS, more={"styles.xml": b"<a>"}), "job.ods").code == "part-broken"
    assert refused(ods(SHEETS)[:900], "job.ods").code == "file-cut-short"
    entity = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]><x>&a;</x>'
    assert refused(ods(SHEETS, more={"content.xml": entity}), "job.ods").code == "file-doctype"
    # older programs give the manifest, which is not taken apart, a document type
    old = b'<!DOCTYPE manifest:manifest PUBLIC "-//x//DTD" "Manifest.dtd"><manifest:manifest/>'
    assert prices(priced(ods(SHEETS, more={"META-INF/manifest.xml": old}), "job.ods")) == plain_prices()
    template = ods(SHEETS, more={"mimetype": f"{MIME}-template"})
    assert prices(priced(template, "job.ots")) == plain_prices()


def test_bombs_of_two_kinds_are_refused_in_little_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MOST_CELLS", 100_000)
    start = time.process_time()
    many = row(cell(7, ' table:number-columns-repeated="16384"'), ' table:number-rows-repeated="1048576"')
    assert refused(ods(sheet("S", many)), "job.ods").code == "file-too-many-cells"
    spread = row(cell(7, ' table:number-columns-repeated="16384"')) * 100
    assert refused(ods(sheet("S", spread)), "job.ods").code == "file-too-many-cells"
    blank = ods(SHEETS, more={"content.xml": b"<x>" + b" " * 60_000_000})
    assert refused(blank, "job.ods").code == "file-packed-too-tight"
    # pictures and objects are never unpacked, so they count nothing
    assert book(ods(SHEETS, more={"Pictures/a.png": b"\0" * 60_000_000}), "job.ods").names == tuple(SHEETS)
    assert time.process_time() - start < 3
    deep = "<table:table-row-group>" * 5000
    assert refused(ods(sheet("S", deep)), "job.ods").code == "part-broken"


def test_odd_counts_are_refused_or_cut_at_the_edge() -> None:
    for count in ("-3", "0", "many", "1.5"):  # programs take such a cell for one, or for none
        odd = sheet("S", row(cell(7, f' table:number-columns-repeated="{count}"') + cell(8)))
        assert refused(ods(odd), "job.ods").code == "part-broken"
    assert cells(row(cell(7, ' table:number-columns-repeated=""'))) == {(1, 1): Cell(7, "number")}
    far = row(cell(None, ' table:number-columns-repeated="16383"') + cell(1) + cell(2) + cell(3))
    assert set(cells(far)) == {(1, 16384)}
    below = row(cell(None), ' table:number-rows-repeated="99999999999"') + row(cell(5))
    assert cells(below) == {}


def test_tables_inside_cells_and_changes_kept_are_no_rows() -> None:
    inner = f'<table:table table:is-sub-table="true">{row(cell("no"))}</table:table>'
    found = cells(row(f"<table:table-cell>{inner}</table:table-cell>{cell('yes')}"))
    assert found == {(1, 2): Cell("yes", "text")}
    changes = f"<table:cell-content-change>{row(cell('no'))}</table:cell-content-change>"
    kept = f"<table:tracked-changes>{changes}</table:tracked-changes>"
    made = book(ods(kept + sheet("S", [["yes"]])), "job.ods")
    assert {c.value for s in made.sheets for c in s.cells.values()} == {"yes"}


def test_only_the_sheets_asked_for_are_read() -> None:
    opened = check_bytes(ods(SHEETS), "job.ods")
    assert isinstance(opened, Opened)
    made = read_book(opened, ["SITES "])
    assert isinstance(made, Book)
    assert ([s.name for s in made.sheets], made.names) == (["Sites"], tuple(SHEETS))


def test_a_rate_book_may_be_an_ods(tmp_path: Path) -> None:
    from estimator.rates.files import find_tables

    path = tmp_path / "rates.ods"
    path.write_bytes(ods({"trades": [("trade", "cost per hour"), ("rigger", 50)]}))
    tables, _ = find_tables(path)
    assert tables["trades"].sheet.cells[2, 2].value == 50


def test_a_second_reader_sees_the_same() -> None:
    data = ods({"Fixings": FIXINGS, "More": [("a", None, True), (None, None, None), (1e-7, -2.5, "ü & <x>")]})
    seen = by_another_reader(data)
    for each in book(data, "job.ods").sheets:
        assert {place: c.value for place, c in each.cells.items()} == seen[each.name]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_damage_is_read_or_refused_and_never_more(data: st.DataObject) -> None:
    whole = ods(SHEETS)
    with zipfile.ZipFile(io.BytesIO(whole)) as package:
        content = bytearray(package.read("content.xml"))
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=4))
    opened = check_bytes(ods(SHEETS, more={"content.xml": bytes(content)}), "job.ods")
    found = opened if isinstance(opened, Problem) else read_book(opened)
    assert isinstance(found, Book | Problem)
    if isinstance(found, Problem):
        assert codes([found]) <= {"part-broken", "file-too-many-cells", "file-doctype", "file-cut-short"}


def test_too_many_cells_are_counted_over_all_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MOST_CELLS", 60)
    assert refused(ods({"A": [[1] * 10] * 4, "B": [[1] * 10] * 4}), "job.ods").code == "file-too-many-cells"
    assert book(ods({"A": [[1] * 10] * 4, "B": [[None] * 10] * 4}), "job.ods").names == ("A", "B")
