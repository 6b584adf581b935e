"""Rows of a sheet that are kept until all are there, and the answers of the writing library.

The library keeps little in memory only if rows come in order; a sheet that is written up and down has its rows put in
order here first.
"""

from __future__ import annotations

from functools import partial
from typing import Any

_BY_ROW = frozenset(f"write_{kind}" for kind in ("string", "blank", "number", "datetime", "formula", "url")) | {
    "merge_range",
    "set_row",
}


class ReportFault(RuntimeError):
    """The writing library refused a cell: a fault of ours, never of the user's workbook."""


class Later:
    """A sheet whose rows are kept until all are there, then written in their order."""

    def __init__(self, ws: Any, plain: Any) -> None:
        self.ws, self.plain = ws, plain
        self.row_sizes: dict[int, list[Any]] = {}  # as the library has them: pixels, and whether it is hidden
        self.kept: dict[int, list[tuple[str, tuple[Any, ...]]]] = {}

    def __getattr__(self, name: str) -> Any:
        return partial(self._keep, name) if name in _BY_ROW else getattr(self.ws, name)

    def _keep(self, method: str, row: int, *rest: Any) -> None:
        if method == "set_row":
            self.row_sizes[row] = [int(rest[0] * 4 / 3 + 0.5), False]
        self.kept.setdefault(row, []).append((method, rest))

    def write(self) -> None:
        """Everything that was kept."""
        for row in sorted(self.kept):
            if all(method == "set_row" for method, _ in self.kept[row]):  # without a cell it would lose its height
                check(self.ws.write_blank(row, 0, None, self.plain), row, 0)
            for method, rest in self.kept[row]:
                check(getattr(self.ws, method)(row, *rest), row, 0)
        self.kept.clear()


def check(answer: int | None, row: int, column: int) -> None:
    """ReportFault for an answer that is a refusal; the library says it with a negative number and no words."""
    if answer is not None and answer < 0:
        raise ReportFault(f"The cell {cell(row, column)} was refused ({answer}).")


def cell(row: int, column: int) -> str:
    """The A1 name of a cell counted from nought.

    >>> cell(0, 0), cell(9, 27)
    ('A1', 'AB10')
    """
    letters, column = "", column + 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row + 1}"
