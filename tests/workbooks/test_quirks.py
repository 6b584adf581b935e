"""More odd workbooks: quirks of spreadsheet programs, what phones and tablets write, copies on shared drives, files
that were synced halfway. Each is read to the same price, or refused in one sentence that says what to do.

Made after what such programs and drives do; no file of anybody's.
"""

from __future__ import annotations

import io
import json
import re
import warnings
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
import xlsxwriter

from estimator.core.problems import Problem
from estimator.sheets.door import open_door
from tests.sheets.build import BOOK, edited, renamed, with_part, workbook
from tests.workbooks.books import (
    FIXINGS,
    HEADS,
    PART,
    SHEETS,
    all_problems,
    book,
    cell_is,
    codes,
    in_sheet,
    job,
    parts,
    plain_prices,
    priced,
    prices,
    refused,
    said,
    table,
)

RELS = "xl/_rels/workbook.xml.rels"
SHARED = "xl/sharedStrings.xml"


def rows_of(markup: str) -> list[str]:
    return re.findall(r"<row .*?</row>", markup)


def rearranged(change: Callable[[list[str]], list[str]]) -> Callable[[bytes], bytes]:
    """A job whose rows of Fixings are written in another way."""

    def swap(markup: str) -> str:
        return re.sub(
            r"<sheetData>.*</sheetData>", f"<sheetData>{''.join(change(rows_of(markup)))}</sheetData>", markup
        )

    return lambda data: in_sheet(data, "Fixings", swap)


def turned(row: str) -> str:
    """A row with its cells written from the right."""
    cells = re.findall(r"<c .*?</c>", row)
    return row.replace("".join(cells), "".join(reversed(cells)))


def inline(data: bytes) -> bytes:
    """Every text in its cell and no list of texts, no styles, no properties, as small programs on phones write it."""
    texts = [re.sub(r"<[^>]+>", "", t) for t in re.findall(r"<si>(.*?)</si>", parts(data)[SHARED].decode())]

    def swap(content: bytes) -> bytes:
        markup = re.sub(
            r'<c r="(\w+)" t="s"><v>(\d+)</v></c>',
            lambda m: f'<c r="{m[1]}" t="inlineStr"><is><t>{texts[int(m[2])]}</t></is></c>',
            content.decode(),
        )
        return re.sub(r"<dimension[^>]*>", "", markup).encode()

    kept = {n: c for n, c in parts(data).items() if not n.startswith("docProps") and n not in (SHARED, "xl/styles.xml")}
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        for name, content in kept.items():
            if name == RELS:
                content = re.sub(rb'<Relationship Id="\w+" Type="[^"]*/(?:styles|sharedStrings)"[^>]*/>', b"", content)
            package.writestr(name, swap(content) if name in PART.values() else content)
    return made.getvalue()


def with_padding_rows(markup: str) -> str:
    """A thousand blank rows with a look, and cells that say they are of the first row's height, as sheets on the web
    give out."""
    blank = "".join(f'<row r="{r}"><c r="A{r}" s="0"/><c r="B{r}" s="0"/></row>' for r in range(9, 1001))
    return markup.replace("</sheetData>", f"{blank}</sheetData>")


def utf16(data: bytes) -> bytes:
    return edited(data, (PART["Fixings"], lambda c: c.decode().replace("UTF-8", "UTF-16").encode("utf-16")))


def streamed(data: bytes) -> bytes:
    """Written as a stream: sizes stand behind each part, and nothing is packed."""

    class Pipe(io.RawIOBase):
        def __init__(self) -> None:
            self.got = bytearray()

        def writable(self) -> bool:
            return True

        def write(self, data: bytes) -> int:  # type: ignore[override]
            self.got += data
            return len(data)

    pipe = Pipe()
    with zipfile.ZipFile(pipe, "w") as package:  # type: ignore[arg-type]
        for name, content in parts(data).items():
            package.writestr(name, content)
    assert int.from_bytes(pipe.got[6:8], "little") & 8
    return bytes(pipe.got)


def tablet(_: bytes) -> bytes:
    """What a program for tablets gives out: a list, sheets such as `Sites - Table 1`, the table's name on top."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as written:
        written.add_worksheet("Export Summary").write("A1", "This document was exported.")
        for name, rows in SHEETS.items():
            sheet = written.add_worksheet(f"{name} - Table 1")
            sheet.merge_range(0, 0, 0, len(rows[0]) - 1, "Table 1")
            for number, row in enumerate(rows, 1):
                sheet.write_row(number, 0, row)
    return made.getvalue()


def renamed_parts(data: bytes) -> bytes:
    """Parts under other names, found by what points at them."""
    moved = {BOOK: "xl/workbook2.xml", RELS: "xl/_rels/workbook2.xml.rels", PART["Fixings"]: "xl/worksheets/abc.xml"}
    return edited(
        renamed(data, moved),
        ("_rels/.rels", lambda c: c.replace(b"xl/workbook.xml", b"/xl/workbook2.xml")),
        ("[Content_Types].xml", lambda c: c.replace(b"/xl/workbook.xml", b"/xl/workbook2.xml")),
        ("xl/_rels/workbook2.xml.rels", lambda c: c.replace(b"worksheets/sheet3.xml", b"/xl/worksheets/abc.xml")),
    )


def iso_day(data: bytes) -> bytes:
    """A day written as a day, which newer variants of the format allow."""
    return cell_is(data, "Job", "B3", ' t="d"><v>2026-04-03T00:00:00.000</v>')


def padded_numbers(data: bytes) -> bytes:
    return in_sheet(data, "Fixings", lambda m: m.replace("<v>2.6</v>", "<v> 2.60000000000000009E+00 </v>"))


READ: dict[str, Callable[[bytes], bytes]] = {
    # 26 to 33: quirks of programs
    "26 rows written from below": rearranged(lambda rows: [rows[0], *reversed(rows[1:])]),
    "27 cells written from the right": rearranged(lambda rows: [rows[0], *map(turned, rows[1:])]),
    "28 a part in UTF-16": utf16,
    "29 parts under other names": renamed_parts,
    "30 a thousand blank rows with a look": lambda data: in_sheet(data, "Fixings", with_padding_rows),
    "31 a day written as a day": iso_day,
    "32 numbers with 17 digits, an exponent and spaces": padded_numbers,
    "33 one row in two pieces": rearranged(
        lambda rows: [
            rows[0],
            re.sub(r"(<c .*?</c>)(<c .*?</c>)(.*)", r"\1\2</row>", rows[1]),
            re.sub(r"<c .*?</c><c .*?</c>", "", rows[1], count=1),
            *rows[2:],
        ]
    ),
    # 34 to 36: phones and tablets
    "34 texts in their cells, no styles": inline,
    "35 written as a stream": streamed,
    "36 sheets called Table 1": tablet,
    # 37 to 39: drives
    "37 the last block filled with zeros": lambda data: data + b"\0" * 4096,
    "38 a megabyte of zeros behind": lambda data: data + b"\0" * 1_000_000,
    "39 a thumbnail and an unknown part": lambda data: with_part(
        with_part(data, "docProps/thumbnail.jpeg", b"\xff\xd8"), "customXml/item1.xml", b"<broken"
    ),
}


@pytest.mark.parametrize("quirk", READ)
def test_it_is_read_to_the_same_price(quirk: str) -> None:
    data = READ[quirk](job())
    assert data != job()
    outcome = priced(data)
    assert prices(outcome) == plain_prices()
    assert not [p.message for p in outcome.problems if p.level == "error"]


def two_contents(rows: list[str]) -> list[str]:
    return [*rows[:2], rows[1].replace("<v>2.6</v>", "<v>9.9</v>"), *rows[2:]]


def packed_anew(_: bytes) -> bytes:
    """The folder that holds the unpacked workbook, packed as a whole."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        for name, content in parts(job()).items():
            package.writestr(f"job/{name}", content)
        package.writestr("__MACOSX/job/._job", b"\0\5\x16\7")
    return made.getvalue()


def zipped(data: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        package.writestr("job.xlsx", data)
    return made.getvalue()


def pointer(_: bytes) -> bytes:
    return json.dumps({"url": "https://drive.example/open?id=abc", "doc_id": "abc", "email": "a@b.example"}).encode()


def hole(data: bytes) -> bytes:
    """A block in the middle that was never copied."""
    at = len(data) // 2
    return data[:at] + b"\0" * 1024 + data[at + 1024 :]


REFUSED: dict[str, tuple[Callable[[bytes], bytes], str, str]] = {
    "40 as long as it should be, and all zeros": (lambda data: b"\0" * len(data), "file-zeros", "copy it again"),
    "41 the end was never copied": (lambda d: d[:-1500] + b"\0" * 1500, "file-cut-short", "download it again"),
    "42 a block in the middle was never copied": (hole, "file-cut-short", "download it again"),
    "43 only a link to a sheet on a drive": (pointer, "file-pointer", "download it as .xlsx"),
    "44 only a link, as a shortcut": (
        lambda _: b"[InternetShortcut]\r\nURL=https://drive.example/abc\r\n", "file-pointer", "download it as .xlsx"
    ),
    "45 only a placeholder of a cloud": (lambda _: b"bplist00\xd4\x01", "file-pointer", "download it as .xlsx"),
    "46 what a Mac keeps beside a file": (lambda _: b"\0\5\x16\7\0\2\0\0Mac OS X", "file-beside", "without ._"),
    "47 a zip of the workbook": (zipped, "zip-around-workbook", "unpack it"),
    "48 the unpacked workbook packed as a folder": (packed_anew, "zip-around-workbook", "unpack it"),
    "49 a row twice with two contents": (rearranged(two_contents), "part-broken", "Fixings!F2 stands twice"),
    "50 a page of a sign-in instead of the file": (
        lambda _: b"<!DOCTYPE html><html><head><title>Sign in</title></head></html>", "file-html", "save it as .xlsx"
    ),
    "51 a text with a letter that XML forbids": (
        lambda data: edited(data, (SHARED, lambda c: c.replace(b"Yard", b"Ya\x0brd"))), "part-broken", "be repaired"
    ),
}  # fmt: skip


@pytest.mark.parametrize("quirk", REFUSED)
def test_it_is_refused_in_one_sentence_that_says_what_to_do(quirk: str) -> None:
    make, code, words = REFUSED[quirk]
    found = refused(make(job()))
    assert (found.code, words in found.message) == (code, True), found.message


def test_there_are_fifteen_and_more() -> None:
    numbers = [int(name[:2]) for name in (*READ, *REFUSED)]
    assert numbers == list(range(26, 52))


def test_names_of_copies_on_a_drive_do_not_matter(tmp_path: Path) -> None:
    from estimator.jobfile import targets
    from estimator.many.clash import clashes

    names = (
        "job (1).xlsx",
        "Copy of job.xlsx",
        "job (conflicted copy 2026-04-03).XLSX",
        "job - Kim's.xlsm",
        "jób.xlsx",
    )
    for name in names:
        at = targets(tmp_path / name, None, own=False)
        assert at.priced.parent == tmp_path
        assert at.priced.stem == f"{Path(name).stem}-priced"
        assert at.priced.suffix.casefold() == Path(name).suffix.casefold()
        (tmp_path / name).write_bytes(job())
    assert clashes([tmp_path / name for name in names], None) == {}


def test_a_file_that_its_cloud_does_not_give_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(job())

    def offline(self: Path) -> bytes:
        raise OSError(22, "The cloud file provider is not running")

    monkeypatch.setattr(Path, "read_bytes", offline)
    found = open_door(path)
    assert isinstance(found, Problem)
    assert found.code == "file-not-readable"
    assert "the cloud file provider is not running" in found.message


def test_a_workbook_under_another_ending_is_priced_to_the_right_one(tmp_path: Path) -> None:
    from estimator.jobfile import targets

    for name in ("job.zip", "job", "job.ods", "job.xls"):
        assert targets(tmp_path / name, None, own=False).priced.name == "job-priced.xlsx"
    # a workbook of our own sheets alone holds no macros
    assert targets(tmp_path / "job.xlsm", None, own=False, alone=True).priced.name == "job-priced.xlsx"


VALUES: Mapping[str, tuple[str, str]] = {
    "a day that is none": (' t="d"><v>yesterday</v>', "error-cell"),
    "a number too large for any program": ("><v>1e999</v>", "error-cell"),
    "a number with a comma": ("><v>2,6</v>", "error-cell"),
    "a text that is not in the list": (' t="s"><v>9999</v>', "error-cell"),
    "a yes in words": (' t="b"><v>true</v>', "bool-as-number"),
    "a yes that is none": (' t="b"><v>perhaps</v>', "error-cell"),
    "an unknown kind of cell": (' t="x"><v>much</v>', "not-a-number"),
    "a formula whose result is a text in the cell": (
        ' t="inlineStr"><f>1+1</f><is><t>two</t></is>',
        "not-a-number",
    ),
}


@pytest.mark.parametrize("kind", VALUES)
def test_a_value_that_is_none_of_its_kind_is_named(kind: str) -> None:
    markup, code = VALUES[kind]
    read = table(cell_is(job(), "Fixings", "F3", markup))
    assert [(p.code, p.place.cell) for p in read.rows[1].problems] == [(code, "F3")]
    assert read.rows[1].values["Height"] is None


def test_a_yes_that_a_program_keeps_as_a_number_with_words_for_a_look() -> None:
    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as written:
        look = written.add_format({"num_format": '"TRUE";"TRUE";"FALSE"'})
        sheet = written.add_worksheet("Fixings")
        sheet.write_row(0, 0, (*HEADS, "Tied"))
        sheet.write_row(1, 0, ("Yard", "A", "new post", 1, 1))
        sheet.write_number("F2", 1, look)
        sheet.write_number("I2", 1, look)
    (row,) = table(made.getvalue()).rows
    assert [(p.code, p.place.cell) for p in row.problems] == [("bool-as-number", "F2")]
    assert row.values["Tied"] is True


def test_an_unknown_kind_of_cell_keeps_its_text() -> None:
    assert table(cell_is(job(), "Fixings", "F3", ' t="x"><v>2.6</v>')).rows[1].values["Height"] == 2.6


def test_a_formula_that_no_reader_can_take_apart_is_no_crash() -> None:
    shared = '><f t="shared" ref="F3:F4" si="0">IF("a,Bill!A1</f><v>2.6</v>'
    follows = '><f t="shared" si="0"/><v>2.6</v>'
    data = cell_is(cell_is(job(), "Fixings", "F3", shared), "Fixings", "F4", follows)
    found = refused(data)
    assert found.code == "part-broken"
    for markup in ('><f t="shared" si="zero"/><v>1</v>', '><f t="array" ref="??">1</f><v>1</v>', "><f/><v>1</v>"):
        assert book(cell_is(job(), "Fixings", "F3", markup)).sheets[2].cells[3, 6].value == 1


def test_sheets_that_look_like_one_and_are_not_read_are_told() -> None:
    outcome = priced(workbook({**SHEETS, "Fixings (2)": FIXINGS, "Notes": [("Site", "Fixing"), ("Yard", "mine")]}))
    assert prices(outcome) == plain_prices()
    assert said(outcome.problems, "sheet-looks-like").startswith("Fixings (2): The sheet has the headings of 'Fixings'")
    assert len(said(outcome.problems, "sheet-looks-like").splitlines()) == 1
    two = priced(workbook({**{k: v for k, v in SHEETS.items() if k != "Options"}, "Options - A": SHEETS["Options"],
                           "Options - B": SHEETS["Options"]}))  # fmt: skip
    assert {"sheet-missing", "sheet-looks-like"} <= codes(two.problems)


def test_a_sheet_read_for_another_is_told() -> None:
    read = table(tablet(b""))
    assert said(read.problems, "sheet-read-as") == (
        "Fixings - Table 1: There is no sheet 'Fixings'; this one is read for it: rename it if another is meant."
    )


def test_rows_below_a_table_and_why_rows_are_ignored() -> None:
    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as written:
        sheet = written.add_worksheet("Fixings")
        sheet.add_table("A1:H4", {"columns": [{"header": head} for head in HEADS], "data": FIXINGS[1:4]})
        for number, row in enumerate(FIXINGS[4:], 4):
            sheet.write_row(number, 0, row)
        sheet.write_row("A10", ["EXAMPLE", "A", "new post"])
        sheet.write_row("A11", ["Total", None, None, 12])
        sheet.write("K12", "a remark")
    read = table(made.getvalue())
    assert said(read.problems, "rows-below-table").split("the others: ")[1].startswith("5-7. ")
    assert read.counts == (6, 3)
    assert read.reasons == {"an EXAMPLE": 1, "a total": 1, "nothing in a known column": 1}
    assert {p.level for p in all_problems(read)} == {"note"}


def test_basis_counts_rows_read_priced_and_ignored() -> None:
    from estimator.report.basis_rows import row_counts

    fixings = (*FIXINGS, ("Yard", "D", "new post", 9, 9, 2.6, 0, "measured"), ("EXAMPLE", "A", "new post"))
    options = (*SHEETS["Options"][:2], ("Park", "1", "A B X", "4 4 4 m", "yes"))
    outcome = priced(job(Fixings=fixings, Options=options))
    assert outcome.priced is not None
    found = {row[0]: row[1:] for row in row_counts(outcome.priced)}
    assert found["Sites"] == ["", 2, 1, 0]
    assert found["Fixings"] == ["an EXAMPLE: 1", 7, 3, 1]
    assert found["Options"] == ["", 2, 1, 0]


def test_a_name_in_a_zip_twice_under_two_spellings() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        assert refused(with_part(job(), "XL/Workbook.xml", b"<workbook/>")).code == "file-twin-parts"
