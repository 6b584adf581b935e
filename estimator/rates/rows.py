"""The rows of one rate table, each cell read by the declaration of its column."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from estimator.core.names import as_text, key
from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.rates.columns import KEYS
from estimator.rates.files import Found
from estimator.rates.model import Origin
from estimator.rates.values import read_cell
from estimator.sheets.cells import Cell, reference
from estimator.sheets.columns import Table
from estimator.sheets.grammar import Context, is_blank
from estimator.sheets.headings import TOP, Heading, find_table
from estimator.sheets.headings import Found as Headings
from estimator.sheets.tidy import column_letters


@dataclass(frozen=True, slots=True)
class RateRow:
    """A row. values: by column name, blank cells left out; cells: column name to its place in the sheet."""

    table: str
    file: str
    number: int
    values: Mapping[str, Any]
    cells: Mapping[str, str]
    units: Mapping[str, str]  # of the headings
    raw: Mapping[str, Cell]
    context: Context  # how typed numbers are meant

    @property
    def origin(self) -> Origin:
        """Where the row came from."""
        return Origin(self.table, self.number, self.values.get("valid from"), self.text("source"))

    @property
    def key(self) -> str:
        """What makes this row the same on different days."""
        return " / ".join(key(self.values.get(c)) for c in KEYS[self.table])

    @property
    def since(self) -> date:
        """The day from which the row holds."""
        return self.values.get("valid from") or date.min

    def text(self, column: str) -> str:
        """The value as text, blank for none."""
        return as_text(self.values.get(column))

    def words(self, column: str) -> tuple[str, ...]:
        """A list in a cell, separated by commas, semicolons or line ends."""
        return tuple(w.strip() for w in re.split(r"[,;\n]", self.text(column)) if w.strip())

    def place(self, column: str = "") -> Place:
        """The place of a cell; of the row's first cell where the column is not there."""
        return Place(self.file, self.table, self.cells.get(column) or f"A{self.number}")


def read_rows(found: Found, table: Table) -> tuple[list[RateRow], list[Problem]]:
    """All rows of a table that could be read, in their order, and what is wrong with the others."""
    here = find_table(found.sheet, table.columns)
    if here is None:
        wanted = ", ".join(c.name for c in table.columns if c.required) or table.columns[0].name
        return [], [problem("sheet-empty", Place(found.file, table.sheet), top=TOP, wanted=wanted)]
    problems = _heading_problems(here, found, table)
    if any(p.level == "error" for p in problems):
        return [], problems
    lines: dict[int, dict[int, Cell]] = {}
    for (line, column), cell in found.sheet.cells.items():
        if line >= here.first:
            lines.setdefault(line, {})[column] = cell
    rows: list[RateRow] = []
    for line in sorted(lines):
        row, wrong = _row(lines[line], line, here, found, table)
        problems += wrong
        if row is not None:
            rows.append(row)
    return rows, _once(problems)


def _heading_problems(here: Headings, found: Found, table: Table) -> list[Problem]:
    def place(column: int) -> Place:
        return Place(found.file, table.sheet, reference(here.row, column))

    problems = [
        problem("heading-twice", place(twins[1].column), column=name, letters=_letters(twins))
        for name, twins in here.twins.items()
    ]
    for column in table.columns:
        if column.required and column.name not in here.columns:
            hint = did_you_mean(column.name, [h.words for h in here.unknown])
            problems.append(problem("heading-missing", place(1), column=column.name, hint=hint))
    if here.unknown:
        names = [c.name for c in table.columns]
        shown = ", ".join(f"'{h.text}'{did_you_mean(h.words, names)}" for h in here.unknown)
        problems.append(problem("headings-unknown", place(here.unknown[0].column), found=shown))
    return problems


def _letters(headings: Sequence[Heading]) -> str:
    return " and ".join(column_letters(h.column) for h in headings)


def _once(problems: Sequence[Problem]) -> list[Problem]:
    """One note a column is enough to say in which unit its bare numbers are read."""
    said: set[str] = set()
    kept = []
    for each in problems:
        column = each.place.cell.rstrip("0123456789")
        if each.code != "read-in-unit" or column not in said:
            kept.append(each)
        if each.code == "read-in-unit":
            said.add(column)
    return kept


def _row(
    cells: Mapping[int, Cell], number: int, here: Headings, found: Found, table: Table
) -> tuple[RateRow | None, list[Problem]]:
    columns = {name: h.column for name, h in here.columns.items()}
    raw = {name: cells[c] for name, c in columns.items() if c in cells and not is_blank(cells[c])}
    if not raw:
        return None, []
    places = {name: reference(number, c) for name, c in columns.items()}
    first = KEYS[table.sheet][0]
    if first in raw and key(raw[first].value) == "example":
        return None, [problem("example-skipped", Place(found.file, table.sheet, places[first]), rows=number)]
    context = Context(decimal_mark=found.mark)
    units = {name: h.unit for name, h in here.columns.items()}
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for column in table.columns:
        place = Place(found.file, table.sheet, places.get(column.name, f"A{number}"))
        if column.name in raw:
            cell = raw[column.name]
            value, wrong = read_cell(table.sheet, cell, column, units[column.name], context, place)
            problems += wrong
            if value is not None:
                values[column.name] = value
        elif column.required:
            problems.append(problem("blank", place, column=column.name))
    row = RateRow(table.sheet, found.file, number, values, places, units, raw, context)
    return (None if any(p.level == "error" for p in problems) else row), problems
