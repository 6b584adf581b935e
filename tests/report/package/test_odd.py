"""Workbooks other programs write oddly, and those our sheets cannot be put into."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import openpyxl
import pytest

from estimator.report.package.audit import audit, new_faults
from estimator.report.package.markup import MAIN, STRICT
from estimator.report.package.own import kept_names
from estimator.report.package.soundness import damaged
from estimator.report.package.transplant import transplant
from estimator.report.package.trouble import MOST_FORMATS, trouble
from estimator.report.package.zipping import read_parts, zip_parts
from tests.report.package.books import NAMES, edited, our_book, part_of, swapped, tabs, user_book


def thrice(user: bytes) -> bytes:
    """Our sheets put in; a second and a third time change nothing."""
    ours = our_book()
    written = transplant(user, ours, NAMES)
    assert transplant(written, ours, NAMES) == written
    assert transplant(transplant(written, ours, NAMES), ours, NAMES) == written
    return written


def without(data: bytes, part: str, kind: str) -> bytes:
    """The book without a part, its relationship and its content type."""

    def change(parts: dict[str, bytes]) -> None:
        del parts[part]
        for name, pattern in (
            ("xl/_rels/workbook.xml.rels", rb'<Relationship [^>]*/%s"[^>]*/>' % kind.encode()),
            ("[Content_Types].xml", rb'<Override PartName="/%s"[^>]*/>' % part.encode()),
        ):
            parts[name], times = re.subn(pattern, b"", parts[name])
            assert times == 1

    return edited(data, change)


def cells(data: bytes, sheet: str) -> list[object]:
    book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    return [row[0].value for row in book[sheet].iter_rows(max_row=5)]


def test_no_styles_part() -> None:
    bare = edited(
        user_book(),
        lambda parts: parts.update({k: re.sub(rb' s="\d+"', b"", v) for k, v in parts.items() if "sheet" in k}),
    )
    bare = edited(
        bare,
        lambda parts: parts.update(
            {
                k: re.sub(rb"<conditionalFormatting.*</conditionalFormatting>", b"", v)
                for k, v in parts.items()
                if "worksheets" in k
            }
        ),
    )
    written = thrice(without(bare, "xl/styles.xml", "styles"))
    assert audit(written) == []
    book = openpyxl.load_workbook(io.BytesIO(written))
    assert (book["Job"]["A2"].font.b, book["Job"]["A2"].number_format) == (False, "General")
    assert (book["Job"]["A2"].fill.fill_type, book["Summary"]["A2"].font.b) == (None, True)


def test_no_shared_strings_part() -> None:
    numbers = edited(
        user_book(), lambda parts: parts.update({k: re.sub(rb'<c [^>]*t="s".*?</c>', b"", v) for k, v in parts.items()})
    )
    written = thrice(without(numbers, "xl/sharedStrings.xml", "sharedStrings"))
    assert audit(written) == []
    assert cells(written, "Summary")[3] == "first"
    assert part_of(written, "Job") == part_of(numbers, "Job")


def prefixed(parts: dict[str, bytes]) -> None:
    """Every spreadsheet element under the prefix `x`, as one office library writes them."""
    for name in ("xl/workbook.xml", "xl/styles.xml", "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml"):
        text = re.sub(rb"<(/?)([A-Za-z])", rb"<\1x:\2", parts[name]).replace(b"<?x:xml", b"<?xml")
        parts[name] = text.replace(b"xmlns=", b"xmlns:x=")


def test_prefixed_parts() -> None:
    user = edited(user_book(), prefixed)
    assert b"<x:workbook" in read_parts(user)["xl/workbook.xml"]
    written = thrice(user)
    assert audit(written) == []
    assert (tabs(written), kept_names(written)) == (["Job", "Sites", "Summary", "Bill"], NAMES)
    assert part_of(written, "Job") == part_of(user, "Job")
    assert cells(written, "Job")[0] == "typed by the user on Job"
    assert cells(written, "Summary")[3] == "first"


@pytest.mark.parametrize(
    "rename",
    [
        lambda name: name.replace("/", "\\"),
        lambda name: name.replace("sharedStrings", "SharedStrings").replace("styles", "Styles"),
        lambda name: name.replace("xl/worksheets", "XL/Worksheets"),
        lambda name: name.replace("workbook.xml", "Workbook.xml"),
    ],
)
def test_part_names_written_another_way(rename: object) -> None:
    assert callable(rename)
    user = user_book()
    odd = zip_parts({rename(name): content for name, content in read_parts(user).items()})
    written = thrice(odd)
    assert audit(written) == []
    assert cells_by_part(written) == cells_by_part(transplant(user, our_book(), NAMES))


def cells_by_part(data: bytes) -> dict[str, bytes]:
    return {name.lower(): content for name, content in read_parts(data).items() if "heets/" in name}


def test_a_macro_book_stays_one() -> None:
    macro = swapped(
        user_book(),
        "[Content_Types].xml",
        ("openxmlformats-officedocument.spreadsheetml.sheet.main", "ms-excel.sheet.macroEnabled.main"),
        ("</Types>", '<Default Extension="bin" ContentType="application/vnd.ms-office.vbaProject"/></Types>'),
    )
    relation = '<Relationship Id="rId70" Type="http://schemas.microsoft.com/office/2006/relationships/vbaProject"'
    macro = swapped(
        macro,
        "xl/_rels/workbook.xml.rels",
        ("</Relationships>", f'{relation} Target="vbaProject.bin"/></Relationships>'),
    )
    macro = edited(macro, lambda parts: parts.update({"xl/vbaProject.bin": bytes(range(200))}))
    written = thrice(macro)
    assert b"macroEnabled.main" in read_parts(written)["[Content_Types].xml"]
    assert read_parts(written)["xl/vbaProject.bin"] == bytes(range(200))
    assert audit(written) == []


def test_dates_in_a_book_that_counts_from_1904() -> None:
    written = thrice(user_book(options={"date_1904": True}))
    plain = thrice(user_book())
    assert cells(written, "Summary")[4] == cells(plain, "Summary")[4]
    assert str(cells(plain, "Summary")[4]).startswith("2025-12-09")  # day 46000 counted from 1900


def test_a_damaged_file_gets_no_new_faults() -> None:
    relation = '<Relationship Id="rId7" Type="http://example.com/x" Target="docProps/gone.xml"/></Relationships>'
    user = swapped(user_book(), "_rels/.rels", ("</Relationships>", relation))
    assert len(audit(user)) == 1
    written = thrice(user)
    assert new_faults(user, written) == []
    worse = swapped(written, "xl/workbook.xml", ('localSheetId="2"', 'localSheetId="9"'))
    assert "belongs to no sheet" in new_faults(user, worse)[0]


def test_an_entry_there_twice_is_refused() -> None:
    import warnings
    import zipfile

    out = io.BytesIO(user_book())
    with warnings.catch_warnings(), zipfile.ZipFile(out, "a") as archive:
        warnings.simplefilter("ignore")
        archive.writestr("xl/workbook.xml", "<other/>")
    with pytest.raises(ValueError, match="twice"):
        transplant(out.getvalue(), our_book(), NAMES)


def codes(data: bytes) -> list[str]:
    return [p.code for p in trouble(data, list(NAMES))]


def test_a_sheet_of_the_user_with_our_name() -> None:
    user = user_book(("Job", "summary ", "Posts"))
    found = trouble(user, ["Summary", "Bill"])
    assert [(p.code, p.level, p.place.sheet) for p in found] == [("package-own-sheet", "error", "summary ")]
    assert "rename" in found[0].message
    with pytest.raises(ValueError, match="rename"):
        transplant(user, our_book(), NAMES)


def test_our_renamed_sheet_in_the_way_of_another_of_ours() -> None:
    written = transplant(user_book(), our_book(), NAMES)
    renamed = swapped(written, "xl/workbook.xml", ('sheet name="Bill"', 'sheet name="Posts"'))
    assert [p.place.sheet for p in trouble(renamed, ["Summary", "Bill", "Posts"])] == ["Posts"]
    assert trouble(renamed, ["Summary", "Posts"]) == []  # the bill goes, its name is free


def test_the_users_own_sheet_beside_our_renamed_one() -> None:
    written = transplant(user_book(), our_book(), NAMES)
    renamed = swapped(written, "xl/workbook.xml", ('"Summary"', '"Costs"'))
    own = swapped(renamed, "xl/workbook.xml", ('name="Sites"', 'name="Summary"'))
    marks = swapped(own, "xl/workbook.xml", ('>"Costs"<', '>"Summary"<'))
    assert kept_names(marks)["Summary"] == "Costs"
    assert trouble(marks, ["Summary", "Bill"]) == []


def test_strict_is_refused_by_name() -> None:
    strict = edited(
        user_book(),
        lambda parts: parts.update({k: v.replace(MAIN.encode(), STRICT.encode()) for k, v in parts.items()}),
    )
    assert kept_names(strict) == {}
    with pytest.raises(ValueError, match="strict"):
        transplant(strict, our_book(), NAMES)


def test_a_shared_book_is_refused() -> None:
    shared = edited(user_book(), lambda parts: parts.update({"xl/revisions/revisionHeaders.xml": b"<headers/>"}))
    assert codes(shared) == ["package-shared"]


def test_too_many_formats_are_refused() -> None:
    some = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    most = swapped(user_book(), "xl/styles.xml", ("</cellXfs>", some * (MOST_FORMATS - 2) + "</cellXfs>"))
    assert codes(most) == []
    assert codes(swapped(most, "xl/styles.xml", ("</cellXfs>", some + "</cellXfs>"))) == ["package-formats"]


def test_a_signed_book_is_warned_of_and_written() -> None:
    signed = edited(user_book(), lambda parts: parts.update({"_xmlsignatures/origin.sigs": b""}))
    assert [(p.code, p.level) for p in trouble(signed, list(NAMES))] == [("package-signed", "warning")]
    assert tabs(transplant(signed, our_book(), NAMES))[-1] == "Bill"


def test_a_protected_structure_is_warned_of_and_kept() -> None:
    lock = '<workbookProtection lockStructure="1"/>'
    protected = swapped(user_book(), "xl/workbook.xml", ("<bookViews>", f"{lock}<bookViews>"))
    assert [(p.code, p.level) for p in trouble(protected, list(NAMES))] == [("package-protected", "warning")]
    written = thrice(protected)
    assert lock.encode() in read_parts(written)["xl/workbook.xml"]
    assert audit(written) == []


def _in(part: str, old: bytes, new: bytes) -> Callable[[dict[str, bytes]], None]:
    def change(parts: dict[str, bytes]) -> None:
        assert old in parts[part], parts[part]
        parts[part] = parts[part].replace(old, new, 1)

    return change


def _swap(one: str, other: str) -> Callable[[dict[str, bytes]], None]:
    def change(parts: dict[str, bytes]) -> None:
        parts[one], parts[other] = parts[other], parts[one]

    return change


DAMAGED = {
    "a text that is not there": _in("xl/worksheets/sheet1.xml", b't="s"><v>0<', b't="s"><v>9<'),
    "a format that is not there": _in("xl/worksheets/sheet1.xml", b' s="1"', b' s="77"'),
    "no list of texts": _in("xl/_rels/workbook.xml.rels", b"/sharedStrings", b"/somethingElse"),
    "two sheets of one part": _in("xl/_rels/workbook.xml.rels", b"worksheets/sheet2.xml", b"worksheets/sheet1.xml"),
    "a sheet that is the styles": _in("xl/_rels/workbook.xml.rels", b"worksheets/sheet2.xml", b"styles.xml"),
    "a sheet without a part": _in("xl/_rels/workbook.xml.rels", b"worksheets/sheet2.xml", b"worksheets/none.xml"),
    "a sheet without a relation": _in("xl/workbook.xml", b'r:id="rId2"', b'r:id="rId99"'),
    "one element twice": _in("xl/workbook.xml", b"</bookViews>", b"</bookViews><bookViews/>"),
    "types that are something else": _swap("[Content_Types].xml", "xl/worksheets/sheet1.xml"),
    "no workbook named": _in("_rels/.rels", b"xl/workbook.xml", b"xl/other.xml"),
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_book_is_refused_before_ours_would_give_its_cells_a_meaning(name: str) -> None:
    assert damaged(user_book()) is None
    found = trouble(edited(user_book(), DAMAGED[name]), ["Summary"], "job.xlsx")
    assert [p.code for p in found] == ["package-damaged"]
    assert found[0].message.startswith("job.xlsx: ")


def test_a_sheet_of_the_job_that_bears_our_mark_is_not_written_over() -> None:
    written = transplant(user_book(), our_book(), NAMES)
    renamed = edited(written, _in("xl/workbook.xml", b'name="Bill"', b'name="Extras"'))
    assert [(p.code, p.place.sheet) for p in trouble(renamed, list(NAMES))] == [("sheet-marked", "Extras")]


def test_no_trouble_with_a_plain_book() -> None:
    assert codes(user_book()) == []
