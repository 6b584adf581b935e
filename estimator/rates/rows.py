"""The rows of one rate table, each cell read by the declaration of its column."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from estimator.core.names import as_text, key
from estimator.core.problems import Place, Problem
from estimator.rates.columns import KEYS
from estimator.rates.files import Found
from estimator.rates.model import Origin
from estimator.rates.quotients import quotients
from estimator.sheets.cells import Book, Cell
from estimator.sheets.columns import Table
from estimator.sheets.grammar import Context
from estimator.sheets.reader import read_table


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
        return " / ".join(key(self.text(c)) for c in KEYS[self.table])

    @property
    def since(self) -> date:
        """The day from which the row holds."""
        return self.values.get("valid from") or date.min

    def text(self, column: str) -> str:
        """The value as text, a list with commas, blank for none."""
        value = self.values.get(column)
        return ", ".join(value) if isinstance(value, tuple) else as_text(value)

    def words(self, column: str) -> tuple[str, ...]:
        """A list in a cell, separated by commas, semicolons or line ends."""
        return tuple(w.strip() for w in re.split(r"[,;\n]", self.text(column)) if w.strip())

    def place(self, column: str = "") -> Place:
        """The place of a cell; of the row's first cell where the column is not there."""
        return Place(self.file, self.table, self.cells.get(column) or f"A{self.number}")


def read_rows(found: Found, table: Table) -> tuple[list[RateRow], list[Problem]]:
    """All rows of a table that could be read, in their order, and what is wrong with the table and the others."""
    context = Context(decimal_mark=found.mark)
    sheet = replace(found.sheet, name=table.sheet)
    read = read_table(Book(found.file, (sheet,), (table.sheet,), manual=found.manual), table, context)
    problems = list(read.problems)
    if any(c.required and c.name not in read.found for c in table.columns):
        return [], problems  # a column that is needed is not there: no row of the table can be whole
    units = {name: h.unit for name, h in read.found.items()}
    rows: list[RateRow] = []
    for row in read.rows:
        filled = {name: h.column for name, h in read.found.items() if name in row.raw}
        raw = {name: sheet.cells[row.number, column] for name, column in filled.items()}
        values = {name: row.values[name] for name in raw if row.values[name] is not None}
        made = RateRow(table.sheet, found.file, row.number, values, row.cells, units, raw, context)
        values, quotient = quotients(table.sheet, values, units, made.place)
        problems += [*row.problems, *quotient]
        if not row.bad and not quotient:
            rows.append(replace(made, values=values))
    return rows, problems
