"""What was changed by hand on our own sheets since we wrote them: figures typed over formulas, changed formulas, rates
and quantities, rows put in or taken out. All is held in the rows of the sheets as found."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from estimator.core.names import key
from estimator.report.package.alignment import row_numbers
from estimator.report.package.formulas import Look, Node, Value, areas, moved, parse, value_of, written_out
from estimator.report.package.grid import Grid, Place, Stands, grids
from estimator.report.package.own import own_sheets
from estimator.report.package.package import Package
from estimator.report.package.wrote import SEEN, Record

Cells = dict[tuple[str, int, int], Node | Value]  # what a sheet is for, row, column; a tuple is a formula


@dataclass(frozen=True, slots=True)
class Change:
    """One cell, or one row, that is not as it was written. kind: typed (over a formula), formula, value, result (shown,
    not what its formula gives), row (put in), stayed (a formula that did not follow rows that moved); puts: what it
    puts where, by which its effect is worked out."""

    kind: str
    purpose: str
    place: Place
    was: Stands
    found: Stands
    puts: Cells = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Comparison:
    """The sheets as written, in the rows of the sheets as found, and what is different. names: of the sheets as found;
    gone: sheet to how many of its rows were taken out, and the row before which; beside: cells of the user's."""

    record: Record
    names: Mapping[str, str]
    found: Mapping[str, Grid]
    rows: Mapping[str, Mapping[int, int]]
    written: Cells
    changes: tuple[Change, ...]
    gone: Mapping[str, tuple[int, int]]
    beside: Mapping[str, tuple[Place, ...]]


def compare(package: Package, record: Record) -> Comparison:
    """Hold our sheets of a workbook against the record of what was written on them."""
    names = {own.purpose: own.name for own in own_sheets(package) if own.purpose in record.cells}
    found = grids(package, {name: purpose for purpose, name in names.items()})
    rows = {purpose: row_numbers(record.cells[purpose], found[purpose]) for purpose in found}
    written = _written(record, found, rows)
    stayed = _written(record, found, rows, follow=False) if _moved(rows) else {}
    changes: list[Change] = []
    beside: dict[str, tuple[Place, ...]] = {}
    for purpose, grid in found.items():
        own_rows = set(rows[purpose].values())
        there = {(r, c) for p, r, c in written if p == purpose}
        loose = sorted(at for at in grid if at not in there)
        changes += _added(purpose, grid, [at for at in loose if at[0] not in own_rows], names)
        changes += _of_cells(purpose, grid, written, stayed, names)
        beside[purpose] = tuple(at for at in loose if at[0] in own_rows)
    changes += _results(found, written, changes, record, rows)
    gone = {p: g for p in found if (g := _gone(record.cells[p], rows[p])) is not None}
    return Comparison(record, names, found, rows, written, tuple(changes), gone, beside)


def _moved(rows: Mapping[str, Mapping[int, int]]) -> bool:
    return any(was != now for sheet in rows.values() for was, now in sheet.items())


def _written(
    record: Record, found: Mapping[str, Grid], rows: Mapping[str, Mapping[int, int]], follow: bool = True
) -> Cells:
    """What was written, where it would stand now. A row that was taken out stands nowhere.

    follow: formulas name the rows where they are now, as an office program makes them do.
    """
    purposes = {key(name): purpose for purpose, name in record.names.items()}
    cells: Cells = {}
    for purpose in record.cells:
        grid = found.get(purpose, record.cells[purpose])  # of a sheet that was deleted nothing has moved
        for (row, column), stands in record.cells[purpose].items():
            now = rows[purpose].get(row) if purpose in rows else row
            if now is None:
                continue
            here = grid.get((now, column))
            content: Node | Value = stands.value
            if stands is SEEN:
                content = here.value if here is not None and not here.formula and isinstance(here.value, str) else ""
            elif stands.formula:
                content = moved(
                    parse(stands.formula, record.names[purpose]),
                    lambda name: purposes.get(key(name), name),
                    lambda sheet, n: _now(rows.get(sheet, {}), n) if follow else n,
                )
            cells[purpose, now, column] = content
    return cells


def _now(rows: Mapping[int, int], row: int) -> int:
    """Where a row stands now; of one that was taken out the row that follows it."""
    return rows.get(row) or next((now for was, now in sorted(rows.items()) if was > row), row)


def _node(stands: Stands, purpose: str, names: Mapping[str, str]) -> Node | Value:
    """What stands in a cell as found; ValueError for a formula that is not understood."""
    if not stands.formula:
        return stands.value
    purposes = {key(name): purpose for purpose, name in names.items()}
    node = parse(stands.formula, names[purpose])
    return moved(node, lambda name: purposes.get(key(name), name), lambda _, row: row)


def _of_cells(purpose: str, grid: Grid, written: Cells, stayed: Cells, names: Mapping[str, str]) -> Iterator[Change]:
    nothing = Stands("", None)
    for (where, row, column), was in sorted(written.items(), key=lambda item: item[0]):
        if where != purpose:
            continue
        at = (row, column)
        here = grid.get(at, nothing)
        formula = written_out(was, lambda name: names.get(name, name), purpose) if isinstance(was, tuple) else ""
        before = Stands(formula, None if isinstance(was, tuple) else was)
        try:
            now = _node(here, purpose, names)
        except ValueError:
            now = here.value  # not understood: what it was last worked out to counts
        if isinstance(was, tuple):
            if not here.formula:
                yield Change("typed", purpose, at, before, here, {(purpose, *at): now})
            elif now != was and not _led_to_a_sheet_gone(was, here, names):
                kind = "stayed" if now == stayed.get((purpose, *at)) else "formula"
                yield Change(kind, purpose, at, before, here, {(purpose, *at): now})
        elif here.formula or not _same(was, here.value):
            yield Change("value", purpose, at, before, here, {(purpose, *at): now})


def _led_to_a_sheet_gone(was: Node, here: Stands, names: Mapping[str, str]) -> bool:
    """Whether a formula broke because somebody deleted one of our sheets, which comes back."""
    return "#REF!" in here.formula and any(area[1] not in names for area in areas(was))


def _same(was: Value, now: Value) -> bool:
    """Numbers as a file keeps them; a text that is gone or only worded otherwise is no figure."""
    if isinstance(was, float) and isinstance(now, float):
        return abs(was - now) <= 1e-9 * max(1.0, abs(was))
    if isinstance(was, str):
        return not isinstance(now, float) and (was.casefold() == str(now or "").casefold() or was == "")
    return was == now


def _added(purpose: str, grid: Grid, cells: list[Place], names: Mapping[str, str]) -> Iterator[Change]:
    """Rows that are not ours: each one change with all that stands in it."""
    rows: dict[int, list[Place]] = {}
    for at in cells:
        rows.setdefault(at[0], []).append(at)
    for row, places in rows.items():
        puts: Cells = {}
        for at in places:
            try:
                puts[purpose, *at] = _node(grid[at], purpose, names)
            except ValueError:
                puts[purpose, *at] = grid[at].value
        words = "; ".join(
            f"{s.value:g}" if isinstance(s.value, float) else str(s.value or f"={s.formula}")
            for s in map(grid.__getitem__, places)
        )
        yield Change("row", purpose, (row, places[0][1]), Stands("", None), Stands("", words), puts)


def _results(
    found: Mapping[str, Grid],
    written: Cells,
    changes: list[Change],
    record: Record,
    rows: Mapping[str, Mapping[int, int]],
) -> list[Change]:
    """Cells whose formula stands, but which show something else: neither what was written nor what it gives now."""
    state = {**written}
    for change in changes:
        state.update(change.puts)
    look = calculator(state)
    shown = []
    for purpose, grid in found.items():
        for (row, column), was in record.cells[purpose].items():
            at = (rows[purpose].get(row, 0), column)
            here = grid.get(at)
            if here is None or not here.formula or not was.formula or not isinstance(here.value, float):
                continue
            if any((purpose, *at) in change.puts for change in changes) or _same(was.value, here.value):
                continue
            try:
                gives = look(purpose, *at)
            except (ValueError, RecursionError):
                continue
            if isinstance(gives, float) and abs(gives - here.value) >= 0.005:
                shown.append(
                    Change("result", purpose, at, Stands(here.formula, gives), here, {(purpose, *at): here.value})
                )
    return shown


def _gone(written: Grid, rows: Mapping[int, int]) -> tuple[int, int] | None:
    """How many rows that held a figure were taken out, and the row that now stands where the first one stood."""
    lost = sorted({row for (row, _), s in written.items() if s is not SEEN and row not in rows})
    return (len(lost), _now(rows, lost[0])) if lost else None


def calculator(cells: Mapping[tuple[str, int, int], Node | Value]) -> Look:
    """Works a cell out from what stands in the others; ValueError where that cannot be said."""
    known: dict[tuple[str, int, int], Value] = {}
    busy: set[tuple[str, int, int]] = set()

    def look(sheet: str, row: int, column: int) -> Value:
        at = (sheet, row, column)
        if at not in known:
            stands = cells.get(at)
            if isinstance(stands, tuple):
                if at in busy:
                    raise ValueError("a formula that leads back to itself")
                busy.add(at)
                known[at] = value_of(stands, look)
                busy.discard(at)
            else:
                known[at] = stands
        return known[at]

    return look
