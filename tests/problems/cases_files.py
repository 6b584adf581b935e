"""Files that cannot be opened as a job: each is refused with one sentence."""

from __future__ import annotations

import io
import os
import struct
import warnings
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

from tests.problems.books import write
from tests.problems.model import Case
from tests.sheets.build import BOOK, SHEET, edited, with_part, workbook
from tests.workbooks import biff
from tests.workbooks.odf import cell, ods, row

Build = Callable[[Path], Path]
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
MANY = 1001  # cells that one row of an .ods says, a thousand times: more than are read in all


def _file(content: bytes | Callable[[], bytes], name: str = "job.xlsx") -> Build:
    def build(folder: Path) -> Path:
        (folder / name).write_bytes(content if isinstance(content, bytes) else content())
        return folder / name

    return build


def _zip(parts: Mapping[str, bytes], packed: int = zipfile.ZIP_STORED) -> Callable[[], bytes]:
    def make() -> bytes:
        made = io.BytesIO()
        with zipfile.ZipFile(made, "w", packed) as package:
            for name, content in parts.items():
                package.writestr(name, content)
        return made.getvalue()

    return make


def _pipe(folder: Path) -> Path:
    os.mkfifo(folder / "job.xlsx")
    return folder / "job.xlsx"


def _twice() -> bytes:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the writer, which sees what is done
        return with_part(workbook(), SHEET, b"<worksheet/>")


def _locked() -> bytes:
    return biff.xls({"Job": [["Item", "Value"]]}, extra=biff.record(0x2F, struct.pack("<HHH", 0, 1, 2)))


def _large(folder: Path) -> Path:
    """An .xls, which is not packed, with more bytes than are read; nothing but zeros behind its first."""
    path = folder / "job.xls"
    path.write_bytes(OLE + "Workbook".encode("utf-16-le"))
    os.truncate(path, 100_000_001)
    return path


def _with_doctype(content: bytes) -> bytes:
    return b'<!DOCTYPE x [<!ENTITY a "b">]>' + content.partition(b"?>")[2]


def _many_cells() -> bytes:
    return ods({"Sites": row(cell(1) * MANY, ' table:number-rows-repeated="1000"')})


def _cut_row(content: bytes) -> bytes:
    return content[: content.rindex(b"</row>")]


TYPES = {"[Content_Types].xml": b"<Types/>"}
FILES: Mapping[str, Build] = {
    "file-empty": _file(b""),
    "lock-file": _file(b"\x05owner", "~$job.xlsx"),
    "file-password": _file(_locked, "job.xls"),
    "file-zeros": _file(b"\0" * 4000),
    "file-pointer": _file(b'{"url": "https://place.example/sheet", "doc_id": "1"}'),
    "file-beside": _file(b"\x00\x05\x16\x07\x00\x02\x00\x00more", "._job.xlsx"),
    "file-html": _file(b"<html><body><table></table></body></html>", "job.xls"),
    "file-xml": _file(b'<?xml version="1.0"?><Workbook/>', "job.xls"),
    "file-csv": _file(b"Site,Ground\nNorth,clay\n"),
    "file-other": _file(b"%PDF-1.7\n..."),
    "file-cut-short": _file(lambda: workbook()[:2000]),
    "file-xlsb": _file(_zip({**TYPES, "xl/workbook.bin": b"\0"})),
    "file-numbers": _file(_zip({"Index/Document.iwa": b"\0"})),
    "file-other-office": _file(_zip({**TYPES, "word/document.xml": b"<x/>"})),
    "zip-no-workbook": _file(_zip({"photo.jpg": b"\0"})),
    "zip-around-workbook": _file(_zip({"job.xlsx": b"PK"})),
    "file-too-many-cells": _file(_many_cells, "job.ods"),
    "xls-broken": _file(lambda: biff.container(b"\0" * 5000), "job.xls"),
    "file-twin-parts": _file(_twice),
    "file-too-big": _large,
    "file-too-many-parts": _file(_zip({**TYPES, **{f"p{n}.xml": b"" for n in range(5000)}})),
    "file-packed-too-tight": _file(_zip({**TYPES, SHEET: b" " * 3_000_000}, zipfile.ZIP_DEFLATED)),
    "file-doctype": _file(lambda: edited(workbook(), (BOOK, _with_doctype))),
    "part-broken": _file(lambda: edited(workbook(), (SHEET, _cut_row))),
    # what is no file, or no job
    "file-not-found": lambda folder: folder / "job.xlsx",
    "folder-not-file": lambda folder: folder,
    "file-not-readable": _pipe,
    "not-a-job": lambda folder: write(folder / "budget.xlsx", {"Budget": [["Month", "Spent"], ["May", 12]]}),
}

CASES: tuple[Case, ...] = tuple(Case(code, build, frozenset({("", "", code)})) for code, build in FILES.items())
