"""A sheet of ours seen as a grid of texts and figures; rows and columns count from 1."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import from_float
from estimator.sheets.cells import Sheet
from estimator.sheets.grammar import cell_text


@dataclass(frozen=True, slots=True)
class Grid:
    """The cells of a sheet."""

    sheet: Sheet
    numbers: tuple[int, ...]

    def text(self, row: int, column: int) -> str:
        """What stands in a cell, as a person would type it; blank for nothing."""
        cell = self.sheet.cells.get((row, column))
        return cell_text(cell) if cell else ""

    def number(self, row: int, column: int) -> Decimal | None:
        """The figure of a cell; None for anything else."""
        cell = self.sheet.cells.get((row, column))
        if cell is None or cell.kind != "number":
            return None
        return from_float(float(cell.value))  # type: ignore[arg-type]  # the kind says so

    def rows(self) -> tuple[int, ...]:
        """The rows that hold something, in order."""
        return self.numbers

    def texts(self) -> Iterator[str]:
        """Every text."""
        return (str(c.value) for c in self.sheet.cells.values() if c.kind == "text")


def grid(sheet: Sheet) -> Grid:
    """A sheet as a grid."""
    return Grid(sheet, tuple(sorted({row for row, _ in sheet.cells})))
