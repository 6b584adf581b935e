"""Workbooks of the .xls kind: read and priced like the others; what they do not say is asked or told."""

from __future__ import annotations

import struct
import time
from datetime import datetime, timedelta
from datetime import time as of_day
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.sheets import xls as reader
from estimator.sheets.cells import Book, Cell, read_book
from estimator.sheets.door import Opened, check_bytes
from estimator.sheets.references import UNTOLD
from tests.build import DAY
from tests.workbooks import biff
from tests.workbooks.biff import formula, label, number, record, truth, xls
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

JOB = xls(SHEETS)
HEAD = biff.cells([HEADS[:7]])


def ref(row: int, column: int) -> bytes:
    """The token of a cell of the same sheet."""
    return b"\x44" + struct.pack("<HH", row, column | 0xC000)


def ref_in(sheet: int, row: int, column: int) -> bytes:
    """The token of a cell of another sheet, by its place in the list of sheets pointed at."""
    return b"\x5a" + struct.pack("<HHH", sheet, row, column)


def whole(value: int) -> bytes:
    """The token of a whole number."""
    return b"\x1e" + struct.pack("<H", value)


def pointed_at(count: int) -> bytes:
    """Records that let formulas point at each sheet of the workbook, and at one sheet of another workbook."""
    own = record(0x1AE, struct.pack("<HH", count, 0x0401))
    other = record(0x1AE, struct.pack("<H", 1) + biff.text("prices.xls") + biff.text("Rates"))
    pairs = b"".join(struct.pack("<HHH", 0, n, n) for n in range(count)) + struct.pack("<HHH", 1, 0, 0)
    return own + other + record(0x17, struct.pack("<H", count + 1) + pairs)


def defined(name: str, tokens: bytes, sheet: int = 0, hidden: bool = False) -> bytes:
    """A defined name, of one sheet (from 1) or of all."""
    head = struct.pack("<HBBHHHBBBB", hidden, 0, len(name), len(tokens), 0, sheet, 0, 0, 0, 0)
    return record(0x18, head + b"\0" + name.encode("latin-1") + tokens)


def cells(records: bytes, **more: object) -> dict[tuple[int, int], Cell]:
    """The cells of a sheet with these records."""
    return dict(book(xls({"Fixings": records}, **more), "job.xls").sheets[0].cells)


def test_it_is_priced_like_the_same_job_in_xlsx(tmp_path: Path) -> None:
    assert prices(priced(JOB, "job.xls")) == plain_prices()
    path = tmp_path / "job.xlsx"  # under another name, too
    path.write_bytes(JOB)
    done = price_file(path, today=DAY, quote=False, crew=False, drawings=False)
    assert (done.status, [p.name for p in done.written]) == (0, ["job-priced.xlsx"])
    assert "the workbook is an .xls, into which no sheets can be put" in said(done.problems, "written-alone")
    assert path.read_bytes() == JOB


VALUES = {
    "a number": (number(0, 0, 2.6), Cell(2.6, "number")),
    "a whole number": (number(0, 0, 2900), Cell(2900, "number")),
    "a per cent": (number(0, 0, 0.25, 1), Cell(0.25, "number", None, "0%")),
    "a unit beside": (number(0, 0, 2900, 2), Cell(2900, "number", None, '0" mm"')),
    "a day": (number(0, 0, 46115, 3), Cell(datetime.fromisoformat("2026-04-03"), "date", None, "d mmm yyyy")),
    "an hour": (number(0, 0, 0.5, 4), Cell(of_day(12), "time", None, "h:mm")),
    "a day out of any calendar": (number(0, 0, 1e9, 3), Cell("1e+09", "error", None, "d mmm yyyy")),
    "a packed number": (record(0x27E, struct.pack("<HHHI", 0, 0, 0, (1234 << 2) | 3)), Cell(12.34, "number")),
    "yes": (truth(0, 0, 1), Cell(True, "bool")),
    "an error": (truth(0, 0, 0x2A, error=True), Cell("#N/A", "error")),
    "a text": (label(0, 0, "néw post"), Cell("néw post", "text")),
    "a text like an escape of the other format": (label(0, 0, "_x0041_\r\nB"), Cell("_x0041_\nB", "text")),
    "a blank cell with a look": (record(0x201, struct.pack("<HHH", 0, 0, 1)), None),
    "a formula": (formula(0, 0, ref(1, 0) + whole(2) + b"\x05", 6), Cell(6, "number", "=A2*2.0")),
    "a formula that comes to a text": (
        record(0x06, struct.pack("<HHHB5sHHIH", 0, 0, 0, 0, b"", 0xFFFF, 0, 0, 3) + whole(1))
        + record(0x207, biff.text("much")),
        Cell("much", "text", "=1.0"),
    ),
    "a formula that comes to an error": (
        record(0x06, struct.pack("<HHHBBB3sHHIH", 0, 0, 0, 2, 0, 0x07, b"", 0xFFFF, 0, 0, 3) + whole(1)),
        Cell("#DIV/0!", "error", "=1.0"),
    ),
    "a formula that cannot be put into words": (formula(0, 0, b"\x7f\x7f", 6), Cell(6, "number", UNTOLD)),
}


@pytest.mark.parametrize("kind", VALUES)
def test_a_value(kind: str) -> None:
    records, wanted = VALUES[kind]
    assert cells(records).get((1, 1)) == wanted


def test_a_length_of_time_of_more_than_a_day() -> None:
    hours = biff.FORMATS.index("h:mm")
    assert cells(number(0, 0, 1.75, hours))[1, 1].kind == "date"  # its format shows a time of day only
    made = reader._date(1.75, False, "[h]:mm")
    assert made == (timedelta(hours=42), "time")


def test_days_from_1904() -> None:
    found = cells(number(0, 0, 44653, 3), since_1904=True)[1, 1]
    assert found.value == datetime.fromisoformat("2026-04-03")
    assert book(xls({"A": [[1]]}, since_1904=True), "job.xls").since_1904


def test_what_is_asked_of_a_per_cent_a_day_and_a_yes_in_a_number() -> None:
    row = b"".join(label(1, c, v) for c, v in enumerate(("Yard", "A", "new post")))
    row += number(1, 3, 0.1, 1) + number(1, 4, 46115, 3) + number(1, 5, 0.5, 4) + truth(1, 6, 1)
    problems = all_problems(table(xls({"Fixings": HEAD + row})))
    assert [p.code for p in problems] == ["percent-as-number", "date-as-number", "time-as-number", "bool-as-number"]


def test_hidden_rows_columns_sheets_and_merged_cells() -> None:
    plain = HEAD + biff.cells([[]] + [["Yard", "A", "new post", 1, 1, 1, 0]] * 2)
    hidden_row = record(0x208, struct.pack("<HHHHHHI", 2, 0, 7, 255, 0, 0, 0x20 | 0x100))
    hidden_columns = record(0x7D, struct.pack("<HHHHHH", 4, 5, 2000, 0, 1, 0))
    merged = record(0xE5, struct.pack("<HHHHH", 1, 1, 2, 0, 0))
    data = xls({"Fixings": plain + hidden_row + hidden_columns + merged, "Far": [[1]]}, states=(1, 2))
    made = book(data, "job.xls")
    fixings = made.sheets[0]
    assert (fixings.hidden_rows, fixings.hidden_columns, fixings.merged) == ({3}, {5, 6}, ((2, 1, 3, 1),))
    assert [s.state for s in made.sheets] == ["hidden", "veryHidden"]
    assert {"sheet-hidden", "rows-hidden", "columns-hidden", "merged-filled"} <= codes(table(data).problems)


def test_where_values_come_from_and_calculation_by_hand() -> None:
    names = defined("_estimator_sheet", b"\x17\x04\0Bill", 2, hidden=True)
    marks = b"".join(label(1, c, v) for c, v in enumerate(("Yard", "A", "new post")))
    fed = formula(1, 3, ref_in(1, 4, 3), 1) + formula(1, 4, ref_in(2, 0, 0), 2) + formula(1, 5, ref(1, 3), 2.6)
    fed += formula(1, 6, b"\x7f\x7f", 0)
    by_hand = record(0x0D, b"\0\0")
    data = xls({"Fixings": by_hand + HEAD + marks + fed, "My bill": [[1]]}, extra=pointed_at(2) + names)
    made = book(data, "job.xls")
    assert (made.names, made.own, made.manual) == (("Fixings", "My bill"), {"My bill": "Bill"}, True)
    assert [s.name for s in made.sheets] == ["Fixings"]
    problems = table(data).problems
    assert ": D2, F2." in said(problems, "fed-by-output")
    assert ": E2." in said(problems, "fed-by-other-book")
    assert ": G2." in said(problems, "feeds-not-followed")
    assert ": D2, E2, F2, G2." in said(problems, "manual-calculation")


def test_shared_and_array_formulas() -> None:
    points = b"\x01" + struct.pack("<HH", 0, 0)
    one_left = b"\x4c" + struct.pack("<HH", 0, 0xC000 | 0xFF)  # the cell to the left, whatever the row
    shared = record(0x4BC, struct.pack("<HHBBBBH", 0, 1, 1, 1, 0, 2, len(one_left)) + one_left)
    found = cells(number(0, 0, 1) + formula(0, 1, points, 1) + shared + number(1, 0, 2) + formula(1, 1, points, 2))
    assert [found[r, 2].formula for r in (1, 2)] == ["=A1", "=A2"]
    array = record(0x221, struct.pack("<HHBBHIH", 0, 1, 0, 0, 0, 0, 3) + whole(9))
    found = cells(formula(0, 0, points, 9) + array + formula(1, 0, points, 9))
    assert [found[r, 1].formula for r in (1, 2)] == ["=9.0", "=9.0"]


def test_names_that_stand_for_cells() -> None:
    names = defined("Depth", ref_in(0, 0, 0))
    made = book(xls({"A": [[1]]}, extra=pointed_at(1) + names), "job.xls")
    assert made.defined["depth"].startswith("=A!")


def test_a_password_other_documents_and_damage() -> None:
    locked = xls(SHEETS, extra=record(0x2F, struct.pack("<HHH", 0, 1, 2)))
    assert refused(locked, "job.xls").code == "file-password"
    letter = biff.container(b"\xec\xa5" * 3000, "WordDocument")
    assert refused(letter, "job.xls").code == "file-other-office"
    nested = biff.container(b"\xec\xa5" * 3000 + "Workbook".encode("utf-16-le"), "WordDocument")
    assert refused(nested, "job.xls").code == "file-other-office"
    for end in (600, 1600, len(JOB) // 2):
        assert refused(JOB[:end], "job.xls").code in ("xls-broken", "file-other-office")
    assert refused(biff.container(b"\0" * 5000), "job.xls").code == "xls-broken"
    assert refused(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "job.xls").code == "file-cut-short"
    # under the name that older programs give it
    assert book(biff.container(biff.stream({"A": biff.cells([["x"]])}), "Book"), "job.xls").names == ("A",)


def test_too_many_cells_and_far_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MOST_CELLS", 40)
    assert refused(xls({"A": [[1] * 10] * 3, "B": [[1] * 10] * 3}), "job.xls").code == "file-too-many-cells"
    monkeypatch.undo()
    start = time.process_time()
    far = b"".join(number(row, 255, 1) for row in range(0, 65_536, 40))
    assert len(cells(far)) == 1639
    assert time.process_time() - start < 3


def test_only_the_sheets_asked_for_are_read() -> None:
    opened = check_bytes(JOB, "job.xls")
    assert isinstance(opened, Opened)
    made = read_book(opened, ["sites"])
    assert isinstance(made, Book)
    assert ([s.name for s in made.sheets], made.names) == (["Sites"], tuple(SHEETS))


def test_a_second_reader_sees_the_same() -> None:
    data = xls({"Fixings": FIXINGS, "More": [("a", None, True), (), (1e-7, -2.5, "ü & <x>")]})
    seen = by_another_reader(data)
    for each in book(data, "job.xls").sheets:
        assert {place: c.value for place, c in each.cells.items()} == seen[each.name]


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_damage_is_read_or_refused_and_never_more(data: st.DataObject) -> None:
    content = bytearray(JOB)
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(content) - 8))
        content[at : at + 4] = data.draw(st.binary(min_size=4, max_size=4))
    start = time.process_time()
    opened = check_bytes(bytes(content), "job.xls")
    found = opened if isinstance(opened, Problem) else read_book(opened)
    assert time.process_time() - start < 5
    assert isinstance(found, Book | Problem)
