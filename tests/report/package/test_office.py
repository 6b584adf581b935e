"""An office program opens what we write, shows the values we wrote, and what it saves we can price again."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
import warnings
from pathlib import Path

import openpyxl
import pytest

from estimator.report.package.audit import audit
from estimator.report.package.own import kept_names
from estimator.report.package.transplant import transplant
from estimator.report.package.zipping import read_parts
from tests.report.package.books import NAMES, our_book, swapped, tabs, user_book
from tests.report.package.everything import everything

OFFICE = shutil.which("soffice")
pytestmark = [pytest.mark.office, pytest.mark.filterwarnings("ignore:.*extension is not supported")]


def converted(data: bytes, kind: str, folder: Path) -> dict[str, bytes] | None:
    """What LibreOffice makes of the book, by file name; None, with a note, where it is not on this machine."""
    if OFFICE is None:
        warnings.warn("LibreOffice is not on this machine: opening in an office program is not checked", stacklevel=2)
        return None
    source = folder / "book.xlsx"
    source.write_bytes(data)
    out = folder / "out"
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [OFFICE, profile, "--headless", "--convert-to", kind, "--outdir", str(out), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return {path.name: path.read_bytes() for path in out.iterdir()}


def poisoned(word: str = "first") -> bytes:
    """Our sheets whose cached value is not what the formula gives: shown, it was read and not calculated."""
    ours = our_book(word=word)
    return swapped(ours, "xl/worksheets/sheet1.xml", ("<v>22</v>", "<v>1022</v>"))


def test_every_sheet_opens_and_shows_the_values_written(tmp_path: Path) -> None:
    written = transplant(everything(), poisoned(), NAMES)
    assert audit(written) == []
    # every sheet to a file of its own: the option -1 of the text filter
    found = converted(
        written, "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1", tmp_path
    )
    if found is None:
        return
    rows = {name: list(csv.reader(io.StringIO(content.decode()))) for name, content in found.items()}
    summary = next(rows[name] for name in rows if "Summary" in name)
    assert [row[0] for row in summary[:4]] == ["OFFICE: costs inside, Summary first", "10", "1022", "first"]
    sites = next(rows[name] for name in rows if "Sites" in name)
    assert [row[0] for row in sites[:4]] == ["plain bold red", "with a note", "3", "shared"]


def test_a_book_saved_by_an_office_program_is_priced_again(tmp_path: Path) -> None:
    written = transplant(user_book(), our_book(pictures=False), NAMES)
    assert kept_names(written) == NAMES
    found = converted(written, "xlsx:Calc MS Excel 2007 XML", tmp_path)
    if found is None:
        return
    saved = found["book.xlsx"]
    assert kept_names(saved) == NAMES
    again = transplant(saved, our_book(word="second"), NAMES)
    assert tabs(again) == ["Job", "Sites", "Summary", "Bill"]
    assert transplant(again, our_book(word="second"), NAMES) == again
    assert [fault for fault in audit(again) if fault not in audit(saved)] == []
    book = openpyxl.load_workbook(io.BytesIO(again), data_only=True)
    assert [book["Summary"].cell(row, 1).value for row in (3, 4)] == [22, "second"]
    assert (book["Job"]["A1"].value, book["Job"]["A2"].font.b) == ("typed by the user on Job", True)
    assert b"first" not in read_parts(again)["xl/sharedStrings.xml"]
