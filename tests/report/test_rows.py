"""Our rows are to the letter what the writing library makes of the same cells."""

from __future__ import annotations

import re
import zipfile
from datetime import date, datetime, time
from io import BytesIO
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from xlsxwriter import Workbook

from estimator.report import look
from estimator.report.look import clean, finish

STYLES: tuple[dict[str, Any], ...] = ({}, {"bold": True}, {"top": 1, "font_size": 9}, {"num_format": "0.00"})
HOUSE = {"font_name": look.FONT, "font_size": 10, "font_color": look.INK, "valign": "top"}
TEXTS = st.one_of(
    st.text(min_size=1, max_size=12),
    st.sampled_from(
        [" a", "a ", "a\nb", "\ta", "_x000D_", "_x00e9_b", "<b> & \"c\" 'd'", "=1+1", "\x00", "\u00a0", "é€漢😀"]
    ),
)
VALUES = st.one_of(
    st.tuples(st.just("text"), TEXTS),
    st.tuples(st.just("number"), st.floats(allow_nan=False, allow_infinity=False)),
    st.tuples(st.just("number"), st.integers(-(10**12), 10**12)),
    st.tuples(st.just("day"), st.dates(date(1950, 1, 1), date(2100, 1, 1))),
    st.tuples(
        st.just("formula"), st.sampled_from(["SUM(A1:B2)", "ROUND(A1*'Dad''s <bill>'!B2,2)", 'IF(A1<>"",A1&"x",0)'])
    ),
    st.tuples(st.just("blank"), st.none()),
)
WHERE = st.tuples(st.sampled_from([*range(20), 300]), st.sampled_from([0, 1, 25, 26, 63, 64, 701]))
CELLS = st.dictionaries(WHERE, st.tuples(VALUES, st.integers(0, len(STYLES) - 1)), max_size=20)
HEIGHTS = st.dictionaries(st.integers(0, 22), st.floats(1, 409).map(lambda h: round(h, 2)), max_size=5)


def _parts(data: bytes) -> tuple[bytes, list[bytes]]:
    """The dimension and rows of the first sheet, and the shared texts."""
    with zipfile.ZipFile(BytesIO(data)) as z:
        sheet = z.read("xl/worksheets/sheet1.xml")
        texts = z.read("xl/sharedStrings.xml") if "xl/sharedStrings.xml" in z.namelist() else b""
    found = re.search(rb"<sheetData(?:/>|>(.*)</sheetData>)", sheet, re.DOTALL)
    assert found is not None
    rows = re.sub(rb' spans="[^"]*"', b"", found[1] or b"")
    area = re.search(rb'<dimension ref="([^"]*)"', sheet)
    assert area is not None
    return area[1] + b" " + rows, re.findall(rb"<si>.*?</si>", texts, re.DOTALL)


def _libraries(cells: dict[Any, Any], heights: dict[int, float]) -> tuple[bytes, list[bytes]]:
    stream = BytesIO()
    book = Workbook(stream, {"default_format_properties": {"font_name": look.FONT, "font_size": 10}})
    formats = [book.add_format({**HOUSE, **style}) for style in STYLES]
    formats.append(book.add_format({**HOUSE, **{"num_format": look.DATE, "align": "left"}}))
    sheet = book.add_worksheet("X")
    for style in formats:  # so that they are numbered in the same order
        style._get_xf_index()
    for row, height in heights.items():
        sheet.set_row(row, height)
    for (row, column), ((kind, value), which) in sorted(cells.items()):
        made = formats[which]
        if kind == "text" and clean(value):
            sheet.write_string(row, column, clean(value), made)
        elif kind == "number":
            sheet.write_number(row, column, value, made)
        elif kind == "day":
            sheet.write_datetime(row, column, datetime.combine(value, time()), formats[-1])
        elif kind == "formula":
            sheet.write_formula(row, column, f"={value}", made, 12.5)
        else:
            sheet.write_blank(row, column, None, made)
    book.close()
    return _parts(stream.getvalue())


def _ours(cells: dict[Any, Any], heights: dict[int, float]) -> tuple[bytes, list[bytes]]:
    book = look.start("", "metric", "A4", date(2026, 1, 1))
    sheet = look.add_sheet(book, "X", {})
    for style in (*STYLES, {"num_format": look.DATE, "align": "left"}):
        book.number(style)
    for (row, column), ((kind, value), which) in sorted(cells.items()):
        style = STYLES[which]
        if kind == "text":
            sheet.text(row, column, value, **style)
        elif kind == "number":
            sheet.rows.number(row, column, book.number(style), float(value))
        elif kind == "day":
            sheet.day(row, column, value)
        elif kind == "formula":
            sheet.rows.formula(row, column, book.number(style), value, 12.5)
        else:
            sheet.blank(row, column, **style)
    for row, height in heights.items():
        sheet.height(row, height)
    return _parts(finish(book))


@given(CELLS, HEIGHTS)
def test_rows_are_the_librarys_to_the_letter(cells: dict[Any, Any], heights: dict[int, float]) -> None:
    (ours, texts), (theirs, their_texts) = _ours(cells, heights), _libraries(cells, heights)
    if heights:  # which the library counts as used
        ours, theirs = ours.partition(b" ")[2], theirs.partition(b" ")[2]
    assert ours == theirs
    assert texts == their_texts


def test_merged_cells_and_links_are_the_librarys() -> None:
    book = look.start("", "metric", "A4", date(2026, 1, 1))
    sheet = look.add_sheet(book, "X", {})
    sheet.across(1, 0, 3, "over <four>")
    sheet.across(3, 1, 2, "")
    assert sheet.link(0, 2, 'Dad\'s "bill" & co', "B2", "there <", bold=True)
    stream = BytesIO()
    theirs = Workbook(stream, {"default_format_properties": {"font_name": look.FONT, "font_size": 10}})
    ws = theirs.add_worksheet("X")
    made = theirs.add_format(HOUSE)
    ws.merge_range(1, 0, 1, 3, "over <four>", made)
    ws.merge_range(3, 1, 3, 2, "", made)
    link = theirs.add_format({**HOUSE, "underline": 1, "bold": True})
    ws.write_url(0, 2, "internal:'Dad''s \"bill\" & co'!B2", link, "there <")
    theirs.close()
    both = []
    for data in (finish(book), stream.getvalue()):
        with zipfile.ZipFile(BytesIO(data)) as z:
            part = z.read("xl/worksheets/sheet1.xml")
        found = re.search(rb"</sheetData>(.*)<pageMargins", part, re.DOTALL)
        assert found is not None
        both.append(found[1])
    assert b"mergeCells" in both[0]
    assert b"hyperlink " in both[0]
    assert both[0] == both[1]
