"""Our values against those of two other readers, on every workbook that the tests make the engine open.

    python -m tests.nightly.readers tests/workbooks tests/sheets

The tests named are run with a plugin that keeps a copy of each workbook that was opened; then each copy is read three
times. What differs, and is right, has a reason here by name; nothing else may differ.
"""

from __future__ import annotations

import argparse
import io
import os
import re
import subprocess
import sys
import tempfile
import warnings
import zipfile
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
from python_calamine import CalamineWorkbook

from estimator.sheets.cells import Book, Cell, read_book
from estimator.sheets.door import Opened, check_bytes

Values = Mapping[tuple[int, int], Any]
MOST_CELLS = 2_000_000
MOST_BYTES = 5_000_000  # unpacked: what is made to be enormous is read for its size and not for its values

ERROR = "an error is an error, not blank and not 0"
NO_NUMBER = "a number that is none is an error"
UNCALCULATED = "what was never calculated is not blank"
SPACES = "a number with spaces round it is a number, as the format allows"
UNREAD = "a part in another encoding is read, not passed over"
DURATION = "a length of time is one, not its spelling"
TRUTH = "what some programs make of a typed TRUE is one, not 1"
SECONDS = "a part of a second is left out"
MARKUP = "a text is what is seen: without notes, with its tabs and line breaks"
BLANK = "a text without letters is blank"
ESCAPES = "an escape of the format is the letter that it stands for"
NO_DAY = "a day out of any calendar is an error"
NO_TRUTH = "a yes or no that is neither is an error"
EARLY = "a day before the calendar is told as one, not as midnight"
REASONS = (
    ERROR, NO_NUMBER, UNCALCULATED, SPACES, UNREAD, DURATION, TRUTH, SECONDS, MARKUP, BLANK, ESCAPES, NO_DAY, EARLY,
    NO_TRUTH,
)  # fmt: skip


def ours(data: bytes, name: str) -> dict[str, dict[tuple[int, int], Cell]]:
    """Sheet to place to cell, as we read it."""
    opened = check_bytes(data, name)
    assert isinstance(opened, Opened), opened
    book = read_book(opened)
    assert isinstance(book, Book), book
    return {s.name: dict(s.cells) for s in book.sheets}


def by_openpyxl(data: bytes, values: bool = True) -> dict[str, Values] | None:
    """Sheet to place to value, as openpyxl reads the file itself; None where it cannot."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=values)
    except Exception:  # of whatever kind: that it cannot read it is what is asked
        return None
    return {
        # its own store: walking over rows would make every blank cell up to the far corner
        sheet.title: {(c.row, c.column): c.value for c in sheet._cells.values() if c.value is not None}
        for sheet in book.worksheets
    }


def by_calamine(data: bytes) -> dict[str, Values] | None:
    """Sheet to place to value, as calamine reads the file; None where it cannot."""
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        return {name: _filled(book.get_sheet_by_name(name)) for name in book.sheet_names}
    except Exception:  # as above
        return None


def _filled(sheet: Any) -> Values:
    first, end = sheet.start, sheet.end
    if first is None or end is None:
        return {}
    if (end[0] - first[0] + 1) * (end[1] - first[1] + 1) > MOST_CELLS:
        raise OverflowError("a cell in a far corner: this reader would make every blank one up to there")
    return {
        (r, c): value
        for r, row in enumerate(sheet.to_python(skip_empty_area=True), start=first[0] + 1)
        for c, value in enumerate(row, start=first[1] + 1)
        if value != ""
    }


READERS = {"openpyxl": by_openpyxl, "calamine": by_calamine}


def same(one: Any, other: Any) -> bool:
    """Whether two values are one; a day is a day at midnight, a whole number its float to 15 digits."""
    if isinstance(one, bool) != isinstance(other, bool):
        return False
    if isinstance(one, int | float) and isinstance(other, int | float):
        return f"{one:.15g}" == f"{other:.15g}"
    if isinstance(other, date) and not isinstance(other, datetime):
        other = datetime(other.year, other.month, other.day)  # noqa: DTZ001
    return bool(one == other)


def why(cell: Cell | None, value: Any) -> str:
    """Why a difference from another reader is right; blank where it is not."""
    if cell is None:
        return BLANK if value == "" else ""
    if value is None:
        return {"error": ERROR, "uncalculated": UNCALCULATED}.get(cell.kind, UNREAD)
    if cell.kind == "error":
        if str(value) in ("nan", "NaN", "inf"):
            return NO_NUMBER
        if isinstance(value, float) and "y" in cell.number_format and not 0 <= value < 2_958_466:
            return NO_DAY
        if value is False and str(cell.value).casefold() not in ("true", "false", "1", "0"):
            return NO_TRUTH
        return ERROR if value == 0 and cell.formula else ""
    if cell.kind == "number" and isinstance(value, str):
        return SPACES if float(value) == cell.value else ""
    if cell.kind == "time" and isinstance(value, str):
        return DURATION if _spelled(value) == _length(cell.value) else ""
    if cell.kind == "bool" and isinstance(value, int | float):
        return TRUTH if cell.formula and float(value) == cell.value else ""
    if cell.kind == "date" and isinstance(value, datetime) and isinstance(cell.value, datetime):
        return SECONDS if value.replace(microsecond=0) == cell.value and value.microsecond else ""
    if cell.kind == "date" and value == time(0):
        return EARLY if isinstance(cell.value, datetime) and cell.value.year < 1904 else ""
    if cell.kind == "text" and isinstance(value, str) and isinstance(cell.value, str):
        mine = re.sub(r"\s", "", cell.value)
        if "_x" in value and re.sub(r"\s", "", re.sub(r"_x000D_", "", value)) == mine:
            return ESCAPES
        return MARKUP if mine == re.sub(r"\s", "", value) or value.endswith(f"\n{cell.value}") else ""
    return ""


def _spelled(words: str) -> timedelta | None:
    found = re.fullmatch(r"PT(\d+)H(\d+)M(\d+)S", words)
    return timedelta(hours=int(found[1]), minutes=int(found[2]), seconds=int(found[3])) if found else None


def _length(value: object) -> timedelta | None:
    if isinstance(value, time):
        return timedelta(hours=value.hour, minutes=value.minute, seconds=value.second)
    return value if isinstance(value, timedelta) else None


@dataclass
class Compared:
    """Cells that were compared, and how many differ: for a reason by name, or at a place that has none."""

    cells: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    unexplained: list[str] = field(default_factory=list)


def compared(data: bytes, name: str, theirs: Mapping[str, Values]) -> Compared:
    """Every cell of every sheet that we read, against the values of another reader."""
    found = Compared()
    for sheet, cells in ours(data, name).items():
        others = theirs[sheet]
        for place in {*cells, *others}:
            cell, value = cells.get(place), others.get(place)
            found.cells += 1
            if cell is None or value is None or not same(cell.value, value):
                reason = why(cell, value)
                if reason:
                    found.reasons[reason] += 1
                else:
                    found.unexplained.append(f"{name} {sheet} {place}: {cell} is {value!r}")
    return found


@dataclass
class Tally:
    """All workbooks together. files: by kind; skipped: by why; by_reader: what each reader could read."""

    files: Counter[str] = field(default_factory=Counter)
    skipped: Counter[str] = field(default_factory=Counter)
    read: Counter[str] = field(default_factory=Counter)
    cells: Counter[str] = field(default_factory=Counter)
    reasons: Counter[tuple[str, str]] = field(default_factory=Counter)
    unexplained: list[str] = field(default_factory=list)


def compare_all(paths: Iterable[Path]) -> Tally:
    """Read each workbook three times."""
    tally = Tally()
    for path in paths:
        data = path.read_bytes()
        if _unpacked(data) > MOST_BYTES:
            tally.skipped["enormous on purpose"] += 1
            continue
        opened = check_bytes(data, path.name)
        book = read_book(opened) if isinstance(opened, Opened) else opened
        if not isinstance(book, Book):
            tally.skipped["refused once it is read"] += 1
            continue
        tally.files[path.suffix] += 1
        for reader, read in READERS.items():
            theirs = read(data)
            if not theirs or not {s.name for s in book.sheets} <= set(theirs):
                continue
            found = compared(data, path.name, theirs)
            tally.read[reader] += 1
            tally.cells[reader] += found.cells
            tally.reasons.update({(reader, reason): n for reason, n in found.reasons.items()})
            tally.unexplained += [f"{reader}: {words}" for words in found.unexplained]
    return tally


def _unpacked(data: bytes) -> int:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return sum(part.file_size for part in package.infolist())
    except (zipfile.BadZipFile, OSError, ValueError):
        return len(data)


def kept_by(tests: Sequence[str], folder: Path) -> list[Path]:
    """Every workbook that the engine opens while some tests run."""
    # without the tests that damage a file at random: of such a file nobody can say what stands in it
    chosen = ["-k", "not damage_is", "-p", "no:cacheprovider", "-p", "no:xdist"]
    command = [sys.executable, "-m", "pytest", "-q", "-p", "tests.nightly.keep", *chosen, *tests]
    subprocess.run(command, env={**os.environ, "KEEP": str(folder)}, stdout=subprocess.DEVNULL, check=False)
    return sorted(folder.iterdir())


def main(arguments: Sequence[str] | None = None) -> int:
    """Keep, compare, and print what was found."""
    asked = argparse.ArgumentParser(prog="python -m tests.nightly.readers")
    asked.add_argument("tests", nargs="*", default=["tests/workbooks", "tests/sheets", "tests/golden"])
    given = asked.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        tally = compare_all(kept_by(given.tests, Path(folder)))
    for name, figures in (
        ("files", tally.files),
        ("left out", tally.skipped),
        ("read", tally.read),
        ("cells", tally.cells),
    ):
        print(f"{name:10}", ", ".join(f"{of} {n:,}" for of, n in sorted(figures.items())))
    for (reader, reason), n in sorted(tally.reasons.items()):
        print(f"{n:8,}  {reader}: {reason}")
    print(f"{len(tally.unexplained)} differ without a reason", *tally.unexplained[:50], sep="\n")
    return 1 if tally.unexplained else 0


if __name__ == "__main__":
    sys.exit(main())
