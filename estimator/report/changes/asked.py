"""What was asked for: the rows of two job workbooks held against each other, by the declaration of their columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from estimator.core.money import plain
from estimator.core.names import key
from estimator.core.problems import Problem
from estimator.core.units import show_length
from estimator.sheets.cells import Book, read_book
from estimator.sheets.columns import EXTRAS, FIXINGS, JOB, OPTIONS, SITES, TAPE, WALLS, Column, Table
from estimator.sheets.context import Context
from estimator.sheets.door import Opened
from estimator.sheets.reader import Row, find_sheet, read_items, read_table

# what tells one row of a sheet from another
KEYS: Mapping[str, tuple[str, ...]] = {
    SITES.sheet: ("Site",),
    FIXINGS.sheet: ("Site", "Fixing"),
    TAPE.sheet: ("Site", "From", "To"),
    WALLS.sheet: ("Site", "Wall"),
    OPTIONS.sheet: ("Site", "Option", "Sail"),
    EXTRAS.sheet: ("Site", "Option", "Description"),
}
BLANK = "blank"


def asked(before: Opened, now: Opened) -> tuple[str, ...] | None:
    """Every cell that asks for something else, in words; None where one of the workbooks holds no job."""
    books = [read_book(o) for o in (before, now)]
    old, new = books
    if isinstance(old, Problem) or isinstance(new, Problem) or not all(_is_job(b) for b in (old, new)):
        return None
    contexts = [_context(b) for b in (old, new)]
    found = _job(old, new, contexts)
    sites = [_only_site(b, c) for b, c in zip((old, new), contexts, strict=True)]
    for table, names in KEYS.items():
        declared = next(t for t in (SITES, FIXINGS, TAPE, WALLS, OPTIONS, EXTRAS) if t.sheet == table)
        rows = [_rows(b, declared, c, s) for b, c, s in zip((old, new), contexts, sites, strict=True)]
        found += _table(declared, names, rows[0], rows[1], contexts[1].units)
    return tuple(found)


def _is_job(book: Book) -> bool:
    return find_sheet(book, JOB.sheet) is not None


def _context(book: Book) -> Context:
    first, _ = read_items(book, JOB, Context())
    mark = str(first.values.get("Decimal mark") or "")
    return Context(units=str(first.values.get("Units") or "metric"), decimal_mark=mark)


def _only_site(book: Book, context: Context) -> str:
    """The name of the site of a job that has one, which may stay blank everywhere else."""
    names = [str(r.values["Site"]) for r in read_table(book, SITES, context).rows if r.values.get("Site")]
    return names[0] if len(names) == 1 else ""


def _rows(book: Book, table: Table, context: Context, site: str) -> list[Row]:
    rows = read_table(book, table, context).rows
    if not site or table in (SITES, EXTRAS):  # a blank site of Extras means the whole job
        return list(rows)
    return [r if r.values.get("Site") else replace(r, values={**r.values, "Site": site}) for r in rows]


def _job(old: Book, new: Book, contexts: Sequence[Context]) -> list[str]:
    before, _ = read_items(old, JOB, contexts[0])
    now, _ = read_items(new, JOB, contexts[1])
    return [f"Job: {words}" for words in _differences(JOB.columns, before, now, contexts[1].units)]


def _table(table: Table, names: Sequence[str], before: Sequence[Row], now: Sequence[Row], units: str) -> list[str]:
    old, new = (_named(rows, names) for rows in (before, now))
    found = []
    columns = [c for c in table.columns if c.name not in names]
    for at, row in new.items():
        if at not in old:
            found.append(f"{table.sheet}: new, {_called(row, names)}")
        else:
            words = _differences(columns, old[at], row, units)
            found += [f"{table.sheet}, {_called(row, names)}: {w}" for w in words]
    return found + [f"{table.sheet}: gone, {_called(row, names)}" for at, row in old.items() if at not in new]


def _named(rows: Sequence[Row], names: Sequence[str]) -> dict[tuple[Any, ...], Row]:
    """Rows by what tells them apart; rows that are called the same are counted."""
    found: dict[tuple[Any, ...], Row] = {}
    counts: dict[tuple[str, ...], int] = {}
    for row in rows:
        at = tuple(key(row.values.get(name) or "") for name in names)
        counts[at] = counts.get(at, 0) + 1
        found[(*at, counts[at])] = row
    return found


def _called(row: Row, names: Sequence[str]) -> str:
    return ", ".join(str(row.values[name]) for name in names if row.values.get(name))


def _differences(columns: Sequence[Column], old: Row, now: Row, units: str) -> list[str]:
    found = []
    for column in columns:
        before, after = old.values.get(column.name), now.values.get(column.name)
        known = column.name not in old.bad and column.name not in now.bad
        if _same(before, after) if known else old.raw.get(column.name) == now.raw.get(column.name):
            continue
        was, is_now = (_shown(column, row, units) for row in (old, now))
        found.append(f"{column.name} was {was}, is now {is_now}")
    return found


def _same(before: Any, after: Any) -> bool:
    if isinstance(before, float) and isinstance(after, float):
        return abs(before - after) <= 1e-9 * max(1.0, abs(before))
    if isinstance(before, str) or isinstance(after, str):
        return key(before or "") == key(after or "")
    return bool((before or None) == (after or None)) if before in (None, (), False) else bool(before == after)


def _shown(column: Column, row: Row, units: str) -> str:
    value = row.values.get(column.name)
    if column.name in row.bad:
        return f"'{row.raw.get(column.name, '')}'"
    if value is None or value == ():
        return BLANK
    if column.kind == "length" and isinstance(value, float):
        return show_length(value, units)
    if column.kind == "percent" and isinstance(value, Decimal):
        return f"{plain(value * 100)} %"
    if column.kind == "yes":
        return "yes" if value else BLANK
    if isinstance(value, tuple | list):
        return " ".join(str(v) for v in value)
    return row.raw.get(column.name) or str(value)
