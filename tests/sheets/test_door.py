"""What is refused at the door, each with its own sentence, and nothing unpacked before the sizes are judged."""

from __future__ import annotations

import io
import time
import tracemalloc
import warnings
import zipfile
from pathlib import Path

import pytest

from estimator.core.problems import Problem
from estimator.sheets import door
from estimator.sheets.cells import read_book
from estimator.sheets.door import Opened, check_bytes, open_door, own_sheets
from tests.sheets.build import BOOK, SHEET, edited, renamed, replaced, with_part, workbook


def refused(found: object) -> str:
    """The code of a refusal; its sentence names the file."""
    assert isinstance(found, Problem), found
    assert found.level == "error"
    assert found.place.file
    assert found.place.file in found.message
    return found.code


def test_a_plain_workbook_passes() -> None:
    opened = check_bytes(workbook(), "job.xlsx")
    assert isinstance(opened, Opened)
    assert (opened.name, opened.strict, opened.macro) == ("job.xlsx", False, False)
    assert opened.part("XL\\Workbook.xml") == opened.parts[BOOK]


def test_paths_that_are_no_readable_file(tmp_path: Path) -> None:
    assert refused(open_door(tmp_path / "missing.xlsx")) == "file-not-found"
    assert refused(open_door(tmp_path)) == "folder-not-file"
    lock = tmp_path / "~$job.xlsx"
    lock.write_bytes(b"\x05owner" + b" " * 159)
    assert refused(open_door(lock)) == "lock-file"
    other = tmp_path / ".~lock.job.xlsx#"
    other.write_bytes(b"owner,host")
    assert refused(open_door(other)) == "lock-file"
    empty = tmp_path / "job.xlsx"
    empty.touch()
    assert refused(open_door(empty)) == "file-empty"
    plain = tmp_path / "plain.xlsx"
    plain.write_bytes(workbook())
    assert isinstance(open_door(plain), Opened)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(workbook())

    def denied(self: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", denied)
    found = open_door(path)
    assert refused(found) == "file-not-readable"
    assert isinstance(found, Problem)
    assert "permission denied" in found.message


def test_a_password(tmp_path: Path) -> None:
    from msoffcrypto.format.ooxml import OOXMLFile

    plain = workbook()
    locked = io.BytesIO()
    OOXMLFile(io.BytesIO(plain)).encrypt("secret", locked)
    assert refused(check_bytes(locked.getvalue(), "job.xlsx")) == "file-password"


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"<html><body><table></table></body></html>", "file-html"),
        (b"\xef\xbb\xbf<!DOCTYPE html>\n<html></html>", "file-html"),
        (b'<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"/>', "file-xml"),
        (b"Site,Ground\nNorth,clay\n", "file-csv"),
        ("Site;Ground\nS\u00fcd;clay\n".encode(), "file-csv"),
        ("Site\tGround\nNorth\tclay\n".encode("utf-16"), "file-csv"),
        (b"%PDF-1.7\n...", "file-other"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "file-other"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "file-other-office"),
    ],
)
def test_other_files_under_a_workbooks_name(data: bytes, code: str) -> None:
    assert refused(check_bytes(data, "job.xlsx")) == code


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        ({"mimetype": b"application/vnd.oasis.opendocument.text", "content.xml": b"<x/>"}, "file-other-office"),
        ({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "meta.xml": b"<x/>"}, "file-cut-short"),
        ({"job.xlsx": b"PK"}, "zip-around-workbook"),
        ({"[Content_Types].xml": b"<Types/>", "xl/workbook.bin": b"\0"}, "file-xlsb"),
        ({"Index/Document.iwa": b"\0"}, "file-numbers"),
        ({"[Content_Types].xml": b"<Types/>", "word/document.xml": b"<x/>"}, "file-other-office"),
        ({"photo.jpg": b"\0"}, "zip-no-workbook"),
        ({"[Content_Types].xml": b"<Types/>", "some.xml": b"<x/>"}, "zip-no-workbook"),
    ],
)
def test_zips_that_are_no_workbook(parts: dict[str, bytes], code: str) -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        for name, content in parts.items():
            package.writestr(name, content)
    assert refused(check_bytes(made.getvalue(), "job.xlsx")) == code


def test_a_file_cut_short() -> None:
    data = workbook()
    for end in (5, len(data) // 2, len(data) - 30):
        assert refused(check_bytes(data[:end], "job.xlsx")) == "file-cut-short"
    broken = bytearray(data)
    broken[200:240] = b"\0" * 40
    assert refused(check_bytes(bytes(broken), "job.xlsx")) == "file-cut-short"


def test_one_part_twice() -> None:
    for name in (SHEET, "xl/worksheets/SHEET1.xml", "xl\\worksheets\\sheet1.xml"):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of the writer, which sees what is done
            data = with_part(workbook(), name, b"<worksheet/>")
        assert refused(check_bytes(data, "job.xlsx")) == "file-twin-parts"


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("[Content_Types].xml", "<Types/>")
        with package.open(SHEET, "w", force_zip64=True) as part:
            for _ in range(600):
                part.write(b" " * 1_000_000)
    data = made.getvalue()
    tracemalloc.start()
    start = time.process_time()
    found = check_bytes(data, "job.xlsx")
    took = time.process_time() - start
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert refused(found) == "file-packed-too-tight"
    assert took < 0.5
    assert peak < 20_000_000


def test_too_large_and_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door, "MOST_BYTES", 1000)
    assert refused(check_bytes(workbook(), "job.xlsx")) == "file-too-big"
    monkeypatch.undo()
    monkeypatch.setattr(door, "MOST_PARTS", 3)
    assert refused(check_bytes(workbook(), "job.xlsx")) == "file-too-many-parts"


def marked(data: bytes, index: int, logical: str) -> bytes:
    """The workbook with one of its sheets marked as ours."""
    name = f'<definedName name="_estimator_sheet" localSheetId="{index}" hidden="1">"{logical}"</definedName>'
    return replaced(data, BOOK, "</sheets>", f"</sheets><definedNames>{name}</definedNames>")


def test_own_sheets_are_known_by_their_mark_and_do_not_count(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = [["x" * 50, i] for i in range(3000)]
    data = marked(workbook({"Sites": [["Site", "Ground"]], "My bill": rows}), 1, "Bill")
    opened = check_bytes(data, "job.xlsx")
    assert isinstance(opened, Opened)
    assert own_sheets(opened) == {"My bill": "Bill"}
    size = sum(len(part) for part in opened.parts.values())
    monkeypatch.setattr(door, "MOST_BYTES", size - 50_000)
    opened = check_bytes(data, "job.xlsx")
    assert isinstance(opened, Opened)
    assert opened.left_out == {"xl/worksheets/sheet2.xml"}
    book = read_book(opened)
    assert not isinstance(book, Problem)
    assert [s.name for s in book.sheets] == ["Sites"]
    assert (book.names, book.own) == (("Sites", "My bill"), {"My bill": "Bill"})


@pytest.mark.parametrize("part", ["xl/sharedStrings.xml", SHEET, BOOK, "docProps/app.xml"])
@pytest.mark.parametrize("code", ["utf-8", "utf-16"])
def test_entities_are_refused_and_no_file_is_read(part: str, code: str) -> None:
    outside = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>'
    text = f'<?xml version="1.0" encoding="{code}"?>{outside}<sst>&a;</sst>'
    data = edited(workbook(), (part, lambda _: text.encode(code)))
    assert refused(check_bytes(data, "job.xlsx")) == "file-doctype"


def test_macros_and_the_strict_form_are_noticed() -> None:
    assert check_bytes(workbook(), "job.xlsm").macro  # type: ignore[union-attr]
    assert check_bytes(with_part(workbook(), "xl/vbaProject.bin", b"\0"), "a.xlsx").macro  # type: ignore[union-attr]
    strict = replaced(
        workbook(),
        BOOK,
        "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
        "http://purl.oclc.org/ooxml/spreadsheetml/main",
    )
    assert check_bytes(strict, "job.xlsx").strict  # type: ignore[union-attr]


def test_a_list_of_sheets_that_is_no_xml() -> None:
    data = edited(workbook(), (BOOK, lambda content: content[:-40]))
    assert refused(check_bytes(data, "job.xlsx")) == "part-broken"
    opened = check_bytes(edited(workbook(), (SHEET, lambda content: content[:-40])), "job.xlsx")
    assert isinstance(opened, Opened)
    assert refused(read_book(opened)) == "part-broken"


def test_backslashes_and_case_of_part_names_do_not_matter() -> None:
    data = renamed(workbook(), {SHEET: "xl\\worksheets\\Sheet1.xml", "xl/sharedStrings.xml": "xl/SharedStrings.xml"})
    opened = check_bytes(data, "job.xlsx")
    assert isinstance(opened, Opened)
    book = read_book(opened)
    assert not isinstance(book, Problem)
    assert book.sheets[0].cells[2, 1].value == "North"
