"""What tables and sheets of items share: a row, its sheet, and what is wrong with headings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from estimator.core.names import key
from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.sheets.areas import column_letters, reference
from estimator.sheets.cells import Book, Cell, Sheet
from estimator.sheets.columns import Column, Table
from estimator.sheets.grammar import is_blank
from estimator.sheets.headings import Found, find_table
from estimator.sheets.merges import rows_in_words

MOST_LISTED = 40  # unknown headings that are named


@dataclass(frozen=True, slots=True)
class Row:
    """A row as read. values: every declared column to its value, None where blank, missing or unusable (a yes/no:
    False); cells: the columns the sheet has, to the cell's name; bad: columns whose cell could not be used."""

    sheet: str
    number: int
    values: Mapping[str, Any]
    cells: Mapping[str, str]
    bad: frozenset[str] = frozenset()
    hidden: bool = False
    problems: tuple[Problem, ...] = ()
    raw: Mapping[str, str] = field(default_factory=dict)  # columns to what was typed


def find_sheet(book: Book, name: str) -> Sheet | None:
    """The sheet of a name, whatever its case, spaces and underscores; None where there is none.

    Some programs for tablets and phones write `Sites - Table 1`; where one sheet alone is so called, it is meant.
    """
    exact = next((s for s in book.sheets if _sheet_key(s.name) == _sheet_key(name)), None)
    longer = [s for s in book.sheets if re.match(rf"{re.escape(_sheet_key(name))} ?- ?\S", _sheet_key(s.name))]
    return exact if exact is not None or len(longer) != 1 else longer[0]


def unread_sheets(book: Book, tables: Iterable[Table]) -> list[Problem]:
    """What is said of sheets that look like a table and are not read: those with its headings and another name, a copy
    or one that was renamed, and one with its name that bears the mark of our own results."""
    wanted = [t for t in tables if not t.items]
    read = [find_sheet(book, t.sheet) for t in tables]
    problems = [
        problem("sheet-marked", Place(book.name, name), sheet=t.sheet)
        for name in book.own
        for t in tables
        if _sheet_key(name) == _sheet_key(t.sheet)
    ]
    for sheet in book.sheets:
        if any(sheet is each for each in read) or any(_sheet_key(sheet.name) == _sheet_key(t.sheet) for t in wanted):
            continue
        known = {t.sheet: set(found.columns) for t in wanted if (found := find_table(sheet, t.columns))}
        like = [t for t in wanted if {c.name for c in t.columns if c.required} <= known.get(t.sheet, set())]
        best = max(like, key=lambda t: len(known[t.sheet]), default=None)
        if best is not None and len(known[best.sheet]) > 2:
            problems.append(problem("sheet-looks-like", Place(book.name, sheet.name), sheet=best.sheet))
    return problems


def _sheet_key(name: str) -> str:
    return key(name.replace("_", " "))


def sheet_of(book: Book, table: Table) -> tuple[Sheet | None, list[Problem]]:
    """The sheet of a table, and what is to be said about it."""
    sheet = find_sheet(book, table.sheet)
    if sheet is None:
        hint = did_you_mean(table.sheet, [n for n in book.names if n not in book.own])
        words = {"sheet": table.sheet, "file": book.name or "the workbook", "hint": hint}
        return None, [problem("sheet-missing", Place(book.name, table.sheet), **words)] if table.required else []
    place = Place(book.name, sheet.name)
    twins = [s.name for s in book.sheets if _sheet_key(s.name) == _sheet_key(table.sheet)]
    problems = [problem("sheet-twice", place, found=", ".join(f"'{n}'" for n in twins))] if len(twins) > 1 else []
    if _sheet_key(sheet.name) != _sheet_key(table.sheet):
        problems.append(problem("sheet-read-as", place, sheet=table.sheet))
    if sheet.state != "visible":
        problems.append(problem("sheet-hidden", place))
    return sheet, problems


def hint(found: str, allowed: Iterable[str]) -> str:
    """What was probably meant, to stand in a bracket behind what was found.

    >>> hint("Widht", ["Width", "Height"])
    "; did you mean 'Width'?"
    """
    return did_you_mean(found, allowed).replace(" Did", "; did")


def rows_below(sheet: Sheet, first: int) -> dict[int, dict[int, Cell]]:
    """Row number to column number to cell, of the cells that are not blank."""
    rows: dict[int, dict[int, Cell]] = {}
    for (row, column), cell in sorted(sheet.cells.items()):
        if row >= first and not is_blank(cell):
            rows.setdefault(row, {})[column] = cell
    return rows


def heading_problems(file: str, sheet: Sheet, columns: Sequence[Column], found: Found) -> list[Problem]:
    """Headings that are missing, stand twice, or are not known."""

    def at(column: int) -> Place:
        return Place(file, sheet.name, reference(found.first - 1, column))

    problems = []
    texts = [h.text for h in found.unknown]
    for column in columns:
        if column.required and column.name not in found.columns:
            words = {"column": column.name, "hint": did_you_mean(column.name, texts)}
            problems.append(problem("heading-missing", at(1), **words))
    for name, twins in found.twins.items():
        letters = [column_letters(h.column) for h in twins]
        listed = f"{', '.join(letters[:-1])} and {letters[-1]}"
        problems.append(problem("heading-twice", at(twins[0].column), letters=listed, column=name))
    if found.unknown:
        absent = [c.name for c in columns if c.name not in found.columns]
        few = found.unknown[:MOST_LISTED]
        listed = ", ".join(f"'{h.text}' ({column_letters(h.column)}{hint(h.text, absent)})" for h in few)
        listed += f", and {len(found.unknown) - len(few)} more" if len(found.unknown) > len(few) else ""
        problems.append(problem("headings-unknown", at(found.unknown[0].column), found=listed))
    return problems


def left_out(file: str, sheet: Sheet, columns: Sequence[Column], found: Found) -> list[Problem]:
    """Cells that are no part of the table though they stand like ones: under no heading, or in whole rows above the
    headings, as sorting leaves them."""
    used = {h.column for h in found.columns.values()} | {h.column for h in found.unknown}
    used |= {h.column for twins in found.twins.values() for h in twins}
    stray = [
        (r, c) for (r, c), cell in sheet.cells.items() if r >= found.first and c not in used and not is_blank(cell)
    ]
    problems = []
    if stray:
        listed = ", ".join(reference(r, c) for r, c in stray[:MOST_LISTED])
        listed += f", and {len(stray) - MOST_LISTED} more" if len(stray) > MOST_LISTED else ""
        problems.append(problem("under-no-heading", Place(file, sheet.name, reference(*stray[0])), cells=listed))
    known = {h.column for h in found.columns.values()}
    needed = {found.columns[c.name].column for c in columns if c.required and c.name in found.columns}
    filled: dict[int, dict[int, str]] = {}
    for (r, c), cell in sheet.cells.items():
        if r < found.row and c in known and not is_blank(cell):
            filled.setdefault(r, {})[c] = key(cell.value)
    above = [
        r
        for r, there in filled.items()
        if needed <= there.keys() and (len(there) > 2 or there.keys() == known) and not _notes(there.values())
    ]
    if above:
        place = Place(file, sheet.name, f"A{above[0]}")
        problems.append(problem("above-headings", place, row=found.row, rows=rows_in_words(above)))
    return problems


def _notes(texts: Iterable[str]) -> bool:
    """Whether these are notes over the columns, as a blank job workbook has them, and no row of the table."""
    return any(re.match(r"needed\b", text) for text in texts)
