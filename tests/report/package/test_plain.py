"""What is gone through by its bytes is what the slower way, which takes sheets apart, makes of it."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from lxml import etree
from xlsxwriter import Workbook

from estimator.report.package import carry, grid
from estimator.report.package.audit import audit
from estimator.report.package.markup import parse
from estimator.report.package.package import open_package, sheet_part
from estimator.report.package.plain import in_order, in_parts, renumbered, without_rows
from estimator.report.package.transplant import transplant
from tests.report.package.books import edited, swapped


def users() -> bytes:
    """A book of another program: texts, styles and a conditional format of its own."""
    out = BytesIO()
    with Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Sites")
        bold = book.add_format({"bold": True, "num_format": "0.0"})
        for row in range(9):
            sheet.write_string(row, 0, f"theirs {row}", bold)
            sheet.write_number(row, 1, row / 7)
        sheet.conditional_format("B1:B9", {"type": "cell", "criteria": ">", "value": 1, "format": bold})
    return out.getvalue()


def ours() -> bytes:
    """Two sheets with all that ours may hold, and texts that look like markup."""
    out = BytesIO()
    with Workbook(out, {"in_memory": True, "strings_to_formulas": False}) as book:
        plain, red = book.add_format({"font_size": 9}), book.add_format({"font_color": "red", "num_format": "0.000"})
        for name in ("Summary", "Bill"):
            sheet = book.add_worksheet(name)
            sheet.set_column(0, 3, 14, plain)
            sheet.set_row(4, 30, red)
            for row in range(30):
                sheet.write_string(
                    row, 0, ["a", "theirs 3", '<c r="A1" s="9" t="s"><v>1</v></c>', "x & y"][row % 4], red
                )
                sheet.write_number(row, 1, row * 1.1, plain)
                sheet.write_formula(row, 2, f'=IF(B{row + 1}>2,"<s=""7"" t=""s"">",SUM(B1:B{row + 1}))', red, "é & <")
                sheet.write_blank(row, 3, None, plain)
            sheet.write_boolean(31, 0, True, red)
            sheet.conditional_format("B1:B9", {"type": "cell", "criteria": ">", "value": 1, "format": red})
            sheet.write_url(32, 0, "internal:'Bill'!A1", plain, "there")
            sheet.repeat_rows(0)
    return out.getvalue()


def canonical(data: bytes) -> bytes:
    out: bytes = etree.tostring(parse(data), method="c14n")
    return out


def test_both_ways_put_the_same_sheets_into_a_book(monkeypatch: pytest.MonkeyPatch) -> None:
    quick = open_package(transplant(users(), ours(), {}))
    monkeypatch.setattr(carry, "renumbered", lambda *_: None)
    slow = open_package(transplant(users(), ours(), {}))
    assert list(quick.parts) == list(slow.parts)
    for name in quick.parts:
        if name.endswith((".xml", ".rels")) and name != quick.book:  # which holds a print of the bytes
            assert canonical(quick.parts[name]) == canonical(slow.parts[name]), name
    assert audit(transplant(users(), ours(), {})) == []


def test_both_ways_see_the_same_cells(monkeypatch: pytest.MonkeyPatch) -> None:
    package = open_package(transplant(users(), ours(), {}))
    names = {name: name for name in ("Sites", "Summary", "Bill")}
    quick = grid.grids(package, names)
    monkeypatch.setattr(grid, "_plain_grid", lambda *_: None)
    assert grid.grids(package, names) == quick
    assert quick["Bill"][3, 1].value == '<c r="A1" s="9" t="s"><v>1</v></c>'
    assert quick["Bill"][3, 3].formula == 'IF(B3>2,"<s=""7"" t=""s"">",SUM(B1:B3))'
    assert quick["Bill"][3, 3].value == "é & <"


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ('<c r="B3" ', '<c r="B4" '), ('<c r="B3" ', '<c r="A3" '), ('<row r="3" ', '<row r="2" '),
        ('<c r="B3" s="1"', '<c r="B3" s="77"'), ('t="s"><v>0</v>', 't="s"><v>99</v>'), ('<row r="3" ', "<row "),
        ('t="s"><v>0</v>', 't="s"><v>x</v>'), ('t="s"><v>0</v>', 't="s"/>'),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_as_by_the_slower_way(monkeypatch: pytest.MonkeyPatch, was: str, now: str) -> None:
    package = open_package(ours())
    part = sheet_part(package, package.sheets[1])
    broken = swapped(ours(), part, (was, now))
    told = audit(broken)
    monkeypatch.setattr("estimator.report.package.audit_cells.in_parts", lambda *_, **__: None)
    monkeypatch.setattr("estimator.report.package.audit.without_rows", lambda data: data)
    assert audit(broken) == told
    assert bool(told) is ("<row >" not in now and now != "<row ")


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (rb'<c r="B3" s="1">', rb'<c s="1" r="B3">'), (rb'<c r="B3" s="1">', rb'<c r="B3">'),
        (rb"<sheetData>", rb"<sheetData >"), (rb'<c r="B3" s="1">', rb'<c r="B3" s="1" cm="1">'),
        (rb'(<c r="A2" s="[0-9]+") t="s"><v>[0-9]+</v>', rb'\1 t="s"><v> 1</v>'),
        (rb"<col (.*?) style=.[0-9]+.", rb"<col \1"),
    ],
)  # fmt: skip
def test_any_other_form_is_left_to_the_slower_way(was: bytes, now: bytes) -> None:
    package = open_package(ours())
    data = package.parts[sheet_part(package, package.sheets[1])]
    assert renumbered(data, range(50), range(50), lambda n: n) is not None
    other = re.sub(was, now, data, count=1)
    assert other != data
    assert renumbered(other, range(50), range(50), lambda n: n) is None


def test_rows_are_taken_in_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    package = open_package(ours())
    data = package.parts[sheet_part(package, package.sheets[0])]
    whole = renumbered(data, range(50), range(50), lambda n: n + 5)
    parts = in_parts(data)
    assert parts is not None
    assert b"".join(parts) == data
    assert without_rows(data) == parts[0] + b"<sheetData>" + parts[2]
    monkeypatch.setattr("estimator.report.package.plain._CHUNK", 500)
    assert renumbered(data, range(50), range(50), lambda n: n + 5) == whole
    assert in_order(parts[1], 50, 50)
    assert not in_order(parts[1], 50, 3)


def test_a_text_that_is_markup_stays_a_text() -> None:
    data = edited(transplant(users(), ours(), {}), lambda parts: None)
    package = open_package(data)
    assert grid.grids(package, {"Bill": "Bill"})["Bill"][7, 1].value == '<c r="A1" s="9" t="s"><v>1</v></c>'
