"""Merged cells among the rows of a table: filled down where they name a row, an error elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import Area, reference
from estimator.sheets.cells import Cell, Sheet
from estimator.sheets.columns import Column
from estimator.sheets.headings import Found


def rows_in_words(numbers: Iterable[int]) -> str:
    """Row numbers with runs drawn together.

    >>> rows_in_words([5, 7, 8, 9, 12])
    '5, 7-9, 12'
    """
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


@dataclass(frozen=True, slots=True)
class Merges:
    """The merged areas that reach a table's rows. names: the columns that name a row, number to declared name;
    areas: by column number."""

    sheet: Sheet
    names: Mapping[int, str]
    areas: Mapping[int, Sequence[Area]]

    def look(self, row: int, column: int, cell: Cell | None) -> tuple[str, Cell | None]:
        """The cell that stands for a place: its own, or that of the merged area of a naming column; with the
        area in words where it may not be filled."""
        area = self._over(row, column)
        if area is None:
            return "", cell
        top, left, _, right = area
        if left == right and column in self.names:
            return "", self.sheet.cells.get((top, left))
        return _words(area), None

    def stands(self, row: int, name: str, cell: Cell | None) -> Cell | None:
        """The cell that names a row in a declared column, filled down or its own."""
        column = next((c for c, known in self.names.items() if known == name), 0)
        return self.look(row, column, cell)[1]

    def notes(self, file: str, rows: Iterable[int]) -> list[Problem]:
        """One note for each naming column that was filled down into one of these rows."""
        problems = []
        numbers = list(rows)
        for column, name in self.names.items():
            over = {a for row in numbers if (a := self._over(row, column)) and a[1] == a[3]}
            if over:
                place = Place(file, self.sheet.name, reference(*min(over)[:2]))
                listed = ", ".join(_words(area) for area in sorted(over))
                problems.append(problem("merged-filled", place, column=name, found=listed))
        return problems

    def _over(self, row: int, column: int) -> Area | None:
        """The area that covers a place which is not its own first cell."""
        areas = self.areas.get(column, ())
        return next((a for a in areas if a[0] <= row <= a[2] and a[:2] != (row, column)), None)


def merges_of(sheet: Sheet, found: Found, columns: Sequence[Column]) -> Merges:
    """The merged areas of the columns that a table has."""
    named = {c.name for c in columns if c.kind == "name" and (c.required or c.name in ("Site", "Option"))}
    names = {h.column: name for name, h in found.columns.items() if name in named}
    known = {h.column for h in found.columns.values()}
    areas = {c: tuple(a for a in sheet.merged if a[1] <= c <= a[3] and a[2] >= found.first) for c in known}
    return Merges(sheet, names, areas)


def _words(area: Area) -> str:
    return f"{reference(*area[:2])}:{reference(*area[2:])}"
