"""The table of a run: a row for each job, as CSV and back again, so that a run can go on from it."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import astuple, dataclass, fields
from decimal import Decimal
from pathlib import Path

from estimator.core.problems import Place, Problem, problem
from estimator.many.model import NOT_REACHED, SETTLED, STATUSES, Choices, Result
from estimator.many.prints import asked_print, wrote_print
from estimator.rates.new_rows import inert

HEADINGS = (
    "File",
    "Status",
    "Price before tax",
    "Price",
    "Currency",
    "Errors",
    "Warnings",
    "Notes",
    "Look at first",
    "Seconds",
    "Written",
    "Rate book",
    "Fingerprint of what it was priced from",
    "Fingerprint of what was written",
)
SHEET = "Run table"  # of the workbook
BETWEEN = "; "
LONGEST = 300  # letters of the sentence in a row


@dataclass(frozen=True, slots=True)
class Row:
    """A row, every cell as text. file, written, rates: from the folder of the table; price: with tax."""

    file: str
    status: str = NOT_REACHED
    before_tax: str = ""
    price: str = ""
    currency: str = ""
    errors: str = ""
    warnings: str = ""
    notes: str = ""
    first: str = ""
    seconds: str = ""
    written: str = ""
    rates: str = ""
    asked: str = ""
    wrote: str = ""


def row_of(file: str, result: Result, folder: Path) -> Row:
    """The row of a job. file: as `from_folder` gives it; folder: of the table."""
    errors = sum(p.level == "error" for p in result.problems)
    return Row(
        file,
        result.status,
        result.before_tax,
        result.price,
        result.currency,
        str(errors),
        str(len(result.problems) - errors),
        str(result.notes),
        _short(result.problems[0].message) if result.problems else "",
        f"{result.seconds:.1f}",
        BETWEEN.join(from_folder(path, folder) for path in result.written),
        from_folder(result.rates, folder) if result.rates else "",
        result.asked,
        result.wrote,
    )


def _short(text: str) -> str:
    """A sentence on one line, cut where it would fill the row."""
    words = " ".join(text.split())
    return words if len(words) <= LONGEST else f"{words[: LONGEST - 1]}…"


def from_folder(path: Path, folder: Path) -> str:
    """A path as the table names it: from its own folder on, with strokes, so that both can be moved together."""
    with suppress(ValueError):  # another drive
        return Path(os.path.relpath(path, folder)).as_posix()
    return path.absolute().as_posix()


def stands(row: Row, job: Path, folder: Path, choices: Choices) -> bool:
    """Whether a row still says what pricing the job again would: the same was asked, and what was written is there."""
    if row.status not in SETTLED or not row.asked or not row.wrote:
        return False
    rates = choices.rates or (folder / row.rates if row.rates else None)
    if asked_print(job, rates, choices) != row.asked:
        return False
    return wrote_print([folder / name for name in row.written.split(BETWEEN) if name]) == row.wrote


def as_csv(rows: Iterable[Row]) -> bytes:
    """The table as a CSV file that no spreadsheet program calculates with; UTF-8 with a mark, which they need."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADINGS)
    writer.writerows([_marked(text) for text in astuple(row)] for row in rows)
    return out.getvalue().encode("utf-8-sig", "surrogateescape")


def read_csv(data: bytes) -> tuple[dict[str, Row], int] | None:
    """Rows by file, and how many could not be read; None for what is no table of a run."""
    text = data.decode("utf-8-sig", "surrogateescape")
    rows: dict[str, Row] = {}
    unread = 0
    try:
        lines = csv.reader(io.StringIO(text, newline=""), strict=True)
        if tuple(next(lines, ())) != HEADINGS:
            return None
        for line in lines:
            if len(line) != len(fields(Row)) or line[1] not in (*STATUSES, NOT_REACHED):
                unread += 1
                continue
            row = Row(*(_plain(text) for text in line))
            rows[row.file] = row
    except csv.Error:
        unread += 1
    return rows, unread


def amount(text: str) -> Decimal | None:
    """A figure of the table; None for what is none, since the CSV file may have been edited."""
    try:
        value = Decimal(text)
    except ArithmeticError:
        return None
    return value if value.is_finite() else None


def _marked(text: str) -> str:
    """A cell with a stroke before what would be taken for a formula, and before a stroke of its own."""
    return f"'{text}" if text.startswith("'") else inert(text)


def _plain(text: str) -> str:
    return text.removeprefix("'")


def read_table(path: Path, foreign: Path) -> tuple[dict[str, Row], list[Problem]]:
    """The rows of the table that lies there from an earlier run, and what is to be said of it.

    What is no table of a run, or cannot be read, is kept under its day and never written over; an error among the
    problems says that this could not be done. foreign: the workbook beside it.
    """
    from estimator.report.kept_quote import keep_beside

    problems: list[Problem] = []
    rows: dict[str, Row] = {}
    for each in (path, foreign):
        if not each.exists():
            continue
        try:
            data = each.read_bytes() if each.is_file() else b"-"
        except OSError:
            data = b"-"
        found = _ours(data) if each == foreign else read_csv(data) if data else ({}, 0)
        if found is None:
            kept = keep_beside(each, None)
            words = kept if isinstance(kept, Problem) else problem("table-kept", Place(file=each.name), kept=kept.name)
            problems.append(words)
        elif found[1]:
            problems.append(problem("table-unread", Place(file=each.name), count=found[1]))
        rows |= found[0] if found else {}
    return rows, problems


def _ours(data: bytes) -> tuple[dict[str, Row], int] | None:
    """Nothing to read from the workbook of a run; None for another workbook."""
    from zipfile import BadZipFile, ZipFile

    with suppress(BadZipFile, KeyError, ValueError, OSError), ZipFile(io.BytesIO(data)) as package:
        if f'name="{SHEET}"'.encode() in package.read("xl/workbook.xml"):
            return {}, 0
    return None
