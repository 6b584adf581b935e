"""From a sheet to typed rows, by the declaration of its table."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import column_letters, reference
from estimator.sheets.cells import Book, Cell, Sheet
from estimator.sheets.columns import Column, Table
from estimator.sheets.feeds import Fed, old_values
from estimator.sheets.grammar import Context, cell_text, read_value
from estimator.sheets.headings import TOP, Found, Heading, find_table
from estimator.sheets.items import read_items
from estimator.sheets.merges import Merges, merges_of, rows_in_words
from estimator.sheets.rows import Row, find_sheet, heading_problems, left_out, rows_below, sheet_of, unread_sheets

__all__ = ["Row", "TableRead", "find_sheet", "read_items", "read_table", "unread_sheets"]

ONCE_A_COLUMN = frozenset({"read-in-unit"})
_TOTAL = re.compile(r"(grand |sub ?)?totals?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TableRead:
    """A table as read. problems: those of the table as a whole (those of a row are in the row); read, ignored:
    rows; found: the columns the sheet has; unknown: headings that are not known; reasons: why rows are ignored, with
    how many."""

    rows: tuple[Row, ...] = ()
    problems: tuple[Problem, ...] = ()
    read: int = 0
    ignored: int = 0
    found: Mapping[str, Heading] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    reasons: Mapping[str, int] = field(default_factory=dict)

    @property
    def counts(self) -> tuple[int, int]:
        """Rows read and rows ignored."""
        return self.read, self.ignored


def read_table(book: Book, table: Table, context: Context) -> TableRead:
    """All rows of a table; an optional sheet that is not there gives none."""
    sheet, problems = sheet_of(book, table)
    if sheet is None or not (sheet.cells or table.required):
        return TableRead(problems=tuple(problems))
    found = find_table(sheet, table.columns)
    if found is None:
        wanted = ", ".join(c.name for c in table.columns if c.required)
        problems.append(problem("sheet-empty", Place(book.name, sheet.name), top=TOP, wanted=wanted))
        return TableRead(problems=tuple(problems))
    problems += heading_problems(book.name, sheet, table.columns, found)
    problems += left_out(book.name, sheet, table.columns, found)
    merges = merges_of(sheet, found, table.columns)
    rows: list[Row] = []
    examples, totals, strange, fed = [], [], 0, list[Fed]()
    for number, cells in rows_below(sheet, found.first).items():
        used = {name: cells[h.column] for name, h in found.columns.items() if h.column in cells}
        if not used:
            strange += 1
            continue
        names = [cell_text(c) for n in table.columns[:2] if (c := merges.stands(number, n.name, used.get(n.name)))]
        if names and key(names[0]) == "example":
            examples.append(number)
        elif number in sheet.totals_rows or (names and _TOTAL.fullmatch(names[0].strip(" :"))):
            totals.append(number)
        else:
            row = _row(book.name, sheet, number, used, found, table.columns, context, merges)
            fed += [(sheet.name, number, found.columns[n].column, c.formula) for n, c in used.items() if c.formula]
            rows.append(row)
    place = Place(book.name, sheet.name)
    for code, numbers in (("example-skipped", examples), ("total-skipped", totals)):
        if numbers:
            problems.append(problem(code, place, rows=rows_in_words(numbers)))
    rows, once = _once(rows)
    problems += [
        *once,
        *merges.notes(book.name, [r.number for r in rows]),
        *_hidden(book.name, sheet, rows, found),
        *_below(book.name, sheet, rows, found),
        *old_values(book, fed),
    ]
    counted = {"an EXAMPLE": len(examples), "a total": len(totals), "nothing in a known column": strange}
    reasons = {why: number for why, number in counted.items() if number}
    unknown = tuple(h.text for h in found.unknown)
    return TableRead(tuple(rows), tuple(problems), len(rows), sum(reasons.values()), found.columns, unknown, reasons)


def _row(
    file: str,
    sheet: Sheet,
    number: int,
    used: Mapping[str, Cell],
    found: Found,
    columns: Sequence[Column],
    context: Context,
    merges: Merges,
) -> Row:
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    bad: set[str] = set()
    raw: dict[str, str] = {}
    cells = {c.name: reference(number, found.columns[c.name].column) for c in columns if c.name in found.columns}
    for column in columns:
        name = column.name
        heading = found.columns.get(name)
        values[name] = False if column.kind == "yes" else None
        if heading is None or name in found.twins:
            if name in found.twins or column.required:
                bad.add(name)  # said once, at the heading
            continue
        place = Place(file, sheet.name, cells[name])
        covered, cell = merges.look(number, heading.column, used.get(name))
        if covered:
            problems.append(problem("merged-cell", place, column=name, found=covered))
            bad.add(name)
            continue
        if cell is not None:
            raw[name] = cell_text(cell)
        values[name], said = read_value(cell, column, heading.unit, context, place)
        if column.required and values[name] in (None, ()) and not any(p.level == "error" for p in said):
            said = [*said, problem("blank", place, column=name)]
        if any(p.level == "error" for p in said):
            bad.add(name)
        problems += said
    hidden = number in sheet.hidden_rows or number in sheet.filtered_rows
    return Row(sheet.name, number, values, cells, frozenset(bad), hidden, tuple(problems), raw)


def _once(rows: Sequence[Row]) -> tuple[list[Row], list[Problem]]:
    """Notes that hold for a whole column are said once, for its first cell."""
    said: dict[tuple[str, str], Problem] = {}
    kept = []
    for row in rows:
        for p in row.problems:
            if p.code in ONCE_A_COLUMN:
                said.setdefault((p.code, re.sub(r"\d", "", p.place.cell)), p)
        rest = tuple(p for p in row.problems if p.code not in ONCE_A_COLUMN)
        kept.append(row if len(rest) == len(row.problems) else _with_problems(row, rest))
    return kept, list(said.values())


def _with_problems(row: Row, problems: tuple[Problem, ...]) -> Row:
    return Row(row.sheet, row.number, row.values, row.cells, row.bad, row.hidden, problems, row.raw)


def _below(file: str, sheet: Sheet, rows: Sequence[Row], found: Found) -> list[Problem]:
    """Rows below the table that the spreadsheet program knows: they are easily taken for being outside the job."""
    columns = {h.column for h in found.columns.values()}
    here = [a for a in sheet.tables if a[0] < found.first <= a[2] and any(a[1] <= c <= a[3] for c in columns)]
    numbers = [row.number for row in rows if here and row.number > max(a[2] for a in here)]
    place = Place(file, sheet.name, f"A{numbers[0]}" if numbers else "")
    return [problem("rows-below-table", place, rows=rows_in_words(numbers))] if numbers else []


def _hidden(file: str, sheet: Sheet, rows: Sequence[Row], found: Found) -> list[Problem]:
    problems = []
    for code, hidden in (("rows-hidden", sheet.hidden_rows), ("rows-filtered", sheet.filtered_rows)):
        numbers = [row.number for row in rows if row.number in hidden]
        if numbers:
            place = Place(file, sheet.name, f"A{numbers[0]}")
            problems.append(problem(code, place, rows=rows_in_words(numbers)))
    columns = [h for h in found.columns.values() if h.column in sheet.hidden_columns]
    if columns:
        listed = ", ".join(f"'{h.text}' ({column_letters(h.column)})" for h in columns)
        place = Place(file, sheet.name, reference(found.first - 1, columns[0].column))
        problems.append(problem("columns-hidden", place, found=listed))
    return problems
