"""Cells of the rate book: as everywhere, and beside that quotients of units in a heading, such as kPa/m."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from estimator.core.problems import Place, Problem, problem
from estimator.core.units import knows, to_si
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column
from estimator.sheets.grammar import Context, read_value

# Columns that hold so much per metre or square metre: table and column to the kind below the line.
PER: Mapping[tuple[str, str], str] = {
    ("cloths", "mass"): "area",
    ("posts", "mass"): "length",
    ("ground", "lateral bearing"): "length",
}
_EXAMPLES = {"area": "g/m2", "length": "kg/m or kPa/m"}


def read_cell(
    table: str, cell: Cell, column: Column, unit: str, context: Context, place: Place
) -> tuple[Any, list[Problem]]:
    """The value of a cell in the unit of its kind, or None and what is wrong. unit: of the heading.

    >>> bearing = Column("lateral bearing", "stress")
    >>> read_cell("ground", Cell(15.7, "number"), bearing, "kPa/m", Context(), Place())
    (15700.0, [])
    """
    below = PER.get((table, column.name), "")
    if not below:
        return read_value(cell, column, unit, context, place)
    top, _, bottom = (part.strip() for part in unit.partition("/"))
    if not (knows(top, column.kind) and knows(bottom, below)):
        words = {"column": column.name, "found": unit or "no unit", "wanted": _EXAMPLES[below]}
        return None, [problem("rate-heading-unit", place, **words)]
    value, problems = read_value(cell, column, top, context, place)
    if not isinstance(value, float):
        return None, problems
    return float(f"{value / to_si(1, bottom, below):.15g}"), problems
