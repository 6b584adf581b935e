"""Merged cells among the rows of a table: filled down where they name a row, an error elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

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


class Merges:
    """The merged areas that reach a table's rows, and which of them were filled down."""

    def __init__(self, sheet: Sheet, found: Found, columns: Sequence[Column]) -> None:
        self._sheet = sheet
        named = {c.name for c in columns if c.kind == "name" and (c.required or c.name in ("Site", "Option"))}
        self._names = {h.column: name for name, h in found.columns.items() if name in named}
        known = {h.column for h in found.columns.values()}
        self._areas: dict[int, list[Area]] = {
            c: [a for a in sheet.merged if a[1] <= c <= a[3] and a[2] >= found.first] for c in known
        }
        self._filled: dict[str, list[str]] = {}

    def look(self, row: int, column: int, cell: Cell | None) -> tuple[str, Cell | None]:
        """The cell that stands for a place: its own, or that of the merged area of a naming column; with the
        area in words where it may not be filled."""
        for area in self._areas.get(column, ()):
            top, left, bottom, right = area
            if not top <= row <= bottom or (row, column) == (top, left):
                continue
            words = f"{reference(top, left)}:{reference(bottom, right)}"
            if left == right and column in self._names:
                filled = self._filled.setdefault(self._names[column], [])
                if words not in filled:
                    filled.append(words)
                return "", self._sheet.cells.get((top, left))
            return words, None
        return "", cell

    def stands(self, row: int, name: str, cell: Cell | None) -> Cell | None:
        """The cell that names a row in a declared column, filled down or its own."""
        column = next((c for c, known in self._names.items() if known == name), 0)
        return self.look(row, column, cell)[1]

    def notes(self, file: str) -> list[Problem]:
        """One note for each column that was filled down."""
        return [
            problem(
                "merged-filled",
                Place(file, self._sheet.name, areas[0].split(":")[0]),
                column=name,
                found=", ".join(areas),
            )
            for name, areas in self._filled.items()
        ]
