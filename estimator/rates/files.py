"""The tables of a rate book as sheets: from a folder of CSV files or from a workbook.

A CSV file may be UTF-8, UTF-16 or Windows Western, and separated by commas, semicolons or tabs.
"""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.rates.columns import MAY_LACK, RATE_TABLES
from estimator.sheets.cells import Sheet, open_book, sheet_from_rows
from estimator.sheets.door import whole
from estimator.sheets.headings import heading_words

MOST_BYTES = 20_000_000
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")  # of a text that a spreadsheet program takes for a formula
_HEADINGS = {heading_words(name) for t in RATE_TABLES for c in t.columns for name in (c.name, *c.also)}
_DECIMAL_COMMA = re.compile(r"-?\d+,\d+( ?[^\d\s,]\S*)?")


@dataclass(frozen=True, slots=True)
class Found:
    """One table as found. file: where it stands; mark: how its typed numbers are meant (point, comma; blank: ask);
    manual: of a workbook that does not calculate by itself."""

    file: str
    sheet: Sheet
    mark: str
    manual: bool = False


def find_tables(path: Path) -> tuple[dict[str, Found], list[Problem]]:
    """The known tables by their name, and what is wrong with the files; unknown ones are named in a note."""
    if os.path.isdir(path):  # False too for what no file can be named
        found, problems = _folder(path)
    else:
        found, problems = _workbook(path)
    if any(p.level == "error" for p in problems) and not found:
        return {}, problems
    known = {heading_words(t.sheet): t.sheet for t in RATE_TABLES}
    tables: dict[str, Found] = {}
    for each in found:
        name = known.get(heading_words(each.sheet.name))
        if name is None:
            problems.append(
                problem(
                    "rate-table-unknown",
                    Place(each.file),
                    name=each.sheet.name,
                    hint=did_you_mean(each.sheet.name, known.values()),
                )
            )
        elif name in tables:
            problems.append(problem("rate-table-twice", Place(each.file), name=name, other=tables[name].file))
        else:
            tables[name] = each
    missing = [t.sheet for t in RATE_TABLES if t.sheet not in tables]
    broken = {heading_words(Path(p.place.file).stem) for p in problems if p.level == "error"}
    problems += [
        problem(
            "rate-table-lacking" if n in MAY_LACK else "rate-table-missing",
            Place(path.name),
            name=n,
            kind="file" if os.path.isdir(path) else "sheet",
        )
        for n in missing
        if heading_words(n) not in broken
    ]
    return tables, problems


def _folder(path: Path) -> tuple[list[Found], list[Problem]]:
    try:
        files = sorted(f for f in path.iterdir() if f.suffix.casefold() == ".csv" and not f.name.startswith((".", "~")))
    except OSError as error:
        return [], [problem("rate-file", Place(str(path)), reason=_reason(error))]
    if not files:
        return [], [problem("rate-folder-empty", Place(str(path)))]
    found, problems = [], []
    for file in files:
        try:
            data = whole(file, MOST_BYTES)
        except OSError as error:
            problems.append(problem("rate-file", Place(file.name), reason=_reason(error)))
            continue
        each, wrong = read_csv(data, file.name)
        found += [each] if each else []
        problems += wrong
    return found, problems


def _reason(error: OSError) -> str:
    return (error.strerror or "not allowed").lower()


def _workbook(path: Path) -> tuple[list[Found], list[Problem]]:
    opened = open_book(path)
    if isinstance(opened, Problem):
        return [], [opened]
    return [Found(path.name, sheet, "", opened[1].manual) for sheet in opened[1].sheets], []


def read_csv(data: bytes, name: str) -> tuple[Found | None, list[Problem]]:
    """One CSV file; None and an error when it is no table of text."""
    place = Place(name)
    if len(data) > MOST_BYTES:
        return None, [problem("rate-file", place, reason=f"larger than {MOST_BYTES // 1_000_000} MB")]
    text, problems = _decode(data, place)
    if text is None:
        return None, problems
    separator = max(",;\t", key=lambda s: _known_headings(text, s))
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        return None, [*problems, problem("rate-csv", place, reason=str(error))]
    rows = [[cell[1:] if cell[:1] == "'" and cell[1:2] in FORMULA_STARTS else cell for cell in row] for row in rows]
    return Found(name, sheet_from_rows(Path(name).stem, rows), _mark(rows, separator)), problems


def _decode(data: bytes, place: Place) -> tuple[str | None, list[Problem]]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif data[:200].count(0) * 3 > len(data[:200]):
        encoding = "utf-16-le" if data[1:2] == b"\0" else "utf-16-be"
    else:
        encoding = "utf-8-sig"
    try:
        text = data.decode(encoding)
        problems: list[Problem] = []
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
        problems = [problem("rate-encoding", place)]
    if "\0" in text:
        return None, [problem("rate-file", place, reason="not a table of text")]
    return text, problems


def _known_headings(text: str, separator: str) -> int:
    """The most known headings in one of the first lines when split by this separator."""
    lines = text.splitlines()[:20]
    cells = ([c.strip().strip('"') for c in line.split(separator)] for line in lines)
    return max((sum(heading_words(c) in _HEADINGS for c in row) for row in cells), default=0)


def _mark(rows: Sequence[Sequence[str]], separator: str) -> str:
    """A file that is not separated by commas and holds decimal commas is meant so; else a point is a point."""
    commas = separator != "," and any(_DECIMAL_COMMA.fullmatch(cell.strip()) for row in rows for cell in row)
    return "comma" if commas else "point"
