"""A sheet of items: one item a row, its name and its value."""

from __future__ import annotations

from typing import Any

from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import reference
from estimator.sheets.cells import Book, Cell, Sheet
from estimator.sheets.columns import Column, Table
from estimator.sheets.feeds import Fed, old_values
from estimator.sheets.grammar import Context, cell_text, read_value
from estimator.sheets.headings import TOP, Found, column_names, find_table, heading_unit, heading_words
from estimator.sheets.rows import MOST_LISTED, Row, heading_problems, hint, rows_below, sheet_of


def read_items(book: Book, table: Table, context: Context) -> tuple[Row, list[Problem]]:
    """A sheet of items (Item, Value) as one row, and the problems of the sheet as a whole."""
    values: dict[str, Any] = {c.name: (False if c.kind == "yes" else None) for c in table.columns}
    sheet, problems = sheet_of(book, table)
    if sheet is None:
        return Row(table.sheet, 1, values, {}), problems
    heads = (Column("Item", required=True), Column("Value", required=True))
    found = find_table(sheet, heads)
    if found is None or set(found.columns) != {"Item", "Value"} or found.twins:
        problems += (
            heading_problems(book.name, sheet, heads, found)
            if found
            else [problem("sheet-empty", Place(book.name, sheet.name), top=TOP, wanted="Item, Value")]
        )
        return Row(sheet.name, 1, values, {}), problems
    items, more = _items(book, sheet, table, found)
    problems += more
    at_column = found.columns["Value"].column
    cells: dict[str, str] = {}
    raw: dict[str, str] = {}
    bad: set[str] = set()
    said: list[Problem] = []
    fed: list[Fed] = []
    for column in table.columns:
        number, unit, cell = items.get(column.name, (0, "", None))
        at = reference(number, at_column) if number else ""
        place = Place(book.name, sheet.name, at)
        if number:
            cells[column.name] = at
        if cell is not None:
            raw[column.name] = cell_text(cell)
            if cell.formula:
                fed.append((sheet.name, number, at_column, cell.formula))
        values[column.name], told = read_value(cell, column, unit, context, place)
        if column.required and values[column.name] is None and not any(p.level == "error" for p in told):
            told = [*told, problem("blank", place, column=column.name)]
        if any(p.level == "error" for p in told):
            bad.add(column.name)
        said += told
    problems += old_values(book, fed)
    return Row(sheet.name, found.first, values, cells, frozenset(bad), False, tuple(said), raw), problems


def _items(
    book: Book, sheet: Sheet, table: Table, found: Found
) -> tuple[dict[str, tuple[int, str, Cell | None]], list[Problem]]:
    """Item to its row, the unit in its brackets and its value; items unknown or named twice are problems."""
    names = column_names(table.columns)
    item_column, value_column = found.columns["Item"].column, found.columns["Value"].column
    items: dict[str, tuple[int, str, Cell | None]] = {}
    unknown, nameless, problems = [], [], []
    for number, cells in rows_below(sheet, found.first).items():
        if item_column not in cells:
            nameless += [reference(number, value_column)] if value_column in cells else []
            continue
        text = cell_text(cells[item_column])
        value = cells.get(value_column)
        name = names.get(heading_words(text))
        if name is None:
            unknown.append(f"'{text}' (row {number}{hint(text, names.values())})")
        elif name in items and items[name][2] is not None and value is not None:
            first, second = reference(items[name][0], value_column), reference(number, value_column)
            place = Place(book.name, sheet.name, second)
            problems.append(problem("item-twice", place, column=name, first=first, second=second))
        elif name not in items or value is not None:
            items[name] = (number, heading_unit(text), value)
    if nameless:
        place = Place(book.name, sheet.name, nameless[0])
        problems.append(problem("value-without-item", place, cells=", ".join(nameless[:MOST_LISTED])))
    if unknown:
        problems.append(problem("item-unknown", Place(book.name, sheet.name), found=", ".join(unknown)))
    return items, problems
