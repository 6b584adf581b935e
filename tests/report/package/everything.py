"""A workbook with about everything a user's workbook can hold: an object model would lose half of it."""

from __future__ import annotations

import io

import xlsxwriter

from tests.report.package.books import edited, png

_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MICROSOFT = "http://schemas.microsoft.com/office"
_X14 = f"{_MICROSOFT}/spreadsheetml/2009/9/main"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_EXCEL = "application/vnd.ms-excel"


def everything() -> bytes:
    """The book: a base by XlsxWriter, and what that cannot write put in by hand."""
    return edited(_base(), _inject)


def _base() -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    bold, red = book.add_format({"bold": True}), book.add_format({"font_color": "#FF0000"})
    good = book.add_format({"bg_color": "#C6EFCE"})
    sites = book.add_worksheet("Sites")
    sites.write_rich_string("A1", "plain ", bold, "bold ", red, "red")
    sites.write_string("A2", "with a note")
    sites.write_comment("A2", "a note", {"author": "the user"})
    sites.write_formula("A3", "=1+2", None, 3)
    sites.write_formula("A4", "=Lists!A1", None, "shared")
    sites.data_validation("B1:B9", {"validate": "list", "source": ["a", "b"]})
    sites.conditional_format("C1:C9", {"type": "cell", "criteria": ">", "value": 1, "format": good})
    sites.conditional_format("D1:D9", {"type": "data_bar", "data_bar_2010": True})
    sites.add_sparkline("E1", {"range": "Sites!A3:A4"})
    sites.add_table("G1:H4", {"name": "Measured", "columns": [{"header": "Site"}, {"header": "Size"}]})
    sites.insert_image("J1", "plan.png", {"image_data": io.BytesIO(png(90))})
    sites.insert_textbox("J9", "a text box")
    sites.insert_button("J15", {"caption": "a button"})
    sites.set_header("&L&G", {"image_left": "head.png", "image_data_left": io.BytesIO(png(40))})
    sites.merge_range("A6:B6", "merged")
    sites.freeze_panes(1, 0)
    sites.print_area("A1:H20")
    sites.set_landscape()
    chart = book.add_chart({"type": "line"})
    chart.add_series({"values": "=Sites!$A$3:$A$4"})
    sites.insert_chart("L1", chart)
    lists = book.add_worksheet("Lists")
    lists.write_string("A1", "shared")
    lists.write_url("A2", "https://example.com/", string="a link")
    lists.protect()
    book.add_chartsheet("Graph").set_chart(_chart(book))
    book.add_worksheet("Deep").very_hidden()
    book.define_name("Rise", "=Lists!$A$1")
    book.set_custom_property("Label", "internal")
    book.close()
    return out.getvalue()


def _chart(book: xlsxwriter.Workbook) -> object:
    chart = book.add_chart({"type": "bar"})
    chart.add_series({"values": "=Sites!$A$3:$A$4"})
    return chart


def _inject(parts: dict[str, bytes]) -> None:
    sheet = "xl/worksheets/sheet1.xml"
    drop_down = (
        f'<ext uri="{{CCE6A557-97BC-4b89-ADB6-D9C93CAAB3DF}}" xmlns:x14="{_X14}">'
        '<x14:dataValidations count="1" xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main">'
        '<x14:dataValidation type="list" allowBlank="1"><x14:formula1><xm:f>Lists!$A$1:$A$9</xm:f></x14:formula1>'
        "<xm:sqref>F1:F9</xm:sqref></x14:dataValidation></x14:dataValidations></ext>"
    )
    slicer = (
        f'<ext uri="{{3A4CF648-6AED-40f4-86FF-DC5316D8AED3}}" xmlns:x14="{_X14}">'
        '<x14:slicerList><x14:slicer r:id="rId91"/></x14:slicerList></ext>'
    )
    _swap(parts, sheet, "</extLst>", drop_down + slicer + "</extLst>")
    _swap(parts, sheet, "<pageSetup ", '<pageSetup r:id="rId92" ')
    _relate(parts, sheet, "rId91", f"{_MICROSOFT}/2007/relationships/slicer", "../slicers/slicer1.xml")
    _relate(parts, sheet, "rId92", f"{_OFFICE}/printerSettings", "../printerSettings/printerSettings1.bin")
    _relate(
        parts,
        sheet,
        "rId93",
        f"{_MICROSOFT}/2017/10/relationships/threadedComment",
        "../threadedComments/threadedComment1.xml",
    )
    _add(
        parts,
        "xl/slicers/slicer1.xml",
        f'<slicers xmlns="{_X14}"><slicer name="Site" cache="Slicer_Site" caption="Site" rowHeight="9"/></slicers>',
        f"{_EXCEL}.slicer+xml",
    )
    _add(
        parts,
        "xl/slicerCaches/slicerCache1.xml",
        f'<slicerCacheDefinition xmlns="{_X14}" xmlns:x="{_MAIN}" name="Slicer_Site" sourceName="Site"><extLst>'
        '<x:ext uri="{2F2917AC-EB37-4324-AD4E-5DD8C200BD13}" '
        'xmlns:x15="http://schemas.microsoft.com/office/spreadsheetml/2010/11/main">'
        '<x15:tableSlicerCache tableId="1" column="1"/></x:ext></extLst></slicerCacheDefinition>',
        f"{_EXCEL}.slicerCache+xml",
    )
    threads = f"{_MICROSOFT}/spreadsheetml/2018/threadedcomments"
    _add(
        parts,
        "xl/threadedComments/threadedComment1.xml",
        f'<ThreadedComments xmlns="{threads}"><threadedComment ref="A2" dT="2026-01-02T03:04:05.00" '
        'personId="{11111111-1111-1111-1111-111111111111}" id="{22222222-2222-2222-2222-222222222222}">'
        "<text>how high?</text></threadedComment></ThreadedComments>",
        f"{_EXCEL}.threadedcomments+xml",
    )
    _add(
        parts,
        "xl/persons/person.xml",
        f'<personList xmlns="{threads}"><person displayName="the user" '
        'id="{11111111-1111-1111-1111-111111111111}" userId="u" providerId="None"/></personList>',
        f"{_EXCEL}.person+xml",
    )
    parts["xl/printerSettings/printerSettings1.bin"] = bytes(range(256))
    _swap(
        parts,
        "[Content_Types].xml",
        "<Override ",
        f'<Default Extension="bin" ContentType="{_SPREADSHEET}.printerSettings"/><Override ',
    )
    _inject_book(parts)


def _inject_book(parts: dict[str, bytes]) -> None:
    book = "xl/workbook.xml"
    _add(
        parts,
        "xl/externalLinks/externalLink1.xml",
        f'<externalLink xmlns="{_MAIN}"><externalBook xmlns:r="{_OFFICE}" r:id="rId1"><sheetNames>'
        '<sheetName val="Rates"/></sheetNames></externalBook></externalLink>',
        f"{_SPREADSHEET}.externalLink+xml",
    )
    parts["xl/externalLinks/_rels/externalLink1.xml.rels"] = (
        '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship '
        f'Id="rId1" Type="{_OFFICE}/externalLinkPath" Target="rates.xlsx" TargetMode="External"/></Relationships>'
    ).encode()
    _add(
        parts,
        "xl/calcChain.xml",
        f'<calcChain xmlns="{_MAIN}"><c r="A3" i="1"/><c r="A4"/></calcChain>',
        f"{_SPREADSHEET}.calcChain+xml",
    )
    parts["customXml/item1.xml"] = b"<label xmlns='urn:example:label'>internal</label>"
    _add(
        parts,
        "customXml/itemProps1.xml",
        '<ds:datastoreItem ds:itemID="{33333333-3333-3333-3333-333333333333}" '
        'xmlns:ds="http://schemas.openxmlformats.org/officeDocument/2006/customXml"><ds:schemaRefs/></ds:datastoreItem>',
        "application/vnd.openxmlformats-officedocument.customXmlProperties+xml",
    )
    _relate(parts, "customXml/item1.xml", "rId1", f"{_OFFICE}/customXmlProps", "itemProps1.xml")
    _swap(
        parts,
        book,
        "<definedNames>",
        '<externalReferences><externalReference r:id="rId81"/></externalReferences><definedNames>',
    )
    caches = (
        f'<extLst><ext uri="{{46BE6895-7355-4a93-B00E-2C351335B9C9}}" '
        'xmlns:x15="http://schemas.microsoft.com/office/spreadsheetml/2010/11/main">'
        f'<x15:slicerCaches xmlns:x14="{_X14}"><x14:slicerCache r:id="rId83"/></x15:slicerCaches></ext></extLst>'
    )
    _swap(parts, book, "</workbook>", caches + "</workbook>")
    for new, kind, way in (
        ("rId81", f"{_OFFICE}/externalLink", "externalLinks/externalLink1.xml"),
        ("rId82", f"{_OFFICE}/calcChain", "calcChain.xml"),
        ("rId83", f"{_MICROSOFT}/2007/relationships/slicerCache", "slicerCaches/slicerCache1.xml"),
        ("rId84", f"{_MICROSOFT}/2017/10/relationships/person", "persons/person.xml"),
        ("rId85", f"{_OFFICE}/customXml", "../customXml/item1.xml"),
    ):
        _relate(parts, book, new, kind, way)


def _swap(parts: dict[str, bytes], part: str, old: str, new: str) -> None:
    assert old.encode() in parts[part], (old, parts[part][-2500:])
    head, found, tail = (
        parts[part].rpartition(old.encode()) if old.startswith("</") else parts[part].partition(old.encode())
    )
    parts[part] = head + (new.encode() if found else b"") + tail


def _add(parts: dict[str, bytes], part: str, markup: str, kind: str) -> None:
    parts[part] = b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\r\n' + markup.encode()
    _swap(parts, "[Content_Types].xml", "</Types>", f'<Override PartName="/{part}" ContentType="{kind}"/></Types>')


def _relate(parts: dict[str, bytes], part: str, new: str, kind: str, way: str) -> None:
    folder, _, base = part.rpartition("/")
    rels = f"{folder}/_rels/{base}.rels"
    if rels not in parts:
        parts[rels] = (
            b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"></Relationships>'
        )
    entry = f'<Relationship Id="{new}" Type="{kind}" Target="{way}"/></Relationships>'
    _swap(parts, rels, "</Relationships>", entry)
