"""Twenty-five odd workbooks that people have sent to programs like this one, numbered; each reads, or is refused in one
sentence that says what to do.

What belongs to writing alone is kept beside the writer; the list at the end names those tests, so that none gets lost.
"""

from __future__ import annotations

import io
import re
import time
import tracemalloc
import warnings
import zipfile
from collections.abc import Callable
from datetime import date
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.sheets import door
from estimator.sheets.door import check_bytes, open_door
from tests.build import DAY
from tests.sheets.build import BOOK, edited, renamed, replaced, with_part, workbook
from tests.workbooks.books import (
    FIXINGS,
    HEADS,
    PART,
    SHEETS,
    SITES,
    all_problems,
    book,
    cell_is,
    codes,
    in_sheet,
    job,
    opened,
    parts,
    plain_prices,
    priced,
    prices,
    refused,
    said,
    table,
)
from tests.workbooks.odf import ods

MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = b"http://schemas.openxmlformats.org/officeDocument/2006/"


def strict(data: bytes) -> bytes:
    """The workbook in the strict variant of its format."""

    def swap(content: bytes) -> bytes:
        content = content.replace(MAIN, b"http://purl.oclc.org/ooxml/spreadsheetml/main")
        return content.replace(OFFICE, b"http://purl.oclc.org/ooxml/officeDocument/")

    return edited(data, *((name, swap) for name in parts(data) if name.endswith((".xml", ".rels"))))


def priced_file(path: Path) -> tuple[int, list[Problem], list[str]]:
    """Exit status, problems and names of the files written when a job is priced without drawings and copies."""
    done = price_file(path, today=DAY, quote=False, crew=False, drawings=False)
    return done.status, list(done.problems), [p.name for p in done.written]


def test_row_02_a_password() -> None:
    from msoffcrypto.format.ooxml import OOXMLFile

    locked = io.BytesIO()
    OOXMLFile(io.BytesIO(job())).encrypt("secret", locked)
    found = refused(locked.getvalue())
    assert found.code == "file-password"
    assert "save a copy without" in found.message


def test_row_03_other_kinds_under_a_workbooks_name() -> None:
    sentences = {
        "file-html": refused(b"<html><body><table><tr><td>Site</td></tr></table></body></html>"),
        "file-csv": refused(b"Site,Ground\nYard,firm\n"),
        "file-xml": refused(b'<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"/>'),
    }
    assert {code: p.code for code, p in sentences.items()} == {code: code for code in sentences}
    assert len({p.message for p in sentences.values()}) == 3
    # .ods is read for what it is, whatever it is called; .xls: test_xls
    assert prices(priced(ods(SHEETS), "job.xlsx")) == plain_prices()


def test_row_04_cut_short_empty_and_lock_file(tmp_path: Path) -> None:
    data = job()
    lock = tmp_path / "~$job.xlsx"
    lock.write_bytes(b"\x06Sam   " + b"\0" * 158)
    locked = open_door(lock)
    assert isinstance(locked, Problem)
    found = [refused(data[: len(data) // 2]), refused(b""), locked]
    assert [p.code for p in found] == ["file-cut-short", "file-empty", "lock-file"]
    assert len({p.message.partition(": ")[2] for p in found}) == 3


def test_row_05_the_strict_variant_is_priced_to_a_workbook_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(strict(job()))
    status, problems, written = priced_file(path)
    assert (status, written) == (0, ["job-priced.xlsx"])
    assert "save it as an ordinary .xlsx" in said(problems, "written-alone")
    made = openpyxl.load_workbook(tmp_path / "job-priced.xlsx")
    assert "Sites" not in made.sheetnames
    # nothing is there that a link to the user's cells could lead to
    links = [h.location for sheet in made for row in sheet for c in row if (h := c.hyperlink) and h.location]
    assert {str(x).partition("!")[0].strip("'") for x in links} <= set(made.sheetnames)
    assert prices(priced(strict(job()))) == plain_prices()


def test_row_06_a_zip_bomb() -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in parts(job()).items():
            if name != PART["Fixings"]:
                package.writestr(name, content)
        with package.open(PART["Fixings"], "w") as part:
            for _ in range(100):
                part.write(b" " * 1_000_000)
    data = made.getvalue()
    tracemalloc.start()
    start = time.process_time()
    found = refused(data)
    took, peak = time.process_time() - start, tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found.code == "file-packed-too-tight"
    assert took < 0.3
    assert peak < 20_000_000


@pytest.mark.parametrize("part", ["xl/sharedStrings.xml", PART["Sites"]])
@pytest.mark.parametrize("inner", ['SYSTEM "file:///etc/hostname"', '"lol"'])
def test_row_07_entities_inside_and_outside(part: str, inner: str) -> None:
    head = f"<!DOCTYPE x [<!ENTITY a {inner}><!ENTITY b '&a;&a;&a;&a;'>]>".encode()
    data = edited(job(), (part, lambda content: content.replace(b"?>", b"?>" + head, 1)))
    assert refused(data).code == "file-doctype"


def test_row_08_a_styled_cell_at_the_far_corner() -> None:
    far = '<row r="1048576"><c r="XFD1048576" s="0"/></row></sheetData>'
    data = in_sheet(job(), "Sites", lambda text: text.replace("</sheetData>", far))
    data = in_sheet(
        data, "Sites", lambda text: re.sub(r'<dimension ref="[^"]*"', '<dimension ref="A1:XFD1048576"', text)
    )
    start = time.process_time()
    assert table(data, "Sites").counts == (2, 0)
    assert time.process_time() - start < 1


def test_row_09_a_million_blank_styled_rows() -> None:
    rows = "".join(f'<row r="{r}" s="1"><c r="A{r}" s="0"/></row>' for r in range(4, 250_000))  # more: test_cells
    data = in_sheet(job(), "Sites", lambda text: text.replace("</sheetData>", rows + "</sheetData>"))
    start = time.process_time()
    assert table(data, "Sites").counts == (2, 0)
    assert time.process_time() - start < 3


def test_row_10_a_wrong_dimension_and_cells_without_references() -> None:
    wrong = in_sheet(job(), "Fixings", lambda text: re.sub(r'<dimension ref="[^"]*"', '<dimension ref="A1"', text))
    bare = in_sheet(job(), "Fixings", lambda text: re.sub(r'(<c|<row) r="\w+"', r"\1", text))
    for data in (wrong, bare):
        assert table(data).counts == (6, 0)
        assert prices(priced(data)) == plain_prices()


def test_row_11_title_rows_and_headings_over_two_merged_rows() -> None:
    def fill(made: xlsxwriter.Workbook) -> None:
        sheet = made.add_worksheet("Fixings")
        sheet.merge_range("A1:H1", "Two yards, back gardens")
        for column, head in enumerate(HEADS[:3]):
            sheet.merge_range(2, column, 3, column, head)
        sheet.merge_range("D3:F3", "Place")
        sheet.write_row("D4", HEADS[3:])
        sheet.merge_range("A5:A7", "Yard")
        sheet.merge_range("A8:A10", "Park")
        for number, row in enumerate(FIXINGS[1:], 4):
            sheet.write_row(number, 1, row[1:])

    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as written:
        fill(written)
    read = table(made.getvalue())
    assert [row.values["Site"] for row in read.rows] == ["Yard"] * 3 + ["Park"] * 3
    assert "A5:A7, A8:A10" in said(read.problems, "merged-filled")
    assert {p.level for p in all_problems(read)} == {"note"}


def test_row_12_headings_twice_and_dirty() -> None:
    heads = ("Site", "Height", "Height (mm)", " height\u00a0", "Fixing\nname", "Fixing", "Held by")
    read = table(workbook({"Fixings": [heads, ("Yard", 2.6, 2600, 2.6, "a", "A", "new post")]}))
    assert "columns B, C and D both mean 'Height'" in said(read.problems, "heading-twice")
    assert "'Fixing name' (E)" in said(read.problems, "headings-unknown")
    assert read.rows[0].values["Height"] is None


def test_row_13_one_name_twice_in_different_clothes() -> None:
    sites = (SITES[0], *((name, "firm", "easy", 10) for name in ("S1", "s1 ", 1, "1", 1.0)))
    outcome = priced(job(Sites=sites))
    clashes = said(outcome.problems, "duplicate-key").splitlines()
    assert len(clashes) == 2
    assert "Sites!A2, Sites!A3" in clashes[0]
    assert "Sites!A4, Sites!A5, Sites!A6" in clashes[1]


NUMBERS: list[tuple[object, float | str]] = [
    ("2,9", 2.9),
    ("1 200 mm", 1.2),
    ("1\u00a0200 mm", 1.2),
    ("1\u2009200,5 mm", 1.2005),
    ("2.9m", 2.9),
    ("½ m", 0.5),
    ("2 ½ m", 2.5),
    ("2½ m", 2.5),
    ("5' 6\"", 1.6764),
    ("２．９", 2.9),
    ("\u22123", -3.0),
    ("  7\u00a0", 7.0),
    ("3\n", 3.0),
    ("1,200", 1.2),  # the other meaning lies outside the bounds, and a note says so
    ("٣", "not-a-number"),
    ("3e2", "not-a-number"),
    ("10%", "unit-wrong-kind"),
    ("TBC", "not-a-number"),
    ("-", "not-a-number"),
    ("~3", "not-a-number"),
    ("3-4", "ask-range"),
    ("3/4", "ask-range"),
    ("nan", "not-a-number"),
    ("inf", "not-a-number"),
    ("1_000", "not-a-number"),
    ("0x10", "not-a-number"),
    ("9**9**9", "not-a-number"),
]


def test_row_14_numbers_typed_as_text() -> None:
    rows = [("Yard", f"F{n}", "new post", typed) for n, (typed, _) in enumerate(NUMBERS)]
    read = table(workbook({"Fixings": [HEADS[:4], *rows]}))
    for row, (typed, wanted) in zip(read.rows, NUMBERS, strict=True):
        errors = [p.code for p in row.problems if p.level == "error"]
        if isinstance(wanted, str):
            assert row.values["Across"] is None, typed
            assert errors, typed
            assert wanted in errors or wanted == "unit-wrong-kind", (typed, errors)
        else:
            assert errors == [], typed
            assert row.values["Across"] == pytest.approx(wanted), typed
    asked = table(workbook({"Fixings": [("Site", "Fixing", "Held by", "To edge (mm)"), ("Yard", "A", "x", "1,200")]}))
    assert codes(asked.rows[0].problems) == {"ask-number"}


def test_row_15_dates_times_per_cents_and_yes_as_numbers() -> None:
    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as written:
        sheet = written.add_worksheet("Fixings")
        sheet.write_row(0, 0, HEADS[:7])
        sheet.write_row(1, 0, ("Yard", "A", "new post"))
        sheet.write_number("D2", 46115, written.add_format({"num_format": "d-mmm"}))
        sheet.write_number("E2", 0.5, written.add_format({"num_format": "h:mm"}))
        sheet.write_number("F2", 0.1, written.add_format({"num_format": "0%"}))
        sheet.write_boolean("G2", True)
    read = table(made.getvalue())
    (row,) = read.rows
    assert [p.code for p in row.problems] == ["date-as-number", "time-as-number", "percent-as-number", "bool-as-number"]
    assert "3/4 or 3-4, or 4/3" in row.problems[0].message
    assert "12:00" in row.problems[1].message
    assert "10 or 0.1" in row.problems[2].message


def test_row_16_a_book_that_counts_from_1904() -> None:
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"date_1904": True}) as written:
        day = written.add_format({"num_format": "yyyy-mm-dd"})
        for name, rows in SHEETS.items():
            sheet = written.add_worksheet(name)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
        written.sheetnames["Job"].write_datetime("B3", date(2026, 4, 3), day)
        written.sheetnames["Fixings"].write_datetime("D3", date(2026, 4, 3), day)
    outcome = priced(made.getvalue())
    assert outcome.priced is not None
    assert outcome.priced.job.header.priced_on == date(2026, 4, 3)
    assert "2026-04-03" in said(outcome.problems, "date-as-number")
    assert prices(outcome) == {**plain_prices(), "Yard 1": None}


ERRORS = {
    "typed #REF!": (' t="e"><v>#REF!</v>', "#REF!"),
    "typed #N/A": (' t="e"><v>#N/A</v>', "#N/A"),
    "of a formula": (' t="e"><f>D9/0</f><v>#DIV/0!</v>', "#DIV/0! of the formula =D9/0"),
    "NaN": ("><v>NaN</v>", "NaN"),
}


@pytest.mark.parametrize("kind", ERRORS)
def test_row_17_error_cells_are_never_blank_and_never_0(kind: str) -> None:
    markup, words = ERRORS[kind]
    outcome = priced(cell_is(job(), "Fixings", "D3", markup))
    assert f"Fixings!D3: 'Across' holds the error {words}" in said(outcome.problems, "error-cell")
    assert prices(outcome) == {**plain_prices(), "Yard 1": None}


def test_row_18_formulas_that_were_never_calculated() -> None:
    outcome = priced(cell_is(job(), "Fixings", "D3", "><f>2*3</f><v></v>"))
    assert "=2*3, which was never calculated; open the workbook" in said(outcome.problems, "uncalculated")
    assert prices(outcome) == {**plain_prices(), "Yard 1": None}
    saved = io.BytesIO()
    by_library = openpyxl.load_workbook(io.BytesIO(job()))
    by_library["Fixings"]["D3"] = "=2*3"
    by_library.save(saved)
    assert "D3" in said(priced(saved.getvalue()).problems, "uncalculated")
    blank = table(cell_is(job(), "Fixings", "H3", ' t="str"><f>""</f><v></v>'))
    assert blank.rows[1].values["Known by"] is None
    assert blank.rows[1].problems == ()


def test_row_19_values_that_can_be_old() -> None:
    data = job(Rates=[("x",), (6,)])
    data = cell_is(data, "Fixings", "D3", "><f>'My bill'!A2</f><v>6</v>")
    data = cell_is(data, "Fixings", "E3", "><f>[1]Rates!A1</f><v>0</v>")
    data = edited(
        data,
        (
            BOOK,
            lambda c: (
                c.replace(b'name="Rates"', b'name="My bill"')
                .replace(b"<calcPr ", b'<calcPr calcMode="manual" ')
                .replace(
                    b"</sheets>",
                    b'</sheets><definedNames><definedName name="_estimator_sheet" localSheetId="4" hidden="1">"Bill"'
                    b"</definedName></definedNames>",
                )
            ),
        ),
    )
    read = table(data)
    assert ": D3." in said(read.problems, "fed-by-output")
    assert ": E3." in said(read.problems, "fed-by-other-book")
    assert ": D3, E3." in said(read.problems, "manual-calculation")
    assert {p.level for p in read.problems} == {"warning"}


def test_row_20_hidden_and_filtered_things_are_priced_and_listed() -> None:
    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as written:
        chart = written.add_chart({"type": "line"})
        chart.add_series({"values": "=Sites!$D$2:$D$3"})
        written.add_chartsheet("Picture").set_chart(chart)
        for name, rows in SHEETS.items():
            sheet = written.add_worksheet(name)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
        fixings = written.sheetnames["Fixings"]
        fixings.autofilter("A1:H4")
        for row in (1, 6):
            fixings.set_row(row, None, None, {"hidden": True})
        fixings.set_column("C:E", None, None, {"hidden": True})
        written.sheetnames["Options"].very_hidden()
    outcome = priced(made.getvalue())
    assert prices(outcome) == plain_prices()
    assert said(outcome.problems, "rows-filtered").split("the others: ")[1].startswith("2. ")
    assert said(outcome.problems, "rows-hidden").split("the others: ")[1].startswith("7. ")
    assert "'Held by' (C), 'Across (m)' (D), 'Out (m)' (E)" in said(outcome.problems, "columns-hidden")
    assert "Options" in said(outcome.problems, "sheet-hidden")


def test_row_21_a_sheet_of_the_users_with_our_name(tmp_path: Path) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(job(Summary=[("my own",)]))
    before = path.read_bytes()
    status, problems, written = priced_file(path)
    assert (status, written) == (2, [])
    assert any("Summary" in p.message and "rename" in p.message for p in problems if p.level == "error")
    assert path.read_bytes() == before


HOSTILE = (
    "=1+1",
    "+61 400",
    "@x",
    "=cmd|' /C calc'!A0",
    "a\u202eb",
    "\u200bz",
    "\U0001f600",
    "two_x000D_lines",
    "a\rb",
)


def test_row_22_hostile_text_is_echoed_as_text(tmp_path: Path) -> None:
    extras = (
        ("Description", "Quantity", "Unit", "Cost each", "Kind"),
        *((words, 1, "each", 5, "material") for words in (*HOSTILE, "x" * 32_767)),
    )
    path = tmp_path / "job.xlsx"
    path.write_bytes(workbook({**SHEETS, "Extras": extras}))
    status, _, written = priced_file(path)
    assert (status, written) == (0, ["job-priced.xlsx"])
    bill = openpyxl.load_workbook(tmp_path / "job-priced.xlsx")["Bill"]
    texts = [c for row in bill for c in row if isinstance(c.value, str)]
    for words in ("=1+1", "+61 400", "@x", "=cmd|' /C calc'!A0"):
        assert {c.data_type for c in texts if c.value == words} == {"s"}, words
    assert not [c.value for c in texts if c.data_type == "f" and ("calc" in c.value.lower() or "1+1" in c.value)]


def _swapped(part: str, old: str, new: str) -> Callable[[bytes], bytes]:
    return lambda data: replaced(data, part, old, new)


def _prefixed(data: bytes) -> bytes:
    def swap(content: bytes) -> bytes:
        return re.sub(rb"<(/?)(\w)", rb"<\1x:\2", content).replace(b"xmlns=", b"xmlns:x=")

    return edited(data, (PART["Fixings"], swap))


DAMAGED: dict[str, Callable[[bytes], bytes]] = {
    "a date in the properties that is none": lambda data: edited(
        data, ("docProps/core.xml", lambda c: re.sub(rb"\d{4}-\d\d-", b"13-13-13", c))
    ),
    "a drop-down of an unknown kind": _swapped(
        PART["Fixings"],
        "</sheetData>",
        '</sheetData><dataValidations count="1"><dataValidation errorStyle="loud" sqref="??"/></dataValidations>',
    ),
    "a fill of an unknown kind": _swapped("xl/styles.xml", 'patternType="gray125"', 'patternType="tartan"'),
    "backslashes in part names": lambda data: renamed(data, {n: n.replace("/", "\\") for n in PART.values()}),
    "capitals in a part name": lambda data: renamed(data, {"xl/sharedStrings.xml": "xl/SharedStrings.xml"}),
    "no styles": lambda data: edited(
        renamed(data, {"xl/styles.xml": "xl/gone.xml"}),
        ("xl/_rels/workbook.xml.rels", lambda c: re.sub(rb'<Relationship Id="\w+" Type="[^"]*/styles"[^>]*/>', b"", c)),
    ),
    "prefixes on every tag": _prefixed,
}


@pytest.mark.parametrize("damage", DAMAGED)
def test_row_23_damage_that_other_readers_tolerate(damage: str) -> None:
    damaged = DAMAGED[damage](job())
    assert damaged != job()
    read = table(damaged)
    assert (read.counts, read.problems) == ((6, 0), ())
    assert [row.values for row in read.rows] == [row.values for row in table(job()).rows]


def test_row_24_one_part_twice() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the writer, which sees what is done
        data = with_part(job(), PART["Fixings"], parts(job())[PART["Sites"]])
    found = refused(data)
    assert found.code == "file-twin-parts"
    assert PART["Fixings"] in found.message


def test_row_25_an_unhappy_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(job())
    before = path.read_bytes()

    def full(self: Path, *_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    status, problems, written = priced_file(path)
    monkeypatch.undo()
    assert (status, written) == (2, [])
    assert any(p.level == "error" and "job-priced.xlsx" in p.message for p in problems)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["job.xlsx"]
    (tmp_path / "~$job-priced.xlsx").write_bytes(b"\x03Kim" + b" " * 60)
    (tmp_path / "job-priced.xlsx").write_bytes(b"kept")
    status, problems, written = priced_file(path)
    assert (tmp_path / "job-priced.xlsx").read_bytes() == b"kept"
    assert status == 2
    assert any("close it there" in p.message for p in problems if p.level == "error")


ELSEWHERE = {
    1: ("test_everything", ("test_all_parts_but_five_are_untouched", "test_both_checks_find_nothing",
                            "test_again_gives_the_same_bytes")),
    5: ("test_odd", ("test_strict_is_refused_by_name",)),
    21: ("test_again", ("test_a_renamed_sheet_keeps_its_name_and_is_referred_to_by_it",
                        "test_a_moved_sheet_stays_where_it_was_put", "test_a_copy_becomes_the_users")),
    22: ("test_carry", ("test_hostile_text_stays_text",)),
    23: ("test_odd", ("test_no_styles_part", "test_no_shared_strings_part", "test_prefixed_parts",
                      "test_part_names_written_another_way", "test_a_damaged_file_gets_no_new_faults")),
    24: ("test_odd", ("test_an_entry_there_twice_is_refused",)),
    25: ("test_save", ("test_a_file_marked_read_only", "test_a_disk_that_refuses", "test_who_has_it_open_is_named",
                       "test_an_interrupt_leaves_nothing_behind",
                       "test_a_program_killed_in_the_middle_leaves_the_old_file")),
}  # fmt: skip


@pytest.mark.parametrize("row", ELSEWHERE)
def test_what_rows_ask_of_the_writer_is_tested_beside_it(row: int) -> None:
    module, names = ELSEWHERE[row]
    source = (Path(__file__).parents[1] / "report" / "package" / f"{module}.py").read_text(encoding="utf-8")
    assert [name for name in names if f"\ndef {name}(" not in source] == []


def test_every_row_has_a_test() -> None:
    here = {int(name[9:11]) for name in globals() if name.startswith("test_row_")}
    assert here | set(ELSEWHERE) == set(range(1, 26))


def test_the_limits_hold_for_each_kind(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(door, "MOST_BYTES", 1000)
    monkeypatch.setattr(door, "MOST_XLS", 100)
    assert refused(job()).code == refused(ods(SHEETS), "job.ods").code == "file-too-big"
    found = check_bytes(b"\xd0\xcf\x11\xe0" + "Workbook".encode("utf-16-le") * 20, "job.xls")
    assert isinstance(found, Problem)
    assert found.code == "file-too-big"


def test_a_plain_book_reads() -> None:
    assert [s.name for s in book(job()).sheets] == list(SHEETS)
    assert opened(job()).kind == "xlsx"
