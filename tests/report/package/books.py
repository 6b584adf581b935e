"""Workbooks for the tests of the package writer: a user's, ours, and what can be done to them."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable, Mapping, Sequence

import xlsxwriter

from estimator.report.package.markup import RELATION, dump, make, parse, tag
from estimator.report.package.own import mark
from estimator.report.package.package import (
    close_package,
    open_package,
    relate,
    set_type,
    sheet_part,
)
from estimator.report.package.zipping import read_parts, zip_parts

NAMES = {"Summary": "Summary", "Bill": "Bill"}
CHANGED = {
    "[Content_Types].xml",
    "xl/_rels/workbook.xml.rels",
    "xl/workbook.xml",
    "xl/sharedStrings.xml",
    "xl/styles.xml",
}


def png(colour: int = 200) -> bytes:
    """A picture of two by two grey points."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    rows = b"".join(b"\0" + bytes([colour] * 2) for _ in range(2))
    head = struct.pack(">IIBBBBB", 2, 2, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def user_book(sheets: Sequence[str] = ("Job", "Sites"), options: Mapping[str, object] | None = None) -> bytes:
    """A plain book of the user: texts, a styled number, a formula with its value, a format for conditions."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, **(options or {})})
    bold = book.add_format({"bold": True, "num_format": "0.000"})
    green = book.add_format({"bg_color": "#C6EFCE"})
    for name in sheets:
        sheet = book.add_worksheet(name)
        sheet.write_string("A1", f"typed by the user on {name}")
        sheet.write_number("A2", 2.5, bold)
        sheet.write_formula("A3", "=A2*2", bold, 5)
        sheet.conditional_format("A2:A3", {"type": "cell", "criteria": ">", "value": 3, "format": green})
    book.close()
    return out.getvalue()


def our_book(
    names: Mapping[str, str] | Sequence[str] = ("Summary", "Bill"), word: str = "first", pictures: bool = True
) -> bytes:
    """Our rendering; names: the sheets, or purpose -> name. The first sheet adds up the others."""
    titles = list(names.values()) if isinstance(names, Mapping) else list(names)
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    money = book.add_format({"num_format": '#,##0.00 "net"', "bold": True, "border": 1})
    odd = book.add_format({"num_format": f'0.0 "{word}"', "font_color": "#123456", "bg_color": "#EEEEEE"})
    red = book.add_format({"font_color": "#FF0000", "num_format": '0 "red"'})
    day = book.add_format({"num_format": "d mmm yyyy"})
    for i, name in enumerate(titles):
        sheet = book.add_worksheet(name)
        sheet.write_string("A1", f"OFFICE: costs inside, {name} {word}", odd)
        sheet.write_number("A2", 10 + i, money)
        quoted = titles[-1].replace("'", "''")
        sheet.write_formula("A3", f"=ROUND('{quoted}'!A2*2,2)", money, 2 * (9 + len(titles)))
        sheet.write_string("A4", word)
        sheet.write_number("A5", 46000, day)
        sheet.write_url("A6", f"internal:'{quoted}'!A1", string="to the last sheet")
        sheet.set_column("B:B", 20, odd)
        sheet.set_row(7, 30, money)
        sheet.conditional_format("A2:A3", {"type": "cell", "criteria": ">", "value": 3, "format": red})
        sheet.repeat_rows(0)
        sheet.print_area("A1:C9")
        if pictures:
            sheet.insert_image("D2", "logo.png", {"image_data": io.BytesIO(png())})
            chart = book.add_chart({"type": "column"})
            chart.add_series({"values": f"='{name}'!$A$2:$A$3"})
            sheet.insert_chart("D8", chart)
    book.close()
    return out.getvalue()


def edited(data: bytes, change: Callable[[dict[str, bytes]], None]) -> bytes:
    """The package after a change to its parts."""
    parts = read_parts(data)
    change(parts)
    return zip_parts(parts)


def swapped(data: bytes, part: str, *pairs: tuple[str, str]) -> bytes:
    """The package with texts of one part replaced; each must be there."""

    def change(parts: dict[str, bytes]) -> None:
        for old, new in pairs:
            assert old.encode() in parts[part], f"{old!r} is not in {part}: {parts[part][:3000]!r}"
            parts[part] = parts[part].replace(old.encode(), new.encode())

    return edited(data, change)


def with_copy(data: bytes, name: str, copied: str, purpose: str | None) -> bytes:
    """The package after the user has copied a sheet, marks included, as office programs do."""
    package = open_package(data)
    source = next(sheet for sheet in package.sheets if sheet.get("name") == name)
    new_part = "xl/worksheets/sheet99.xml"
    # the copy's drawing and links are left behind: what counts here are its styles and texts
    root = parse(package.parts[sheet_part(package, source)])
    for element in [*root.iter(tag("drawing"), tag("hyperlinks"))]:
        root.remove(element)
    package.parts[new_part] = dump(root)
    set_type(package, new_part, "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml")
    sheet = make("sheet", name=copied, sheetId="99")
    sheet.set(f"{{{RELATION}}}id", relate(package, package.book, "worksheet", new_part))
    package.sheets[-1].addnext(sheet)
    if purpose:
        mark(package, purpose, len(package.sheets) - 1)
    return close_package(package)


def moved_to_front(data: bytes, name: str) -> bytes:
    """The package after the user has dragged a tab to the front; names follow, as office programs do."""
    package = open_package(data)
    before = package.sheets
    sheet = next(s for s in before if s.get("name") == name)
    holder = package.workbook.find(tag("sheets"))
    assert holder is not None
    holder.remove(sheet)
    holder.insert(0, sheet)
    for defined in package.workbook.iter(tag("definedName")):
        if defined.get("localSheetId") is not None:
            old = before[int(defined.get("localSheetId", ""))]
            defined.set("localSheetId", str(package.sheets.index(old)))
    return close_package(package)


def tabs(data: bytes) -> list[str]:
    """The sheet names in tab order."""
    return [sheet.get("name", "") for sheet in open_package(data).sheets]


def part_of(data: bytes, name: str) -> bytes:
    """The markup of a sheet, by its name."""
    package = open_package(data)
    return package.parts[sheet_part(package, next(s for s in package.sheets if s.get("name") == name))]
