"""Fuzzing led by coverage: inputs that reach new code are kept and changed further. Not needed by any test.

    pip install atheris
    python -m tests.hardening.guided cells|xlsx|ods|xls|csv [--seconds 120] [--corpus FOLDER]

Nothing may escape but a value or a problem; a sentence is never empty; what is read twice is the same.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
import zipfile
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

XLSX_PARTS = ("xl/worksheets/sheet3.xml", "xl/sharedStrings.xml", "xl/workbook.xml", "xl/styles.xml")
LONGEST = 20_000


def cells(data: bytes) -> None:
    """A column chosen by the first bytes, its heading's unit, and the rest as the text of a cell."""
    from estimator.core.problems import Place
    from estimator.sheets.cells import Cell
    from estimator.sheets.columns import TABLES
    from estimator.sheets.context import Context
    from estimator.sheets.grammar import read_value
    from estimator.sheets.size import read_size

    columns = [c for t in TABLES for c in t.columns]
    head, text = data[:3].ljust(3, b"\0"), data[3:].decode("utf-8", "replace")
    column = columns[head[0] % len(columns)]
    unit = ("", "m", "mm", "ft", "in", "km", "%")[head[1] % 7]
    context = Context(("metric", "feet and inches")[head[2] % 2], ("", "point", "comma")[head[2] // 2 % 3])
    cell = Cell(text, "text")
    value, problems = read_value(cell, column, unit, context, Place("job.xlsx", "S", "A1"))
    assert (value, problems) == read_value(cell, column, unit, context, Place("job.xlsx", "S", "A1"))
    assert all(p.message.strip() for p in problems)
    errors = [p for p in problems if p.level == "error"]
    if errors:
        assert value is None, (text, value)
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        assert float("-inf") < float(value) < float("inf"), text
        assert column.low is None or float(value) >= column.low - 1e-9, (text, value)
        assert column.high is None or float(value) <= column.high + 1e-9, (text, value)
    size, problems = read_size(text, context, Place())
    assert (size is None) == any(p.level == "error" for p in problems), text


def _opened(data: bytes, name: str) -> None:
    """Through the door, reading and, where it is a job, pricing to the end of its tables."""
    from estimator.core.problems import Problem
    from estimator.job.header import read_header
    from estimator.sheets.cells import read_book
    from estimator.sheets.columns import TABLES
    from estimator.sheets.door import check_bytes
    from estimator.sheets.reader import read_table
    from tests.build import DAY

    opened = check_bytes(data, name)
    book = opened if isinstance(opened, Problem) else read_book(opened)
    if isinstance(book, Problem):
        assert book.level == "error"
        assert book.message.startswith(name), book.message
        return
    header, context, problems = read_header(book, name, DAY)
    for table in TABLES:
        if not table.items:
            found = read_table(book, table, context)
            problems += [*found.problems, *(p for row in found.rows for p in row.problems)]
    assert header.priced_on
    assert all(p.message.strip() for p in problems)


def xlsx(data: bytes) -> None:
    """One part of a small workbook in the place of its own."""
    if not data:
        return
    part = XLSX_PARTS[data[0] % len(XLSX_PARTS)]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        for name, content in _parts().items():
            package.writestr(name, data[1:] if name == part else content)
    _opened(made.getvalue(), "job.xlsx")


def ods(data: bytes) -> None:
    """The content of an .ods."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        package.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        package.writestr("content.xml", data)
    _opened(made.getvalue(), "job.ods")


def xls_file(data: bytes) -> None:
    """The bytes of an .xls."""
    _opened(data, "job.xls")


def csv_file(data: bytes) -> None:
    """A table of the rate book, chosen by the first byte."""
    from estimator.rates.columns import RATE_TABLES
    from estimator.rates.files import read_csv
    from estimator.rates.rows import read_rows

    if not data:
        return
    table = RATE_TABLES[data[0] % len(RATE_TABLES)]
    found, problems = read_csv(data[1:], f"{table.sheet}.csv")
    if found is not None:
        rows, more = read_rows(found, table)
        problems = [*problems, *more]
        assert all(row.table == table.sheet for row in rows)
    else:
        assert problems
    assert all(p.message.strip() for p in problems)


_PARTS: dict[str, bytes] = {}


def _parts() -> dict[str, bytes]:
    from tests.hardening.fuzz_bases import SMALL, written

    if not _PARTS:
        with zipfile.ZipFile(io.BytesIO(written(SMALL))) as package:
            _PARTS.update({name: package.read(name) for name in package.namelist()})
    return _PARTS


def seeds(target: str) -> list[bytes]:
    """Inputs to begin with, made by code."""
    from tests.hardening.fuzz_bases import SMALL, TWO, open_document, plain_sheets, rates
    from tests.hardening.mutate_typed import NOT_NUMBERS
    from tests.workbooks.biff import xls

    if target == "cells":
        words = [
            *NOT_NUMBERS,
            "2.9 m",
            "A B C D",
            "3.6 x 5.4 m",
            "5 5 5 5 / 7.1 m",
            "2026-04-03",
            "yes",
            "30 %",
            "120 km/h",
        ]
        return [bytes([n % 97, n % 7, n % 6]) + w.encode() for n, w in enumerate(words)]
    if target == "xlsx":
        return [bytes([n]) + _parts()[part] for n, part in enumerate(XLSX_PARTS)]
    if target == "ods":
        with zipfile.ZipFile(io.BytesIO(open_document().data)) as package:
            return [package.read("content.xml")]
    if target == "xls":
        return [xls(plain_sheets(SMALL)), xls(plain_sheets(TWO))]
    from estimator.rates.columns import RATE_TABLES

    return [
        bytes([n]) + rates()[f"{t.sheet}.csv"][:3000] for n, t in enumerate(RATE_TABLES) if f"{t.sheet}.csv" in rates()
    ]


TARGETS: dict[str, Callable[[bytes], None]] = {
    "cells": cells, "xlsx": xlsx, "ods": ods, "xls": xls_file, "csv": csv_file,
}  # fmt: skip


def main(words: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description="fuzzing led by coverage")
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--seconds", type=int, default=120)
    parser.add_argument("--corpus", type=Path, help="a folder that is added to, none: a fresh one")
    given = parser.parse_args(words)
    try:
        import atheris
    except ImportError:
        sys.exit("atheris is not installed: pip install atheris (it is needed for this alone)")
    # what is imported here is watched, so nothing of the program may be imported before
    with atheris.instrument_imports(include=["estimator.sheets", "estimator.job", "estimator.rates", "xlrd"]):
        started = seeds(given.target)
        import xlrd  # noqa: F401
    folder = given.corpus or Path(tempfile.mkdtemp(prefix="estimator-corpus-"))
    folder.mkdir(parents=True, exist_ok=True)
    for number, data in enumerate(started):
        (folder / f"seed-{number}").write_bytes(data)
    TARGETS[given.target](started[0])  # what it imports itself, before the clock runs
    options: list[Any] = [
        sys.argv[0], str(folder), f"-max_total_time={given.seconds}", f"-max_len={LONGEST}", "-timeout=10",
        "-rss_limit_mb=2000", f"-artifact_prefix={folder}/found-",
    ]  # fmt: skip
    atheris.Setup(options, TARGETS[given.target])
    atheris.Fuzz()


if __name__ == "__main__":
    main()
