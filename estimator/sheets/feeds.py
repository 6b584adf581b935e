"""Where the value of a formula comes from, as far as it can be out of date."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import Area, reference
from estimator.sheets.cells import Book
from estimator.sheets.references import UNTOLD, Pointed, pointed

Fed = tuple[str, int, int, str]  # sheet, row, column, formula
Spot = tuple[str, int, int]  # key of the sheet, row, column

MOST_STEPS = 200_000  # formulas looked at on the way to where values come from


def old_values(book: Book, fed: Sequence[Fed]) -> list[Problem]:
    """Warnings about cells that are read and whose formulas can hold an old value, one of each kind."""
    if not fed:
        return []
    by_sheet = {key(s.name): _by_column(s.cells) for s in book.sheets}
    ways = _Ways(book, by_sheet, {key(s.name): s.name for s in book.sheets}, MOST_STEPS)
    reached = [(f, ways.reach(f)) for f in fed]
    by_code = {
        "fed-by-output": [f for f, found in reached if found.own],
        "fed-by-other-book": [f for f, found in reached if found.other],
        "feeds-not-followed": [f for f, found in reached if found.lost and not (found.own or found.other)],
        "manual-calculation": list(fed) if book.manual else [],
    }
    return [
        problem(code, Place(book.name, found[0][0], reference(*found[0][1:3])), cells=_listed(found))
        for code, found in by_code.items()
        if found
    ]


def _listed(found: Sequence[Fed], most: int = 12) -> str:
    cells = [reference(row, column) for _, row, column, _ in found[:most]]
    return ", ".join(cells) + (f" and {len(found) - most} more" if len(found) > most else "")


def _by_column(cells: Mapping[tuple[int, int], object]) -> dict[int, list[int]]:
    """Column to the rows, in order, in which a formula stands."""
    found: dict[int, list[int]] = {}
    for (row, column), cell in sorted(cells.items()):
        if getattr(cell, "formula", None):
            found.setdefault(column, []).append(row)
    return found


@dataclass(slots=True)
class _Ways:
    """The formulas of a workbook and what was found about them so far."""

    book: Book
    formulas: Mapping[str, Mapping[int, Sequence[int]]]
    names: Mapping[str, str]
    left: int  # steps that may still be taken
    known: dict[Spot, Pointed] = field(default_factory=dict)
    clean: set[Spot] = field(default_factory=set)

    def reach(self, fed: Fed) -> Pointed:
        """What a formula points at in the end, itself or through the formulas that it points at."""
        first = self.direct((key(fed[0]), fed[1], fed[2]), fed[3])
        own, other, lost = first.own, first.other, first.lost
        seen: set[Spot] = {(key(fed[0]), fed[1], fed[2])}
        waiting = list(first.areas)
        while waiting:
            for spot in self.inside(*waiting.pop()):
                self.left -= 1
                if self.left < 0:
                    return Pointed(own, other, True)
                if spot in seen or spot in self.clean:
                    continue
                seen.add(spot)
                found = self.direct(spot)
                own, other, lost = own or found.own, other or found.other, lost or found.lost
                waiting += found.areas
        if not (own or other or lost):
            self.clean |= seen
        return Pointed(own, other, lost)

    def direct(self, spot: Spot, formula: str = "") -> Pointed:
        """What one formula itself points at; what cannot be told counts only where it could be one of our sheets."""
        if spot not in self.known:
            sheet, row, column = spot
            if not formula:
                cells = next(s.cells for s in self.book.sheets if key(s.name) == sheet)
                formula = cells[row, column].formula or ""
            found = pointed(self.book, self.names.get(sheet, sheet), row, formula)
            lost = found.lost and (bool(self.book.own) or formula == UNTOLD)
            self.known[spot] = Pointed(found.own, found.other, lost, found.areas)
        return self.known[spot]

    def inside(self, sheet: str, area: Area) -> Iterator[Spot]:
        """The formulas in an area."""
        top, left, bottom, right = area
        for column, rows in self.formulas.get(sheet, {}).items():
            if left <= column <= right:
                for row in rows[bisect_left(rows, top) : bisect_right(rows, bottom)]:
                    yield sheet, row, column
