"""The structural check finds every fault put into a good package."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Callable

import pytest

from estimator.report.package.audit import audit
from estimator.report.package.markup import MAIN
from estimator.report.package.transplant import transplant
from tests.report.package.books import NAMES, edited, our_book, swapped
from tests.report.package.everything import everything

TYPES, BOOK, RELS = "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
SITES, SUMMARY, STYLES = "xl/worksheets/sheet1.xml", "xl/worksheets/sheet4.xml", "xl/styles.xml"


@pytest.fixture(scope="module")
def good() -> bytes:
    return transplant(everything(), our_book(), NAMES)


def test_nothing_is_found_in_a_good_package(good: bytes) -> None:
    assert audit(good) == []
    assert audit(everything()) == []
    assert audit(our_book()) == []


SWAPS = [
    ("belongs to no sheet", BOOK, 'localSheetId="4"', 'localSheetId="44"'),
    ("the defined name", BOOK, "_xlnm.Print_Titles", "_xlnm.Print_Area"),
    ("the sheet name 'summary' is there twice", BOOK, 'sheet name="Bill"', 'sheet name="SUMMARY"'),
    ("the sheet number", BOOK, 'sheetId="5"', 'sheetId="1"'),
    ("no fitting number", BOOK, 'sheetId="5"', 'sheetId="70000"'),
    ("longer than 31", BOOK, 'sheet name="Bill"', f'sheet name="{"B" * 32}"'),
    ("may not be in one", BOOK, 'sheet name="Bill"', 'sheet name="Bill/2"'),
    ("may not be in one", BOOK, 'sheet name="Bill"', 'sheet name="Bill\'"'),
    ("activeTab shows no sheet", BOOK, "<workbookView ", '<workbookView activeTab="9" '),
    ("firstSheet shows no sheet", BOOK, "<workbookView ", '<workbookView firstSheet="9" '),
    ("calcPr stands too late", BOOK, "</workbook>", "<oleSize/><calcPr/></workbook>"),
    ("leads to", RELS, "worksheets/sheet4.xml", "worksheets/sheet44.xml"),
    ("has no part", RELS, 'Id="rId1"', 'Id="rId101"'),
    ("has rId2 twice", RELS, 'Id="rId3"', 'Id="rId2"'),
    ("which is not there", TYPES, "/xl/worksheets/sheet4.xml", "/xl/worksheets/sheet44.xml"),
    ("two content types", TYPES, "/xl/worksheets/sheet4.xml", "/xl/worksheets/sheet5.xml"),
    ("is no sheet by its content type", TYPES, 'sheet4.xml" ContentType="', 'sheet4.xml" ContentType="text/plain" x="'),
    ("has no content type", TYPES, 'Default Extension="png"', 'Default Extension="gif"'),
    ("uses one of the fonts", STYLES, 'fontId="1"', 'fontId="99"'),
    ("uses one of the fills", STYLES, 'fillId="2"', 'fillId="99"'),
    ("uses one of the borders", STYLES, 'borderId="1"', 'borderId="99"'),
    ("uses one of the cellStyleXfs", STYLES, 'xfId="0"', 'xfId="9"'),
    ("uses the number format", STYLES, 'xf numFmtId="164"', 'xf numFmtId="199"'),
    ("the number format '164' is there twice", STYLES, 'numFmt numFmtId="165"', 'numFmt numFmtId="164"'),
    ("count their cellXfs wrong", STYLES, "</cellXfs>", '<xf numFmtId="0"/></cellXfs>'),
    ("numFmts stands too late", STYLES, "</styleSheet>", "<extLst/><numFmts><numFmt/></numFmts></styleSheet>"),
    ("counted wrong", "xl/sharedStrings.xml", "</sst>", "<si><t>more</t></si></sst>"),
    ("cell A2 uses a cell format", SUMMARY, '<c r="A2" s="', '<c r="A2" s="9'),
    ("row 8 uses a cell format", SUMMARY, '<row r="8" spans="1:1" s="', '<row r="8" spans="1:1" s="9'),
    ("column 2 uses a cell format", SUMMARY, ' style="', ' style="9'),
    ("a shared string that is not there", SUMMARY, 't="s"><v>', 't="s"><v>9'),
    ("format for conditions that is not there", SUMMARY, 'dxfId="', 'dxfId="9'),
    ("row 1 stands after row 2", SUMMARY, '<row r="3"', '<row r="1"'),
    ("calls itself 'A3'", SUMMARY, '<c r="A2"', '<c r="A3"'),
    ("is out of order", SUMMARY, '</c></row><row r="2"', '</c><c r="A1"/></row><row r="2"'),
    ("sheetViews stands too late", SUMMARY, "</worksheet>", "<sheetViews/></worksheet>"),
    ("names rId11", SUMMARY, 'drawing r:id="rId1', 'drawing r:id="rId11'),
    ("open as a group", SUMMARY, "<sheetView ", '<sheetView tabSelected="1" '),
    ("is no XML", SUMMARY, "</worksheet>", ""),
    ("DOCTYPE", SUMMARY, "<worksheet ", "<!DOCTYPE worksheet>\n<worksheet "),
    ("names no workbook part", "_rels/.rels", "officeDocument/2006/relationships/officeDocument", "x"),
]


@pytest.mark.parametrize(("said", "part", "old", "new"), SWAPS, ids=[f"{i} {s[0]}" for i, s in enumerate(SWAPS)])
def test_a_seeded_fault_is_found(good: bytes, said: str, part: str, old: str, new: str) -> None:
    found = audit(swapped(good, part, (old, new)))
    assert any(said in fault for fault in found), found


REMOVALS: list[tuple[str, Callable[[dict[str, bytes]], object]]] = [
    ("which is not there", lambda parts: parts.pop("xl/media/image1.png")),
    ("which is not there", lambda parts: parts.pop(SUMMARY)),
    ("belongs to no part", lambda parts: parts.pop("xl/drawings/drawing1.xml")),
    ("nothing leads to", lambda parts: parts.update({"xl/media/image9.png": b"lost"})),
    ("has no content type", lambda parts: parts.update({"xl/odd.thing": b"lost"})),
    ("is no workbook", lambda parts: parts.update({BOOK: b"<other/>"})),
    (
        "no sheet can be seen",
        lambda parts: _swap(
            parts, BOOK, rb'<sheet ((name="[^"]*" sheetId="\d+") state="\w+")?', rb'<sheet state="hidden" \2'
        ),
    ),
    ("the list of number formats is empty", lambda parts: _swap(parts, STYLES, b"<numFmt .*(?=</numFmts>)", b"")),
    ("has no [Content_Types].xml", lambda parts: parts.pop(TYPES)),
    ("shared string that is not there", lambda parts: parts.pop("xl/sharedStrings.xml")),
    ("names A9, which holds no formula", lambda parts: _chain(parts, "A9")),
    ("the table number '1' is there twice", lambda parts: _second_table(parts)),
]


def _swap(parts: dict[str, bytes], part: str, pattern: bytes, new: bytes) -> None:
    parts[part], times = re.subn(pattern, new, parts[part])
    assert times


def _chain(parts: dict[str, bytes], cell: str) -> None:
    parts["xl/calcChain.xml"] = (f'<calcChain xmlns="{MAIN}"><c r="A3" i="1"/><c r="{cell}"/></calcChain>').encode()
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/calcChain"
    entry = f'<Relationship Id="rId300" Type="{kind}" Target="calcChain.xml"/></Relationships>'
    parts[RELS] = parts[RELS].replace(b"</Relationships>", entry.encode())


def _second_table(parts: dict[str, bytes]) -> None:
    parts["xl/tables/table2.xml"] = parts["xl/tables/table1.xml"]
    rels = "xl/worksheets/_rels/sheet1.xml.rels"
    kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/table"
    entry = f'<Relationship Id="rId300" Type="{kind}" Target="../tables/table2.xml"/></Relationships>'
    parts[rels] = parts[rels].replace(b"</Relationships>", entry.encode())


@pytest.mark.parametrize(("said", "change"), REMOVALS, ids=[f"{i} {r[0]}" for i, r in enumerate(REMOVALS)])
def test_a_part_gone_or_too_many_is_found(good: bytes, said: str, change: Callable[[dict[str, bytes]], object]) -> None:
    def changed(parts: dict[str, bytes]) -> None:
        change(parts)

    found = audit(edited(good, changed))
    assert any(said in fault for fault in found), found


def test_an_entry_there_twice_is_found(good: bytes) -> None:
    out = io.BytesIO(good)
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr("xl/Workbook.xml", "<other/>")
    assert audit(out.getvalue()) == ["two entries are named 'xl/workbook.xml'"]


def test_a_damaged_zip_is_found(good: bytes) -> None:
    assert "cannot be read" in audit(good[: len(good) // 2])[0]
    middle = good.index(b"xl/workbook.xml") + 60
    damaged = good[:middle] + bytes([good[middle] ^ 0xFF]) + good[middle + 1 :]
    assert audit(damaged) != []
