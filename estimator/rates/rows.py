"""The rows of one rate table, each cell read by the declaration of its column."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from estimator.core.names import as_text, key
from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.rates.columns import KEYS
from estimator.rates.files import Found, table_key
from estimator.rates.model import Origin
from estimator.rates.values import read_cell
from estimator.sheets.cells import Cell, reference
from estimator.sheets.columns import Column, Table

_HEADING = re.compile(r"(.*?)\s*[(\[]([^)\]]*)[)\]]\s*", re.S)
_TOP = 20  # rows in which the headings may stand


@dataclass(frozen=True, slots=True)
class RateRow:
    """A row. values: by column name, blank cells left out; cells: column name to its place in the sheet."""

    table: str
    file: str
    number: int
    values: Mapping[str, Any]
    cells: Mapping[str, str]
    units: Mapping[str, str]  # of the headings

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
    grid: dict[int, dict[int, Cell]] = {}
    for (line, column), cell in found.sheet.cells.items():
        grid.setdefault(line, {})[column] = cell
    heading, columns, units, problems = _headings(grid, found, table)
    if any(p.level == "error" for p in problems):
        return [], problems
    rows: list[RateRow] = []
    for number in sorted(n for n in grid if n > heading):
        first = grid[number].get(columns[KEYS[table.sheet][0]])
        if first is not None and key(first.value) == "example":
            problems.append(problem("rate-example", Place(found.file, table.sheet, f"A{number}")))
            continue
        row, wrong = _row(grid[number], number, columns, units, found, table)
        problems += wrong
        if row is not None:
            rows.append(row)
    return rows, problems


def _headings(
    grid: Mapping[int, Mapping[int, Cell]], found: Found, table: Table
) -> tuple[int, dict[str, int], dict[str, str], list[Problem]]:
    """The row of the headings, the place and unit of each column, and missing, doubled and unknown ones."""
    names = {table_key(n): c.name for c in table.columns for n in (c.name, *c.also)}
    needed = {c.name for c in table.columns if c.required}
    best: tuple[int, int, int, list[tuple[int, str, str, str]]] = (-1, -1, 0, [])
    for number in sorted(n for n in grid if n <= _TOP):
        heads = [(c, *_split(as_text(cell.value))) for c, cell in sorted(grid[number].items())]
        read = [(c, names.get(table_key(head), ""), head, unit) for c, head, unit in heads]
        known = {name for _, name, _, _ in read if name}
        rank = (1 if needed <= known else 0, len(known))
        if rank > best[:2]:
            best = (*rank, number, read)
    _, _, number, read = best
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    problems = []
    for column, name, head, unit in read:
        place = Place(found.file, table.sheet, reference(number, column))
        if not name:
            hint = did_you_mean(head, [c.name for c in table.columns])
            problems.append(problem("rate-column-unknown", place, column=head, hint=hint))
        elif name in columns:
            other = reference(number, columns[name])
            problems.append(problem("rate-column-twice", place, column=name, other=other))
        else:
            columns[name], units[name] = column, unit
    for name in sorted(needed - set(columns)):
        at = Place(found.file, table.sheet, reference(max(number, 1), 1))
        problems.append(problem("rate-column-missing", at, column=name))
    return number, columns, units, problems


def _split(heading: str) -> tuple[str, str]:
    """A heading and the unit in its brackets."""
    match = _HEADING.fullmatch(heading)
    return (match[1], match[2].strip()) if match else (heading, "")


def _row(
    cells: Mapping[int, Cell],
    number: int,
    columns: Mapping[str, int],
    units: Mapping[str, str],
    found: Found,
    table: Table,
) -> tuple[RateRow | None, list[Problem]]:
    if not any(c in cells for c in columns.values()):
        return None, []
    places = {name: reference(number, c) for name, c in columns.items()}
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    bad = False
    for column in table.columns:
        cell = cells.get(columns.get(column.name, 0))
        if cell is None:
            continue
        place = Place(found.file, table.sheet, places[column.name])
        value, wrong = read_cell(cell, column, units[column.name], found.mark, place)
        problems += wrong
        bad = bad or any(p.level == "error" for p in wrong)
        if value is not None and value != "":
            values[column.name] = value
    problems += [_blank(c, number, places, found, table) for c in _missing(table, values, cells, columns)]
    row = RateRow(table.sheet, found.file, number, values, places, units)
    return (None if any(p.level == "error" for p in problems) else row), problems


def _missing(
    table: Table, values: Mapping[str, Any], cells: Mapping[int, Cell], columns: Mapping[str, int]
) -> list[Column]:
    return [c for c in table.columns if c.required and c.name not in values and columns.get(c.name) not in cells]


def _blank(column: Column, number: int, places: Mapping[str, str], found: Found, table: Table) -> Problem:
    place = Place(found.file, table.sheet, places.get(column.name, f"A{number}"))
    return problem("blank", place, column=column.name)
