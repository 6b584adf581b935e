"""Where rows and cells of a sheet stand. A sheet that says it in two ways is damaged: each program would take another,
and price another job. Every failure is a ValueError in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from estimator.sheets.areas import LAST_COLUMN, LAST_ROW, area
from estimator.sheets.package import attribute, local

if TYPE_CHECKING:
    from lxml.etree import _Element

_BESIDE = frozenset(("", "extLst"))  # comments, and what programs keep for themselves


def in_its_place(element: _Element, parent: str, name: str = "") -> None:
    """Nothing where an element stands in a `parent`, and is called `name` where that is asked."""
    above = element.getparent()
    if above is None or local(above) != parent or (name and local(element) not in _BESIDE | {name}):
        raise ValueError(f"<{local(element)}> stands where it does not belong")


def row_number(row: _Element, before: int) -> int:
    """The number of a row: its own, else that of its first cell that says one, else the next.

    before: the number of the row before it.
    """
    said = attribute(row, "r")
    if not said:
        places = (area(cell.get("r") or "") for cell in row)
        return next((place[0] for place in places if place), before + 1)
    if not (said.isdecimal() and said.isascii() and 0 < int(said[:9]) <= LAST_ROW):
        raise ValueError(f"a row calls itself '{said[:20]}'")
    return int(said)


def column_of(cell: _Element, row: int, before: int) -> int:
    """The column of a cell of a row: its own, else the next after that of the cell before it."""
    said = cell.get("r") or ""
    place = area(said)
    if not said:
        column = before + 1
    elif place is None or place[:2] != place[2:] or place[0] != row:
        raise ValueError(f"a cell in row {row} calls itself '{said[:20]}'")
    else:
        column = place[1]
    if column > LAST_COLUMN:
        raise ValueError(f"a cell in row {row} stands beyond the last column")
    return column


def once_each(cell: _Element) -> None:
    """Nothing for a cell that has one value, one formula and one text at most: of two each program takes another."""
    names = [local(child) for child in cell]
    twice = next((n for n in ("v", "f", "is") if names.count(n) > 1), "")
    if twice:
        raise ValueError(f"cell {cell.get('r') or '?'} holds <{twice}> twice")
