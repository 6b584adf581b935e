"""Workbooks of plain rows in which each row provokes one problem."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from estimator.sheets.areas import column_letters

Told = frozenset[tuple[str, str, str]]
Row = Mapping[str, Any]


@dataclass(frozen=True)
class Shown:
    """A value with the number format of its cell."""

    value: Any
    number_format: str


@dataclass(frozen=True)
class Bad:
    """A row that provokes a problem. at: the heading of the cell that is told; cells: what differs from a plain row."""

    at: str
    code: str
    cells: Row


def bad(heading: str, value: Any, code: str, **more: Any) -> Bad:
    """A row with one bad cell."""
    return Bad(heading, code, {heading: value, **more})


def headings(rows: Iterable[Row]) -> list[str]:
    """The headings of rows, in the order in which they come."""
    return list(dict.fromkeys(heading for row in rows for heading in row))


def as_rows(plain: Callable[[int], Row], wrong: Sequence[Bad]) -> list[Row]:
    """One row for each problem. plain: the row that has none, by its number in the sheet."""
    return [{**plain(number), **each.cells} for number, each in enumerate(wrong, start=2)]


def told_of(sheet: str, rows: Sequence[Row], wrong: Sequence[Bad]) -> set[tuple[str, str, str]]:
    """What must be told of rows made of these, the first of them under the headings."""
    columns = {heading: column_letters(n) for n, heading in enumerate(headings(rows), start=1)}
    return {(sheet, f"{columns[each.at]}{row}", each.code) for row, each in enumerate(wrong, start=2)}


def at(sheet: str, *cells: tuple[str, str]) -> set[tuple[str, str, str]]:
    """Cells and codes of one sheet."""
    return {(sheet, cell, code) for cell, code in cells}


def write(
    path: Path,
    sheets: Mapping[str, Sequence[Row] | Sequence[Sequence[Any]]],
    change: Callable[[Workbook], Any] | None = None,
) -> Path:
    """A workbook. sheets: name to rows, each a list of cells, or a dictionary by heading; change: done before it is
    saved."""
    book = Workbook()
    book.remove(book.active)  # type: ignore[arg-type]  # a new workbook has a sheet
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        if rows and isinstance(rows[0], Mapping):
            heads = headings(rows)  # type: ignore[arg-type]  # all rows of a sheet are of one kind
            lists: list[Sequence[Any]] = [heads, *([row.get(h) for h in heads] for row in rows)]  # type: ignore[union-attr]
        else:
            lists = list(rows)  # type: ignore[arg-type]
        for r, cells in enumerate(lists, start=1):
            for c, value in enumerate(cells, start=1):
                if isinstance(value, Shown):
                    sheet.cell(r, c, value.value).number_format = value.number_format
                elif value is not None:
                    sheet.cell(r, c, value)
    if change:
        change(book)
    book.save(path)
    return path
