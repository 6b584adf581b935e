"""What is said while the outputs are written: of the workbook they go into, of what lies there, of changes by hand."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from unittest.mock import patch

from openpyxl import Workbook, load_workbook

from estimator.core.problems import Problem
from estimator.jobfile import new_job
from estimator.many.clash import clashes
from tests.build import option
from tests.problems.model import Case, Road, check, price, pricing
from tests.problems.yards import Build, Yard, flat, job_told, write_yards
from tests.rate_books import put, with_changes
from tests.report.package.books import edited, part_of, swapped

Told = tuple[str, str, str]
Change = Callable[[dict[str, bytes]], object]

FIVE = option("A B C D", "SQ-5000")


def _job(folder: Path, size: str = "SQ-5000", **job: Any) -> Path:
    yard = Yard("Yard", (), fixings=flat(6), options=[option("A B C D", size)])
    return write_yards(folder / "job.xlsx", [yard], {"Customer": None, "Customer email": None, **job})


def _case(name: str, build: Build, *told: str | Told, road: Road = price, rates: Build | None = None) -> Case:
    """told: codes of what is said of a file, or sheet, cell and code."""
    at = frozenset(("", "", t) if isinstance(t, str) else t for t in told)
    return Case(name, build, at, road, rates)


# the workbook that the sheets go into


def _book(change: Callable[[bytes], bytes]) -> Build:
    """The job, its bytes changed."""

    def build(folder: Path) -> Path:
        path = _job(folder)
        path.write_bytes(change(path.read_bytes()))
        return path

    return build


def _strict(data: bytes) -> bytes:
    """The strict variant, behind a comment long enough to hide it from whoever looks at the beginning alone."""
    main, office = b"http://schemas.openxmlformats.org/", b"http://purl.oclc.org/ooxml/"

    def change(parts: dict[str, bytes]) -> None:
        for name in [n for n in parts if n.endswith((".xml", ".rels"))]:
            content = parts[name].replace(main + b"spreadsheetml/2006/main", office + b"spreadsheetml/main")
            parts[name] = content.replace(main + b"officeDocument/2006/", office + b"officeDocument/")
        start = parts["xl/workbook.xml"].index(b"<workbook")
        parts["xl/workbook.xml"] = b"<!--" + b"x" * 5000 + b"-->" + parts["xl/workbook.xml"][start:]

    return edited(data, change)


def _few_allowed(job: Path, rates: Path | None) -> Sequence[Problem]:
    """As if a workbook could hold one cell format; tests of the package hold the true limit."""
    with patch("estimator.report.package.trouble.MOST_FORMATS", 1):
        return price(job, rates)


def _own_name(folder: Path) -> Path:
    path = _job(folder)
    book = load_workbook(path)
    book.create_sheet("Summary")
    book.save(path)
    return path


def _signed_and_protected(data: bytes) -> bytes:
    signed = edited(data, lambda parts: parts.update({"_xmlsignatures/origin.sigs": b""}))
    lock = '<workbookProtection lockStructure="1"/>'
    return swapped(signed, "xl/workbook.xml", ("<workbookProtection/>", lock))


def _odd_format(data: bytes) -> bytes:
    """A cell of a format that is not there."""
    sheet = part_of(data, "Job")
    worse = sheet.replace(b'<c r="A1"', b'<c r="A1" s="900"', 1)
    return edited(data, lambda parts: parts.update({n: worse for n, c in parts.items() if c == sheet}))


def _damaging(job: Path, rates: Path | None) -> Sequence[Problem]:
    """As if a part of ours got lost on the way into the workbook."""
    from estimator.report.package.transplant import transplant

    def worse(*asked: Any) -> bytes:
        return edited(transplant(*asked), lambda parts: parts.pop("xl/styles.xml"))

    with patch("estimator.report.package.transplant.transplant", worse):
        return price(job, rates)


BOOKS = (
    _case("written-alone", _book(_strict), "written-alone"),
    _case("package-shared", _book(lambda data: edited(data, lambda p: p.update({"xl/revisions/a.xml": b"<a/>"}))),
          "package-shared"),
    _case("package-formats", _job, "package-formats", road=_few_allowed),
    _case("package-damaged", _book(_odd_format), "package-damaged"),
    _case("package-own-sheet", _own_name, ("Summary", "", "package-own-sheet")),
    _case("package-signed", _book(_signed_and_protected), "package-signed", "package-protected"),
    _case("written-wrong", _job, "written-wrong", road=_damaging),
)  # fmt: skip


# what cannot be saved


def _new(fault: Callable[[], Any]) -> Road:
    """What `estimator new` says while something is wrong with the disk."""

    def road(job: Path, rates: Path | None) -> Sequence[Problem]:
        with fault():
            return new_job(job, None)

    return road


def _failing(what: str, number: int) -> Callable[[], Any]:
    return lambda: patch(what, side_effect=OSError(number, os.strerror(number)))


def _nowhere(folder: Path) -> Path:
    return folder / "new.xlsx"


def _open(folder: Path) -> Path:
    (folder / ".~lock.new.xlsx#").write_bytes(b"The office,login,desk,03.04.2026 10:11,file:///profile;")
    return folder / "new.xlsx"


def _there(folder: Path) -> Path:
    (folder / "new.xlsx").write_bytes(b"")
    return folder / "new.xlsx"


def _cut(path: Path, data: bytes) -> None:
    path.write_bytes(data[:-1])


SAVE = "estimator.report.package.save._write"
DISK = (
    _case("new-over-old", _there, "new-over-old", road=_new(TemporaryDirectory)),
    _case("save-open", _open, "save-open", road=_new(TemporaryDirectory)),
    _case("save-no-folder", lambda folder: folder / "gone" / "new.xlsx", "save-no-folder",
          road=_new(TemporaryDirectory)),
    _case("save-folder-closed", _nowhere, "save-folder-closed", road=_new(_failing(SAVE, errno.EACCES))),
    _case("save-disk-full", _nowhere, "save-disk-full", road=_new(_failing(SAVE, errno.ENOSPC))),
    _case("save-failed", _nowhere, "save-failed", road=_new(_failing(SAVE, errno.EIO))),
    _case("save-refused", _nowhere, "save-refused", road=_new(_failing("os.replace", errno.EACCES))),
    _case("save-damaged", _nowhere, "save-damaged", road=_new(lambda: patch(SAVE, _cut))),
)  # fmt: skip


def _linked(folder: Path) -> Path:
    path = _job(folder)
    (folder / "job-priced.xlsx").symlink_to(path)
    return path


def _long_name(folder: Path) -> Path:
    return _job(folder).rename(folder / f"{'n' * 220}.xlsx")


def _read_only(folder: Path) -> Path:
    path = _job(folder)
    (folder / "job-priced.xlsx").write_bytes(_priced())
    (folder / "job-priced.xlsx").chmod(0o444)
    (folder / "job-crew.xlsx").mkdir()
    return path


def _both(job: Path, rates: Path | None) -> Sequence[Problem]:
    return list(clashes([job, job.with_name("job-priced.xlsx")], None).values())


def _twice(folder: Path) -> Path:
    path = _job(folder)
    (folder / "job-priced.xlsx").write_bytes(_priced())
    return path


TARGETS = (
    _case("save-over-input", _linked, "save-over-input"),
    _case("save-name-long", _long_name, "save-name-long"),
    _case("save-read-only", _read_only, "save-read-only", "save-in-the-way", road=pricing(crew=True)),
    _case("one-output", _twice, "one-output", road=_both),
)


# the customer's copy


def _four_times(job: Path, rates: Path | None) -> Sequence[Problem]:
    """The copy with a PDF and a mail; without them for another customer; with other figures; without a price."""
    found = list(pricing(quote=True, pdf=True, mail=True)(job, rates))
    for cells in ({"Customer": "Ash"}, {"size": "SQ-4000"}):
        found += pricing(quote=True)(_job(job.parent, **cells), rates)
    return [*found, *pricing(quote=True, mail=True)(_job(job.parent, "SQ-7000"), rates)]


def _no_address(folder: Path) -> Path:
    return with_changes(folder / "rates", {"business": put("item", "email", value="the office")})


QUOTES = (
    _case("customer's copies", lambda folder: _job(folder, **{"Customer": "日本", "Customer email": "nobody"}),
          "pdf-letters", "quote-beside-old", "quote-kept", "quote-not-written", "mail-not-written",
          ("business", "B5", "mail-address"), ("Options", "F2", "sail-too-large"),
          *job_told({"Customer": "", "Customer email": ""}, mail_address="Customer email"),
          road=_four_times, rates=_no_address),
)  # fmt: skip


# changes by hand


@cache
def _priced() -> bytes:
    with TemporaryDirectory() as folder:
        job = _job(Path(folder))
        price(job, None)
        return job.with_name("job-priced.xlsx").read_bytes()


def _by_hand(change: Callable[[Workbook], object]) -> Build:
    """The priced workbook, changed and saved by another program."""

    def build(folder: Path) -> Path:
        path = folder / "job-priced.xlsx"
        path.write_bytes(_priced())
        book = load_workbook(path)
        change(book)
        book.save(path)
        return path

    return build


def _typed(book: Workbook) -> None:
    """A rate and a formula of the first line, and a note beside the second."""
    book["Bill"]["F5"] = 1
    book["Bill"]["G6"] = "=F6"
    book["Bill"]["G7"] = 1000
    book["Bill"]["K6"] = "ask again"


def _many(book: Workbook) -> None:
    for row in range(5, 5 + 13):
        book["Bill"].cell(row, 6).value = 1


def _put_in(book: Workbook) -> None:
    """A row at the top, with formulas that do not follow it."""
    book["Bill"].insert_rows(6)
    book["Bill"]["B6"] = "Paving"
    book["Bill"]["G6"] = 500


def _forget(book: Workbook) -> None:
    for name in [n for n in book.defined_names if n.startswith("_estimator_wrote")]:
        del book.defined_names[name]


def _shown(folder: Path) -> Path:
    """A result that its formula does not give."""
    data = _priced()
    bill = part_of(data, "Bill")
    worse = re.sub(rb'(r="G5"[^>]*><f>[^<]*</f><v>)[^<]*', rb"\g<1>1.5", bill)
    path = folder / "job-priced.xlsx"
    path.write_bytes(edited(data, lambda parts: parts.update({n: worse for n, c in parts.items() if c == bill})))
    return path


HAND = (
    _case("typed over", _by_hand(_typed), ("Bill", "F5", "tampered-value"), ("Bill", "G6", "tampered-formula"),
          ("Bill", "G7", "tampered-total"), ("Bill", "K6", "typed-beside"), "priced-kept"),
    _case("typed over much", _by_hand(_many), ("Bill", "F5", "tampered-value"), ("Bill", "F17", "tampered-more"),
          road=check),
    _case("a row put in", _by_hand(_put_in), ("Bill", "B6", "tampered-row"), ("Summary", "L20", "tampered-shifted"),
          road=check),
    _case("a row taken out", _by_hand(lambda book: book["Bill"].delete_rows(6)), ("Bill", "A6", "tampered-gone"),
          road=check),
    _case("a result typed over", _shown, ("Bill", "G5", "tampered-result"), road=check),
    _case("own-sheets-unrecorded", _by_hand(_forget), "own-sheets-unrecorded", road=check),
)  # fmt: skip

CASES: tuple[Case, ...] = (*BOOKS, *DISK, *TARGETS, *QUOTES, *HAND)
