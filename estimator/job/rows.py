"""Small helpers between a read row and a frozen object of the job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimator.core.names import key
from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.job.model import Source, Understood
from estimator.sheets.columns import Table
from estimator.sheets.reader import Row

Names = Mapping[str, Mapping[str, str]]
"""Rate table to the names that may be used: key as compared to the name as the book writes it."""


@dataclass(frozen=True, slots=True)
class Read:
    """A row with its source at hand."""

    row: Row
    source: Source

    def get(self, column: str) -> Any:
        """The value of a column; None where blank, missing or unusable."""
        return self.row.values.get(column)

    def text(self, column: str) -> str:
        """The value as text, blank for none."""
        value = self.row.values.get(column)
        return "" if value is None else str(value)

    def number(self, column: str) -> float | None:
        """The value as a float, None for none."""
        value = self.row.values.get(column)
        return None if value is None else float(value)

    def decimal(self, column: str) -> Decimal | None:
        """The value as a Decimal, None for none."""
        value = self.row.values.get(column)
        return value if isinstance(value, Decimal) else None

    def usable(self, *columns: str) -> bool:
        """Whether none of these columns holds something that could not be read."""
        return not any(c in self.row.bad for c in columns)

    def place(self, column: str = "") -> Place:
        """The place of a column of this row."""
        return self.source.place(column)


def with_source(row: Row, file: str) -> Read:
    """The row with the source that later problems point at."""
    return Read(row, Source(file, row.sheet, row.number, dict(row.cells)))


def understood(table: Table, row: Row) -> Understood:
    """What a row was taken for, kept small: a large job has a hundred thousand."""
    cells = tuple(
        (row.cells.get(name, ""), name, value, name not in row.bad)
        for name, value in row.values.items()
        if name in row.bad or value not in (None, False, "", ()) or row.raw.get(name)
    )
    return Understood(table.sheet, row.sheet, row.number, cells)


def named(read: Read, column: str, table: str, names: Names, what: str = "") -> tuple[str, list[Problem]]:
    """The rate book's spelling of a name typed in a cell, or a problem; blank stays blank."""
    found = read.text(column)
    if not found:
        return "", []
    allowed = names[table]
    if key(found) in allowed:
        return allowed[key(found)], []
    shown = sorted(set(allowed.values()))
    words = ", ".join(shown[:20]) + (" ..." if len(shown) > 20 else "")
    return "", [
        problem(
            "not-in-rate-book",
            read.place(column),
            found=found,
            what=what or column.casefold(),
            table=table,
            allowed=words or "no rows in force on the job's day",
            hint=did_you_mean(found, [*shown, *allowed]),
        )
    ]


def repeated(reads: Sequence[tuple[str, Read]], column: str) -> dict[str, list[Read]]:
    """Keys that occur more than once, with their rows."""
    seen: dict[str, list[Read]] = {}
    for name, read in reads:
        seen.setdefault(name, []).append(read)
    return {name: rows for name, rows in seen.items() if len(rows) > 1}


def duplicate_problem(column: str, name: str, rows: Sequence[Read]) -> Problem:
    """One problem that names every row of a repeated key."""
    cells = ", ".join(str(r.place(column)) for r in rows)
    return problem("duplicate-key", rows[-1].place(column), column=column, name=name, cells=cells)
